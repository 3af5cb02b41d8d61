"""The whole way from a netlist to the study: worked values, facts of the trade, the contract of the JSON."""

from __future__ import annotations

import subprocess
import sys
from random import Random

import pytest
from jobs import random_netlist

from wiregen.circuit import study
from wiregen.circuit.study import CaseResult, Study
from wiregen.circuit.study_json import as_json
from wiregen.circuit.study_text import as_text
from wiregen.findings.json import dumps
from wiregen.model import read


def studied(text: str) -> Study:
    job, findings = read("test.wnet", text=text)
    assert job is not None and not findings, [f.message for f in findings]
    return study(job)[0]


def case(done: Study, name: str) -> CaseResult:
    return next(c for c in done.cases if c.name == name)


CHARGER = """job "Charger" {{ system 12 V, limits iso13297 }}
battery start 70 Ah agm
battery aux 100 Ah agm
charger dcdc {amps} A, profile agm, efficiency 90 %, negative common
start.+ --[W1 red 120 mm2 1 mm]-- dcdc.in.+
start.- --[W2 black 120 mm2 1 mm]-- dcdc.in.-
dcdc.out.+ --[W3 red 120 mm2 1 mm]-- aux.+
aux.- --[W4 black 120 mm2 1 mm]-- dcdc.out.-
case test, start {volts} V, aux 14.4 V, dcdc on
"""

INPUTS = [  # A out, V in, A in: computed from P / (efficiency V); the first is common practice, no source
    (25, 13.3, 30.08), (25, 11.0, 36.36), (25, 12.0, 33.33), (40, 11.0, 58.18),
]  # fmt: skip


@pytest.mark.parametrize("amps, volts, drawn", INPUTS)
def test_a_charger_draws_constant_power(amps, volts, drawn):
    # leads of a millimetre: 7 uohm, so the table holds to 0.1 %
    found = case(studied(CHARGER.format(amps=amps, volts=volts)), "test").parts["dcdc"]
    assert found["input_current_a"] == pytest.approx(drawn, rel=1e-3)
    assert found["output_current_a"] == pytest.approx(amps)


def test_the_tools_own_driving_case_is_the_end_of_bulk():
    # the battery's voltage is put where 25 A still flow at absorption voltage (14.7 V for agm): 408.3 W at the input
    found = case(studied(CHARGER.format(amps=25, volts=13)), "driving").parts["dcdc"]
    assert found["output_current_a"] == pytest.approx(25.0)
    assert found["output_voltage_v"] == pytest.approx(14.7, abs=5e-3)
    assert found["input_power_w"] == pytest.approx(14.7 * 25 / 0.9, rel=1e-3)


COMPOSITE = """job "Composite" {{ system 12 V, limits iso13297 }}
battery start 100 Ah agm, open-circuit 12.8 V, resistance 3 mohm
fuse F1 40 A blade
connector X1 50 A, poles + -
load fan 30 A
start.+ --[W1 red 10 mm2 2 m]-- F1 --[W2 red 10 mm2 2 m]-- X1.+ -- fan.+
start.- --[W3 black 10 mm2 4 m]-- X1.- -- fan.-
own-figures "Table" {{ resistivity {rho} ohm-m, conductor-temperature {t} degC }}
"""


@pytest.mark.parametrize("t, volts", [(20, 12.196), (50, 12.142)])
def test_a_loop_worked_by_hand(t, volts):
    # reference values 13: 12.8 V behind 3 mohm, 40 A blade 1.44 mohm cold, two poles of 0.2 mohm, 8 m of 1.91 mohm/m:
    # 20.12 mohm at 20 degC, 21.92 mohm with the cable at 50 degC; 30 A
    found = case(studied(COMPOSITE.format(rho="1.91e-8", t=t)), "parked-dark")
    assert found.parts["fan"]["voltage_v"] == pytest.approx(volts, abs=1e-3)


def test_a_battery_breaks_a_blade_fuse():
    # reference values 8.4: 12.65 V, 5 mohm, 2 m of 10 mm2 (3.82 mohm), 1.44 mohm: 1233 A, more than a blade breaks
    done = studied(
        """job "AIC" { system 12 V, limits iso13297 }
        battery start 70 Ah flooded, open-circuit 12.65 V, resistance 5 mohm
        fuse F1 40 A blade
        start.+ --[W1 red 10 mm2 2 m]-- F1 --[W2 red 10 mm2 1 mm]-- capped
        """
    )
    (fault,) = [f for f in done.faults if f.terminal == "F1.out"]
    assert fault.max_current_a == pytest.approx(1233, abs=1.0)
    assert fault.cleared_by == "F1"


