"""Rules on charging, draining and isolation: their numbers are those of the circuit, and their remedies mend."""

from __future__ import annotations

import pytest
from rule_cases import found, standard

from wiregen.findings import Finding

CHARGER = """start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
dcdc.out.+ --[R2 red 10 mm2 {out}]-- F1 -- aux.+
dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
"""
HEATER = "{start}.+ -- F2 --[R1 red 16 mm2 1 m]-- heater --[B1 black 16 mm2 1 m]-- {start}.-\n"
INVERTER = """fuse F7 150 A bolted, volts 58 V, breaks 10 kA
inverter inv 1080 W, surge 2160 W, efficiency 90 %
aux.+ -- F7 --[R1 red 35 mm2 1 m]-- inv --[B1 black 35 mm2 1 m]-- aux.-
"""
TRIGGER = "switch S1 5 A\nstart.+ {}--[G1 blue 1 mm2 1.5 m]-- S1 --[G2 blue 1 mm2 2 m]-- dcdc.trigger\n"
ALTERNATOR = "alternator alt {}, on start\n"


def findings(rule: str, text: str) -> list[Finding]:
    """What one rule says about a netlist."""
    return [each for each in found(standard(text)) if each.rule == rule]


def heated(head: str, battery: str = "start") -> str:
    """A heater of 50 A on a battery, with lines before it."""
    return head + "load heater 50 A\n" + HEATER.format(start=battery)


def charged(head: str = "", out: str = "1 m") -> str:
    """The standard charger between the two batteries, with lines before it."""
    return head + CHARGER.format(out=out)


VALUES: list[tuple[str, str, dict[str, float | str]]] = [
    ("missing-main-isolation", INVERTER, {"loads_a": 100.0, "limit_a": 80.0, "source": "aux.+", "path": "F7 R1"}),
    (
        "unfused-trigger",
        charged() + TRIGGER.format(""),
        {"source": "start.+", "length_m": 3.5, "limit_m": 0.2, "fuse_a": 5.0, "path": "G1"},
    ),
    ("alternator-overload", heated(ALTERNATOR.format("40 A fixed")), {"drawn_a": 50.0, "gives_a": 40.0}),
    (
        "battery-overcurrent",
        heated("battery start 70 Ah flooded, vented, max-discharge 40 A\n"),
        {"current_a": 50.0, "limit_a": 40.0},
    ),
    (
        "battery-overcurrent",
        "battery aux 200 Ah lifepo4, max-discharge 150 A\n" + INVERTER,
        {"current_a": 200.0, "limit_a": 150.0, "surge_w": 2160.0, "volts": 12.0},
    ),
    ("charger-far-from-battery", charged(out="2.5 m"), {"output_m": 2.5, "input_m": 1.0, "limit_m": 2.0, "path": "R2"}),
    ("overcharge-current", charged("battery aux 100 Ah agm, max-charge 15 A\n"), {"gives_a": 18.0, "takes_a": 15.0}),
]


@pytest.mark.parametrize(
    ("rule", "text", "values"), VALUES, ids=[f"{rule}-{i}" for i, (rule, _, _) in enumerate(VALUES)]
)
def test_the_values_of_a_finding_are_those_of_the_circuit(rule: str, text: str, values: dict[str, float | str]) -> None:
    (finding,) = findings(rule, text)
    for name, value in values.items():
        assert finding.values[name] == (pytest.approx(value, rel=1e-6) if isinstance(value, float) else value), name


