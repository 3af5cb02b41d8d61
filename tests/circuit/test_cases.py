"""What a case sets reaches the circuit: sun, duty, state of charge, voltages; of a range both ends count."""

from __future__ import annotations

import pytest

from wiregen.circuit import study
from wiregen.circuit.study import CaseResult, Study
from wiregen.model import read

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