@pytest.mark.parametrize("charge, volts", [(100, 12.65), (75, 12.45), (50, 12.24), (25, 12.06), (0, 11.89)])
def test_a_flooded_battery_stands_at_the_printed_voltage(charge, volts):
    # industry battery council figures; the case sets the state of charge
    done = studied(
        f"""job "Rest" {{ system 12 V, limits iso13297 }}
        battery start 70 Ah flooded
        start.+ --[W1 red 10 mm2 2 m]-- capped
        case rest, start {{ charge {charge} % }}
        """
    )
    assert case(done, "rest").voltages["start.+"] == pytest.approx(volts, abs=1e-9)


def test_a_bad_joint_leaves_the_starter_weak():
    # OpenStax: 12 V / 10 mohm, motor 50 mohm, corroded joints 90 mohm: 80 A, 4.00 V, 320 W
    done = studied(
        """job "Joint" { system 12 V, limits iso13297 }
        battery start 70 Ah flooded, open-circuit 12 V, resistance 10 mohm
        switch joint 200 A, closed, resistance 90 mohm
        starter motor 240 A, resistance 50 mohm
        start.+ -- joint -- motor.+
        start.- -- motor.-
        """
    )
    motor = case(done, "cranking").parts["motor"]
    assert motor["current_a"] == pytest.approx(80.0, abs=1e-6)
    assert motor["voltage_v"] == pytest.approx(4.0, abs=1e-6)
    assert motor["power_w"] == pytest.approx(320.0, abs=1e-4)


THIN = """job "Thin" { system 12 V, limits iso13297 }
battery start 70 Ah agm, open-circuit 12 V, resistance 20 mohm
inverter inv 2000 W, draws 1900 W
start.+ --[W1 red 120 mm2 1 mm]-- inv --[W2 black 120 mm2 1 mm]-- start.-
"""


def test_a_case_without_an_answer_says_which_part_and_why():
    # 12 V behind 20 mohm brings at most V^2 / 4 R = 1800 W
    found = case(studied(THIN), "parked-dark")
    assert not found.solved
    assert found.troubles[0].part == "inv"
    assert "cannot hold up" in found.troubles[0].words
    assert all(v is None for v in found.voltages.values())


def test_a_charger_that_hunts_is_told():
    # 25 A at 14.7 V over 2 x 20 m of 6 mm2: the drop takes the input below 12.2 V, at rest it is 12.65 V again
    done = studied(
        """job "Hunts" { system 12 V, limits iso13297 }
        battery start 70 Ah flooded
        battery aux 100 Ah agm
        charger dcdc 25 A, profile agm, efficiency 90 %, negative common, stops-below 12.2 V, starts-above 12.5 V
        start.+ --[W1 red 6 mm2 10 m]-- dcdc.in.+
        start.- --[W2 black 6 mm2 10 m]-- dcdc.in.-
        dcdc.out.+ --[W3 red 10 mm2 1 m]-- aux.+
        aux.- --[W4 black 10 mm2 1 m]-- dcdc.out.-
        """
    )
    found = case(done, "driving")
    assert not found.solved
    assert [t.part for t in found.troubles] == ["dcdc"]
    assert "hunts" in found.troubles[0].words


def test_a_lost_return_is_solved():
    done = studied(
        """job "Lost" { system 12 V, limits iso13297 }
        battery start 70 Ah flooded
        load fan 5 A
        start.+ --[W1 red 2.5 mm2 2 m]-- fan --[W2 black 2.5 mm2 2 m]-- loose
        """
    )
    found = case(done, "parked-dark")
    assert found.solved
    assert found.flows["W1"].current_a == 0.0


def test_a_common_return_carries_only_the_difference():
    # design 6: both returns of a one-stud charger share one lead
    done = studied(
        """job "Stud" { system 12 V, limits iso13297 }
        battery start 70 Ah agm
        battery aux 100 Ah agm
        charger dcdc 20 A, profile agm, efficiency 90 %, negative one-stud
        busbar NB 100 A
        start.+ --[W1 red 10 mm2 1 m]-- dcdc.in.+
        dcdc.- --[W2 black 10 mm2 1 m]-- NB
        NB --[W3 black 10 mm2 1 m]-- start.-
        NB --[W4 black 10 mm2 1 m]-- aux.-
        dcdc.out.+ --[W5 red 10 mm2 1 m]-- aux.+
        case test, start 12 V, aux 14 V, dcdc on
        """
    )
    found = case(done, "test")
    into, out = found.flows["W1"].current_a, found.flows["W5"].current_a
    assert abs(found.flows["W2"].current_a) == pytest.approx(abs(into - out), abs=1e-9)
    assert abs(found.flows["W2"].current_a) < into