MENDED = [
    (
        "an isolator that carries the loads, ahead of them",
        "missing-main-isolation",
        INVERTER,
        "isolator rated for at least 100 A",
        INVERTER.replace("-- F7 --", "-- F7 -- Q1 --") + "isolator Q1 100 A\n",
    ),
    (
        "a fuse beside the post",
        "unfused-trigger",
        charged() + TRIGGER.format(""),
        "fuse of 5 A or less within 200 mm of start.+",
        charged() + "fuse F9 5 A cartridge, volts 58 V, breaks 10 kA\n" + TRIGGER.format("-- F9 "),
    ),
    (
        "an alternator that gives what is drawn",
        "alternator-overload",
        heated(ALTERNATOR.format("40 A fixed")),
        "fit an alternator that gives 50 A",
        heated(ALTERNATOR.format("50 A fixed")),
    ),
    (
        "an alternator that gives it at idle",
        "alternator-overload",
        heated(ALTERNATOR.format("90 A fixed, idle 45 A")),
        "fit an alternator that gives 50 A at idle",
        heated(ALTERNATOR.format("90 A fixed, idle 50 A")),
    ),
    (
        "thresholds that are usual",
        "start-battery-drain",
        charged(
            "charger dcdc 18 A, profile agm, negative common, starts-above 13.2 V, stops-below 11.5 V\n"
            + ALTERNATOR.format("90 A fixed")
        ),
        "stop below 12.7 V and start above 13.2 V",
        charged(
            "charger dcdc 18 A, profile agm, negative common, starts-above 13.2 V, stops-below 12.7 V\n"
            + ALTERNATOR.format("90 A fixed")
        ),
    ),
    (
        "a charger within reach of its battery",
        "charger-far-from-battery",
        charged(out="2.5 m"),
        "within 2 m of aux",
        charged(out="2 m"),
    ),
    (
        "a battery that may give it",
        "battery-overcurrent",
        heated("battery aux 70 Ah agm, vented, max-discharge 40 A\n", "aux"),
        "batteries that may give 50 A together",
        heated("battery aux 70 Ah agm, vented, max-discharge 50 A\n", "aux"),
    ),
]


@pytest.mark.parametrize(
    ("rule", "faulty", "remedy", "mended"), [each[1:] for each in MENDED], ids=[each[0] for each in MENDED]
)
def test_what_a_remedy_asks_for_mends_what_was_found(rule: str, faulty: str, remedy: str, mended: str) -> None:
    (finding,) = findings(rule, faulty)
    assert remedy in finding.remedy
    assert findings(rule, mended) == []


def test_idle_counts_in_a_case_that_is_called_so_and_is_advice_in_any_other() -> None:
    alternator = ALTERNATOR.format("90 A fixed, idle 45 A")
    (driving,) = findings("alternator-overload", heated(alternator))
    assert (driving.severity, driving.case, driving.values["idle"]) == ("advice", "driving", True)
    idling = heated(alternator) + "case idling\ncase driving, off heater\n"
    (finding,) = findings("alternator-overload", idling)
    assert (finding.severity, finding.case, finding.values["idle"]) == ("warning", "idling", True)


def test_a_load_behind_a_relay_to_the_other_battery_is_not_on_the_start_battery() -> None:
    text = """alternator alt 90 A fixed, on start
battery aux 100 Ah flooded, vented, max-charge 30 A
voltage-relay K1 100 A, closes-above 13.2 V, opens-below 12.7 V
load heater 20 A
start.+ -- F2 --[W1 red 16 mm2 1 m]-- K1.in
K1.out --[W2 red 16 mm2 1 m]-- F1 -- aux.+
aux.- --[W3 black 16 mm2 1 m]-- start.-
K1.- --[W4 black 1 mm2 1 m]-- start.-
fuse F9 30 A strip, volts 58 V, breaks 10 kA
aux.+ -- F9 --[R1 red 16 mm2 1 m]-- heater --[B1 black 16 mm2 1 m]-- aux.-
case camp, alt off, on heater
"""
    assert findings("start-battery-drain", text) == []


def test_a_mains_charger_that_no_case_turns_on_counts_with_all_the_rest() -> None:
    both = charged("battery aux 100 Ah agm, max-charge 30 A\n") + (
        "mains-charger mc 15 A, profile agm\n"
        "mc.out.+ --[S3 red 6 mm2 1 m]-- F3 -- aux.+\nmc.out.- --[S4 black 6 mm2 1 m]-- aux.-\n"
    )
    (finding,) = findings("overcharge-current", both)
    assert finding.case is None and set(finding.related) == {"dcdc", "mc"}
    site = ALTERNATOR.format("90 A fixed") + both + "case site, alt off, on mc\n"
    assert findings("overcharge-current", site) == []
    (finding,) = findings("overcharge-current", site + "case jump, on mc\n")
    assert finding.case == "jump"
