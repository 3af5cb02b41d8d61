"""What a case sets reaches the circuit: sun, duty, state of charge, voltages; of a range both ends count."""

from __future__ import annotations

import pytest

from wiregen.circuit import study
from wiregen.circuit.cases import State, operating_cases
from wiregen.circuit.study import CaseResult, Study
from wiregen.model import read
from wiregen.model.job import Job

TEXT = """job "Cases" {{ system 12 V, limits iso13297 }}
battery start 70 Ah agm, open-circuit 12.6 V, resistance 6 mohm
battery aux 100 Ah agm, resistance 5 mohm
alternator alt 90 A, on start
panel roof 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.5 A
solar-controller reg 20 A, profile agm
charger dcdc 25 A, profile agm, efficiency 90 %, negative common
load fridge 4 A
lamp glow 48 W, type filament
alt.+ -- start.+
start.+ --[W1 red 16 mm2 4 m]-- dcdc.in.+
start.- --[W2 black 16 mm2 4 m]-- dcdc.in.-
dcdc.out.+ --[W3 red 10 mm2 1 m]-- aux.+
aux.- --[W4 black 10 mm2 1 m]-- dcdc.out.-
roof.+ --[W5 red 4 mm2 4 m]-- reg.solar.+
roof.- --[W6 black 4 mm2 4 m]-- reg.solar.-
reg.out.+ --[W7 red 6 mm2 1 m]-- aux.+
aux.- --[W8 black 6 mm2 1 m]-- reg.out.-
aux.+ --[W9 red 2.5 mm2 3 m]-- fridge --[W10 black 2.5 mm2 3 m]-- aux.-
start.+ --[W11 red 2.5 mm2 3 m]-- glow --[W12 black 2.5 mm2 3 m]-- start.-
case test {sets}
"""


def done(sets: str) -> Study:
    job, findings = read("cases.wnet", text=TEXT.format(sets=sets))
    assert job is not None and not findings, [f.message for f in findings]
    return study(job)[0]


def case(sets: str) -> CaseResult:
    found = next(c for c in done(sets).cases if c.name == "test")
    assert found.solved, found.troubles
    return found


@pytest.mark.parametrize("share", [0.0, 0.25, 0.6, 1.0])
def test_the_sun_of_a_case_is_a_share_of_full_sun(share):
    full = case("like parked-sun").flows["W5"].current_a
    found = case(f"like parked-sun, sun {100 * share:g} %").flows["W5"].current_a
    assert found == pytest.approx(share * full, rel=0.03, abs=1e-6)


def test_a_share_of_the_sun_that_cannot_be_is_told():
    _, findings = read("cases.wnet", text=TEXT.format(sets="sun 200 %"))
    assert [f.message for f in findings] == ["200 % is impossible as the sun of a case"]


def test_a_part_called_sun_keeps_its_name():
    text = TEXT.format(sets="sun 12.9 V").replace("start", "sun")
    job, findings = read("cases.wnet", text=text)
    assert job is not None and not findings
    (setting,) = job.cases["test"].settings
    assert setting.verb == "volts" and setting.targets == ("sun",)


@pytest.mark.parametrize("name, engine, sun", [("parked-sun", False, True), ("parked-dark", False, False)])
def test_like_takes_over_the_tools_own_case(name, engine, sun):
    found = case(f"like {name}")
    assert (abs(found.parts.get("alt", {}).get("current_a") or 0.0) > 1e-6) == engine
    assert (abs(found.flows["W5"].current_a) > 1e-3) == sun


def test_a_load_draws_its_average_where_the_case_sets_its_duty():
    assert case("like parked-dark").flows["W9"].current_a == pytest.approx(4.0)
    assert case("like parked-dark, fridge { duty 25 % }").flows["W9"].current_a == pytest.approx(1.0)
    assert case("like parked-dark, fridge duty 25 %").flows["W9"].current_a == pytest.approx(1.0)
    whole = case("like parked-dark").flows["W11"].current_a
    assert case("like parked-dark, glow { duty 50 % }").flows["W11"].current_a == pytest.approx(whole / 2, rel=0.01)


def test_a_case_sets_the_state_of_charge():
    full = case("like parked-dark").voltages["aux.+"]
    flat = case("like parked-dark, aux { charge 30 % }").voltages["aux.+"]
    assert 11.9 < flat < 12.2 < full


def test_a_case_sets_the_voltage_of_an_alternator():
    for volts in (13.8, 14.6):
        found = case(f"alt {{ volts {volts} V }}, glow off, dcdc off")
        # next to no current: the battery rests in the case at 12.6 V behind 6 mohm, and the alternator gives up to 90 A
        assert found.parts["alt"]["current_a"] == pytest.approx(-min(90.0, (volts - 12.6) / 8e-3))
    assert case("alt 13.1 V, glow off, dcdc off").voltages["start.+"] == pytest.approx(13.1)