def test_a_second_bond_bypasses_a_shunt():
    done = studied(
        """job "Bond" { system 12 V, limits iso13297 }
        battery house 100 Ah agm
        shunt SH 100 A, resistance 0.5 mohm
        body shell bonded, 0.2 mohm
        earth E1 on shell
        earth E2 on shell
        load fan 20 A
        house.+ --[W1 red 10 mm2 1 m]-- fan --[W2 black 10 mm2 1 m]-- SH.out
        house.- -- SH.in
        house.- --[W3 black 16 mm2 0.3 m]-- E1
        SH.out --[W4 black 16 mm2 0.3 m]-- E2
        """
    )
    found = case(done, "parked-dark")
    through, past = found.contacts["SH", ""], found.flows["W4"].current_a
    assert abs(through) + abs(past) == pytest.approx(20.0, abs=1e-6)
    # 0.5 mohm beside two leads of 0.36 mohm and the body's 0.2 mohm
    assert abs(past) == pytest.approx(20 * 0.5 / (0.5 + 2 * found.flows["W4"].resistance_ohm * 1e3 + 0.2), rel=1e-6)


def test_drop_names_its_base_on_both_sides_of_a_converter():
    done = studied(
        """job "Truck" { system 24 V, limits iso13297 }
        battery start 170 Ah flooded
        battery aux 100 Ah agm, 12 V
        charger dcdc 20 A, profile agm, efficiency 90 %, negative common, output-system 12 V
        load fan 5 A
        start.+ --[W1 red 10 mm2 4 m]-- dcdc.in.+
        start.- --[W2 black 10 mm2 4 m]-- dcdc.in.-
        dcdc.out.+ --[W3 red 10 mm2 1 m]-- aux.+
        dcdc.out.- --[W4 black 10 mm2 1 m]-- aux.-
        aux.+ --[W5 red 2.5 mm2 4 m]-- fan --[W6 black 2.5 mm2 4 m]-- aux.-
        """
    )
    bases = {(s.from_, s.to): s.of_v for s in done.supplies}
    assert bases["start", "dcdc.in"] == 24.0
    assert bases["dcdc.out", "aux"] == 12.0
    assert bases["aux", "fan"] == 12.0


def test_a_variable_alternator_is_looked_at_low():
    text = CHARGER.format(amps=25, volts=13).replace("case test", "alternator alt 120 A variable, on start\ncase test")
    done = studied(text)
    low, usual = case(done, "driving-low").parts["dcdc"], case(done, "driving").parts["dcdc"]
    assert low["input_current_a"] > usual["input_current_a"]


def test_relays_act():
    text = """job "Relay" {{ system 12 V, limits iso13297 }}
    battery start 70 Ah flooded
    feed ign switched, from start, fused 5 A
    relay K1 30 A
    load fan 5 A
    start.+ --[W1 red 2.5 mm2 2 m]-- K1.30
    K1.87 --[W2 red 2.5 mm2 2 m]-- fan --[W3 black 2.5 mm2 2 m]-- start.-
    ign --[W4 blue 1 mm2 2 m]-- K1.86
    K1.85 --[W5 black 1 mm2 2 m]-- start.-
    case test, ign {state}
    """
    assert case(studied(text.format(state="on")), "test").flows["W2"].current_a == pytest.approx(5.0)
    assert case(studied(text.format(state="off")), "test").flows["W2"].current_a == 0.0


def test_a_diode_lets_one_way_only():
    text = """job "Diode" {{ system 12 V, limits iso13297 }}
    battery start 70 Ah flooded
    diode V1 10 A
    load fan 5 A
    start.+ --[W1 red 2.5 mm2 1 m]-- V1.{a}
    V1.{b} --[W2 red 2.5 mm2 1 m]-- fan --[W3 black 2.5 mm2 1 m]-- start.-
    """
    assert case(studied(text.format(a="in", b="out")), "parked-dark").flows["W2"].current_a == pytest.approx(5.0)
    assert case(studied(text.format(a="out", b="in")), "parked-dark").flows["W2"].current_a == 0.0