def test_a_case_sets_facts_of_a_conductor():
    assert case("like parked-dark, W9 length 6 m").flows["W9"].drop_v == pytest.approx(
        2 * case("like parked-dark").flows["W9"].drop_v, rel=1e-3
    )


def test_of_a_range_of_voltage_each_result_is_the_worse_of_both_ends():
    """The charger draws most at the low end, the filament lamp at the high end."""
    low, high = case("alt 12.4 V, dcdc on"), case("alt 13.2 V, dcdc on")
    found = case("alt 12.4..13.2 V, dcdc on")
    assert found.ranged == ("alt",)
    assert found.flows["W1"] == low.flows["W1"] and low.flows["W1"].current_a > high.flows["W1"].current_a
    assert found.flows["W11"] == high.flows["W11"] and high.flows["W11"].current_a > low.flows["W11"].current_a
    assert found.parts["glow"] == high.parts["glow"]
    drops = [
        {(s.from_, s.to): s.drop_v for s in done(f"alt {volts} V, dcdc on").supplies if s.case == "test"}
        for volts in ("12.4", "13.2")
    ]
    for supply in done("alt 12.4..13.2 V, dcdc on").supplies:
        if supply.case == "test":
            ends = [each[supply.from_, supply.to] for each in drops if (supply.from_, supply.to) in each]
            assert supply.drop_v == pytest.approx(max(ends))


def test_many_ranges_are_taken_one_by_one_and_together():
    sets = "alt 12.4..13.2 V, aux 12..13 V, roof 17..18 V, dcdc on, start { charge 50 % }"
    assert case(sets).ranged == ("alt", "aux", "roof")


SHARED = """job "Sun and engine" {{ system 12 V, limits iso13297 }}
battery start 110 Ah flooded
battery aux 100 Ah agm
alternator alt 140 A {control}, on start
charger dcdc 30 A, profile agm, efficiency 85 %, negative common
panel roof 200 W, voc 24 V, vmp 20 V, isc 10.5 A, imp 9.8 A
start.+ --[R1 red 25 mm2 6 m]-- dcdc.in.+
start.- --[B1 black 25 mm2 6 m]-- dcdc.in.-
dcdc.out.+ --[R2 red 10 mm2 1 m]-- aux.+
dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
roof.+ --[S1 red 4 mm2 4 m]-- {sun}.+
roof.- --[S2 black 4 mm2 4 m]-- {sun}.-
{more}
"""


def shared(control: str = "fixed", sun: str = "dcdc.solar", more: str = "") -> Job:
    job, findings = read("shared.wnet", text=SHARED.format(control=control, sun=sun, more=more))
    assert job is not None and not findings, [f.message for f in findings]
    return job


def cases_of(control: str = "fixed", sun: str = "dcdc.solar", more: str = "") -> dict[str, State]:
    return {state.name: state for state in operating_cases(shared(control, sun, more))}


def test_a_feed_that_the_sun_relieves_is_looked_at_by_night():
    cases = study(shared("variable"))[0].cases
    flows = {c.name: c.flows["R1"].current_a or 0.0 for c in cases if c.name.startswith("driving")}
    assert flows["driving-dark"] > 1.2 * flows["driving-low"] > flows["driving"]


def test_no_night_where_the_sun_has_a_way_of_its_own():
    assert "driving-dark" not in cases_of(sun="aux")


def test_the_jobs_driving_is_looked_at_by_night_too():
    cases = cases_of(more="case driving, start 13.4 V")
    assert cases["driving-dark"].sun == 0.0
    assert cases["driving-dark"].held == cases["driving"].held


@pytest.mark.parametrize("dark", ["sun 0 %", "roof off"])
def test_a_case_of_the_job_stands_for_the_night(dark):
    assert "driving-dark" not in cases_of(more=f"case driving, start 13.4 V\ncase night, start 12.6 V, {dark}")


def test_a_parked_case_does_not_stand_for_the_night():
    assert "driving-dark" in cases_of(more="case driving, start 13.4 V\ncase camp, alt off, sun 0 %")


@pytest.mark.parametrize("name", ["driving-low", "driving-dark"])
def test_a_case_may_be_like_the_tools_own_that_not_every_job_has(name):
    own = cases_of(control="variable", more=f"case hot like {name}, dcdc on")
    assert own["hot"].low and (own["hot"].sun == 0) == (name == "driving-dark")