# ---------------------------------------------------------------- the contract


def kirchhoff(done: Study) -> None:
    """At every node (terminals joined by metal) what conductors bring is what parts take."""
    document = as_json(done)
    parent: dict[str, str] = {}

    def find(t: str) -> str:
        while parent.setdefault(t, t) != t:
            t = parent[t]
        return t

    for a, b in (*document["netlist"]["links"], *document["netlist"]["inside"]):
        parent[find(a)] = find(b)
    for found in done.cases:
        if not found.solved:
            continue
        for c in document["netlist"]["conductors"]:
            flow = found.flows[c["id"]]
            assert (
                flow.drop_v is None
                or flow.resistance_ohm is None
                or flow.drop_v == pytest.approx(flow.current_a * flow.resistance_ohm, abs=1e-8)
            )
            start, end = found.voltages[c["from"]], found.voltages[c["to"]]
            if start is not None and end is not None and flow.drop_v is not None:
                assert flow.drop_v == pytest.approx(start - end, abs=1e-12)
        nodes: dict[str, list[float]] = {}
        for c in document["netlist"]["conductors"]:
            current = found.flows[c["id"]].current_a
            nodes.setdefault(find(c["from"]), []).append(-current)
            nodes.setdefault(find(c["to"]), []).append(current)
        fixed = {find(t.id) for p in done.job.parts.values() for t in map(done.job.terminals.get, p.terminals) if t}
        for node, currents in nodes.items():
            if node not in fixed:  # nothing but conductors meet here
                assert abs(sum(currents)) <= max(1e-9, 1e-9 * max(map(abs, currents)))


@pytest.mark.parametrize("seed", range(8))
def test_random_jobs_keep_the_contract(seed):
    job, _ = read("random.wnet", text=random_netlist(seed, 30))
    done, findings = study(job)
    assert findings == ()
    kirchhoff(done)
    first = dumps(as_json(done))
    again, _ = study(read("random.wnet", text=random_netlist(seed, 30))[0])
    assert first == dumps(as_json(again))
    assert as_text(done, Random(seed).randrange(20, 160))


@pytest.mark.long
def test_many_random_jobs_never_raise():
    for seed in range(3000, 3400):
        job, _ = read("random.wnet", text=random_netlist(seed, 5 + seed % 50))
        done, _ = study(job)
        kirchhoff(done)
        dumps(as_json(done))


def test_the_json_has_the_keys_of_the_contract():
    document = as_json(studied(CHARGER.format(amps=25, volts=13)))
    assert list(document)[:7] == ["format", "netlist", "assumptions", "cases", "supplies", "faults", "energy"]
    assert set(document["netlist"]) >= {"parts", "links", "bonds", "conductors"}
    assert set(document["supplies"][0]) >= {"case", "to", "drop_v", "drop_percent", "of_v", "limit_percent", "path"}
    assert set(document["faults"][0]) == {
        "conductor", "terminal", "max_current_a", "min_current_a", "cleared_by", "clearing_s", "withstand_s",
    }  # fmt: skip
    assert set(document["energy"]) >= {"daily_load_wh", "autonomy_h", "recharge_alternator_h", "recharge_sun_h"}
    found = document["cases"][0]
    assert set(found["conductors"]["W1"]) == {"current_a", "drop_v", "resistance_ohm", "temperature_c", "ampacity_a"}


def test_links_are_what_the_drawing_joins_and_studs_of_one_part_stand_apart():
    document = as_json(studied(CHARGER.format(amps=25, volts=13)))
    assert document["netlist"]["links"] == []
    assert ["dcdc.in.-", "dcdc.out.-"] in document["netlist"]["inside"]


def test_every_default_is_listed():
    listed = {(a.subject, a.quantity) for a in studied(CHARGER.format(amps=25, volts=13)).assumptions}
    assert ("start", "internal resistance") in listed
    assert ("dcdc", "absorption voltage") in listed
    assert ("job", "ambient") in listed


def test_a_small_job_imports_no_numpy_and_no_scipy():
    code = (
        "import sys; from wiregen.model import read; from wiregen.circuit import study;"
        f"study(read('x.wnet', text={CHARGER.format(amps=25, volts=13)!r})[0]);"
        "print(sorted({'numpy', 'scipy', 'pint', 'tomllib'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
