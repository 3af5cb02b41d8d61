"""Each numeric limit of each rule, on both sides, by machine: silent up to it, speaking from there on.

A netlist has one number left out (`@`). Where the limit is known beforehand it is given, and the rule has to be silent
exactly there and 0.1 % before, and to speak 0.1 % beyond. Where it has to be computed (an ampacity, a drop, a time), it
is found by halving between a number at which the rule is silent and one at which it speaks; on the way there the rule
has to turn only once, and just beyond the limit the two figures of its evidence have to be one.
"""

from __future__ import annotations

from typing import NamedTuple

import pytest
from rule_cases import standard, studied

from wiregen.circuit.study import Study
from wiregen.findings import Finding
from wiregen.rules.engine import check, registered
from wiregen.rules.register import JUDGING


class Limit(NamedTuple):
    """`quiet` and `loud` numbers for `@` in the netlist. `at`: the limit itself, None where it is computed.
    `evidence`: two values of the finding that are equal at the limit. `allowed`: whether the limit itself passes."""

    rule: str
    what: str
    text: str
    quiet: float
    loud: float
    at: float | None = None
    evidence: tuple[str, str] | None = None
    allowed: bool = True
    step: float = 0.0  # the smallest step that counts, where a relative one is too small (a temperature of 0)


PUMP = "pump.- --[B1 black 6 mm2 1 m]-- start.-\n"
CHARGER = """start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
"""
DCDC = "charger dcdc 18 A, profile agm, efficiency 90 %, negative common"
SUN = """sun.+ --[V1 red 4 mm2 2 m]-- mppt.solar.+
sun.- --[V2 black 4 mm2 2 m]-- mppt.solar.-
mppt.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
mppt.out.- --[B2 black 10 mm2 1 m]-- aux.-
"""
BIG = "fuse F9 200 A bolted, volts 58 V, breaks 10 kA\n"
LIMITS = [
    Limit(
        "unfused-positive",
        "the tail",
        "start.+ --[W1 red 6 mm2 @ mm]-- F1 --[W2 red 6 mm2 1 m]-- pump.+\n" + PUMP,
        50,
        900,
        200,
        ("length_m", "limit_m"),
    ),
    Limit(
        "unfused-trigger",
        "the tail",
        "switch S1 5 A\n" + CHARGER + "start.+ --[G1 blue 1 mm2 @ mm]-- F3 --[G2 blue 1 mm2 1 m]-- S1"
        " --[G3 blue 1 mm2 2 m]-- dcdc.trigger\n",
        50,
        900,
        200,
        ("length_m", "limit_m"),
    ),
    Limit(
        "undersized-conductor",
        "the ampacity",
        "load winch @ A\n"
        + BIG
        + "start.+ -- F9 --[W1 red 6 mm2 200 mm]-- winch --[W2 black 16 mm2 200 mm]-- start.-\n",
        20,
        120,
        None,
        ("current_a", "ampacity_a"),
    ),
    Limit(
        "undersized-conductor",
        "the drop",
        "limit 3 % start to heater\nstart.+ -- F2 --[W1 red 6 mm2 @ m]-- heater --[W2 black 6 mm2 @ m]-- start.-\n",
        0.5,
        12,
        None,
        ("drop_percent", "limit_percent"),
    ),
    Limit(
        "voltage-drop",
        "the drop of a connector",
        "limit 3 % start to heater\nconnector X1 30 A, poles + -, resistance @ mohm\n"
        "start.+ -- F2 --[W1 red 16 mm2 200 mm]-- X1.+ --[W2 red 16 mm2 200 mm]-- heater.+\n"
        "heater.- --[W3 black 16 mm2 200 mm]-- X1.b.-\nX1.a.- --[W4 black 16 mm2 200 mm]-- start.-\n",
        1,
        40,
        None,
        ("drop_percent", "limit_percent"),
    ),
    Limit(
        "oversized-fuse",
        "the ampacity",
        "fuse F9 @ A strip, volts 58 V, breaks 10 kA\nstart.+ -- F9 --[W1 red 2.5 mm2 1 m]-- pump.+\n" + PUMP,
        10,
        100,
        None,
        ("rating_a", "ampacity_a"),
    ),
    Limit(
        "undersized-return",
        "the ampacity",
        "fuse F9 @ A strip, volts 58 V, breaks 10 kA\nstart.+ -- F9 --[W1 red 16 mm2 1 m]-- pump"
        " --[W2 black 2.5 mm2 1 m]-- start.-\n",
        10,
        80,
        None,
        ("rating_a", "ampacity_a"),
    ),
    Limit("undersized-fuse", "its rating", "load fan @ A\nstart.+ -- F1 --[W1 red 6 mm2 1 m]-- fan"
          " --[W2 black 6 mm2 1 m]-- start.-\n", 5, 60, 20, ("current_a", "holds_a")),
    Limit("breaking-capacity", "the fault", "fuse F9 20 A strip, volts 58 V, breaks @ A\n"
          "start.+ -- F9 --[W1 red 6 mm2 1 m]-- pump.+\n" + PUMP, 9000, 50, None, ("fault_a", "breaks_a")),
    Limit("fuse-voltage", "the voltage", "case on, start 12.5 V\nfuse F9 20 A strip, volts @ V, breaks 10 kA\n"
          "start.+ -- F9 --[W1 red 6 mm2 1 m]-- pump.+\n" + PUMP, 30, 5, None, ("voltage_v", "rated_v")),
    Limit("connector-voltage", "the voltage", "isolator Q1 100 A, volts @ V\nstart.+ -- F1 --[W1 red 6 mm2 1 m]-- Q1"
          " --[W2 red 6 mm2 1 m]-- pump.+\n" + PUMP, 30, 5, None, ("voltage_v", "rated_v")),
    Limit("holder-rating", "the holder", "fuse F9 20 A strip, volts 58 V, breaks 10 kA, holder @ A\n"
          "start.+ -- F9 --[W1 red 6 mm2 1 m]-- pump.+\n" + PUMP, 60, 5, 20, ("rating_a", "holder_a")),
    Limit("connector-overcurrent", "the rating", "connector X1 @ A, poles + -, volts 60 V\n"
          "start.+ -- F2 --[W1 red 6 mm2 1 m]-- X1.+ --[W2 red 6 mm2 1 m]-- heater.+\n"
          "heater.- --[W3 black 6 mm2 1 m]-- X1.b.-\nX1.a.- --[W4 black 6 mm2 1 m]-- start.-\n",
          40, 5, 15, ("current_a", "rating_a")),
    Limit("switch-rating", "what it breaks", "isolator Q1 100 A, breaks @ A\nstart.+ -- F2 --[W1 red 6 mm2 1 m]-- Q1"
          " --[W2 red 6 mm2 1 m]-- heater --[W3 black 6 mm2 1 m]-- start.-\n", 40, 5, 15, ("current_a", "breaks_a")),
    Limit("insulation-too-cool", "the place", "place manifold, ambient @ degC\n"
          "start.+ -- F3 --[W1 red 2.5 mm2 1 m, via manifold]-- lamp1 --[W2 black 2.5 mm2 1 m]-- start.-\n",
          60, 140, 105, ("insulation_c", "ambient_c"), allowed=False),
    Limit("slow-clearing", "the length of a run", "fuse F9 25 A strip, volts 58 V, breaks 10 kA\n"
          "start.+ -- F9 --[W1 red 2.5 mm2 @ m]-- lamp1 --[W2 black 2.5 mm2 @ m]-- start.-\n", 1, 60, None,
          ("opens_s", "withstand_s")),
    Limit("minimum-size", "the least area", "start.+ -- F3 --[W1 red @ mm2 3 m]-- lamp1"
          " --[W2 black 1 mm2 3 m]-- start.-\n", 1.5, 0.6, None, ("area_mm2", "limit_mm2"), step=0.02),
    Limit("terminal-fit", "too thick", "connector X1 30 A, poles +, fits 0.5..@ mm2\n"
          "start.+ -- F1 --[W1 red 4 mm2 1 m]-- X1.+ --[W2 red 4 mm2 1 m]-- pump.+\n" + PUMP,
          6, 1, None, ("area_mm2", "limit_mm2"), step=0.08),
    Limit("solar-overvoltage", "the cold string", "panel sun 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.5 A,"
          " voc-coefficient -0.3 %/K, coldest -15 degC\nsolar-controller mppt 15 A, profile agm, solar-max @ V\n" + SUN,
          60, 10, 22 * 1.12, ("cold_v", "solar_max_v")),
    Limit("solar-overcurrent", "1.25 times the current", "panel sun 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.5 A\n"
          "solar-controller mppt 15 A, profile agm, solar-max 60 V, solar-max-current @ A\n" + SUN, 30, 2, 7.5),
    Limit("overcharge-current", "what it may take", "battery aux 100 Ah agm, vented, max-charge @ A\n" + CHARGER,
          60, 5, 18, ("gives_a", "takes_a")),
    Limit("overcharge-current", "by its chemistry", "battery aux @ Ah agm, vented\n" + CHARGER, 400, 30, 90,
          ("gives_a", "takes_a")),
    Limit("indicator-overload", "what the output gives", DCDC + ", indicator-max 0.3 A\nlamp lamp1 @ A\n" + CHARGER
          + "dcdc.indicator --[L1 white 1 mm2 1 m]-- lamp1 --[L2 black 1 mm2 1 m]-- start.-\n", 0.05, 2, 0.3,
          ("current_a", "indicator_max_a")),
    Limit("battery-overcurrent", "what it may give", "battery aux 100 Ah lifepo4, max-discharge @ A, max-charge 50 A\n"
          "load winch 50 A\n" + BIG + "aux.+ -- F9 --[R1 red 25 mm2 1 m]-- winch --[B1 black 25 mm2 1 m]-- aux.-\n",
          100, 20, 50, ("current_a", "limit_a")),
    Limit("battery-overcurrent", "a surge", "battery aux 100 Ah lifepo4, max-discharge 100 A, max-charge 50 A\n"
          "inverter inv 600 W, surge @ W, efficiency 90 %\nisolator Q1 200 A\n" + BIG
          + "aux.+ -- F9 -- Q1 --[R1 red 50 mm2 1 m]-- inv --[B1 black 50 mm2 1 m]-- aux.-\n", 700, 3000, 1080,
          ("current_a", "limit_a")),
    Limit("alternator-overload", "what it gives", "alternator alt @ A fixed, on start\nload fire 50 A\n" + BIG
          + "start.+ -- F9 --[W1 red 25 mm2 1 m]-- fire --[B1 black 25 mm2 1 m]-- start.-\n", 120, 10, None,
          ("drawn_a", "gives_a")),
    Limit("charger-behind-load", "a tenth of the charger", DCDC + "\nload fan @ A\nsplice J1\n" + BIG
          + "start.+ -- F9 --[R1 red 25 mm2 1 m]-- J1 --[R2 red 25 mm2 1 m]-- dcdc.in.+\n"
          "J1 --[R3 red 25 mm2 1 m]-- fan --[B3 black 25 mm2 1 m]-- start.-\n"
          "start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-\ndcdc.out.+ --[R4 red 10 mm2 1 m]-- F1 -- aux.+\n"
          "dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-\n", 0.5, 12, None, ("loads_a", "limit_a")),
    Limit("charger-far-from-battery", "2 m", CHARGER.replace("R2 red 10 mm2 1 m", "R2 red 10 mm2 @ m"), 0.5, 8, 2,
          ("output_m", "limit_m")),
    Limit("missing-main-isolation", "the largest plug-in fuse", "load winch @ A\n" + BIG
          + "aux.+ -- F9 --[R1 red 50 mm2 0.8 m]-- winch --[B1 black 50 mm2 0.9 m]-- aux.-\n", 20, 150, 80,
          ("loads_a", "limit_a")),
    Limit("start-battery-drain", "half of the charge in a day",
          "battery start @ Ah flooded, vented, resistance 6 mohm\nbattery aux 100 Ah flooded, vented\n"
          "alternator alt 110 A fixed, on start\nload fridge 1.5 A\n"
          "start.+ -- F3 --[W1 red 2.5 mm2 1 m]-- fridge --[W2 black 2.5 mm2 1 m]-- start.-\n"
          "aux.+ -- F1 --[W5 red 2.5 mm2 1 m]-- pump --[W6 black 2.5 mm2 1 m]-- aux.-\n"
          "case camp, alt off, on fridge\n", 200, 20, 72, ("current_a", "limit_a")),
    Limit("start-battery-drain", "a relay that opens too low", "battery aux 100 Ah flooded, vented\n"
          "voltage-relay K1 100 A, closes-above 13.2 V, opens-below @ V\nstart.+ -- F1 --[W1 red 16 mm2 1 m]-- K1.in\n"
          "K1.out --[W2 red 16 mm2 1 m]-- F2 -- aux.+\naux.- --[W3 black 16 mm2 1 m]-- start.-\n"
          "K1.- --[W4 black 1 mm2 1 m]-- start.-\n", 12.6, 11, 12.24, ("opens_below_v", "half_v")),
    Limit("cold-lithium-charge", "0 degC", "place tray, ambient @..40 degC\nbattery aux 100 Ah lifepo4, at tray\n"
          + DCDC.replace("agm", "lifepo4") + "\n" + CHARGER, 5, -10, 0, ("coldest_c", "limit_c"), step=0.01),
    Limit("laxer-own-figure", "the tail", 'own-figures "House" { tail @ mm }\n'
          "start.+ -- F1 --[W1 red 6 mm2 1 m]-- pump.+\n" + PUMP, 100, 900, 200, ("own", "standard")),
    Limit("laxer-own-figure", "the drop", 'own-figures "House" { limit @ % }\n'
          "start.+ -- F1 --[W1 red 6 mm2 1 m]-- pump.+\n" + PUMP, 2, 30, 10, ("own", "standard")),
    Limit("laxer-own-figure", "an ampacity", 'own-figures "House" { ampacity { 4 mm2: @ A } }\n'
          "start.+ -- F1 --[W1 red 4 mm2 1 m]-- pump.+\n" + PUMP, 20, 90, 45, ("own", "standard")),
    Limit("unequal-parallel-conductors", "the hotter of two",
          'own-figures "Exact" { ampacity { 6 mm2: @ A, 16 mm2: 60 A } }\n'
          "load winch 30 A\nbusbar PB1\nstart.+ -- F2\nF2 --[W1 red 6 mm2 1 m]-- PB1\nF2 --[W2 red 6 mm2 3 m]-- PB1\n"
          "PB1 --[W3 red 16 mm2 1 m]-- winch --[W4 black 16 mm2 1 m]-- start.-\n", 60, 16, None,
          ("current_a", "ampacity_a")),
    Limit("ambiguous-size", "the drop at the smaller reading", "limit 3 % start to heater\n"
          "start.+ -- F1 --[W1 red 12 AWG @ m]-- heater --[W2 black 12 AWG @ m]-- start.-\n", 0.5, 1.6, None),
    Limit("double-bond", "what the thin way bears", "load fire @ A\nconnector X1 50 A, poles + -, volts 60 V\n"
          "connector X2 10 A, poles e\n" + BIG
          + "start.+ -- F9 --[W1 red 6 mm2 1 m]-- X1.+ --[W2 red 6 mm2 1 m]-- fire.+\n"
          "start.- --[B1 black 6 mm2 1 m]-- X1.- --[B2 black 6 mm2 1 m]-- fire.-\n"
          "start.- --[E1 black 0.75 mm2 1 m]-- X2.e --[E2 black 0.75 mm2 1 m]-- fire.-\n", 5, 40, None,
          ("current_a", "ampacity_a")),
    Limit(
        "unregulated-panel",
        "a hundredth of the battery",
        "panel sun 100 W, voc 22 V, vmp 18 V, isc 6 A, imp @ A\n"
        "sun.+ --[V1 red 4 mm2 2 m]-- F1 -- aux.+\nsun.- --[V2 black 4 mm2 2 m]-- aux.-\n",
        0.2,
        5,
        1,
        ("gives_a", "stands_a"),
    ),
    Limit("mixed-voltage", "the input of a charger", DCDC + ", input 9..@ V\n" + CHARGER, 20, 10, 12, ("", "")),
    Limit("mixed-voltage", "a quarter", "lamp bulb 5 W, volts @ V\nstart.+ -- F3 --[W1 red 2.5 mm2 1 m]-- bulb"
          " --[W2 black 2.5 mm2 1 m]-- start.-\n", 12, 24, 16),
    Limit("missing-pre-charge", "1 kW", 'job "48 V" { system 48 V, each insulation 105 degC }\n'
          "battery bank 48 V 200 Ah lifepo4\nisolator Q1 200 A, volts 80 V\nload inv @ W, power constant\n"
          "fuse F9 100 A class-t, volts 125 V, breaks 20 kA\n"
          "bank.+ -- F9 --[R1 red 35 mm2 0.5 m]-- Q1 --[R2 red 35 mm2 0.5 m]-- inv --[B1 black 35 mm2 1 m]-- bank.-\n",
          200, 3000, 1000, allowed=False),
]  # fmt: skip
PARTS_OF_IT = 12  # steps of the search between quiet and loud at which the rule may turn only once
NO_NUMBER = {
    "centre-tap",
    "bypassed-switch",
    "wrong-sensing-side",
    "reversed-polarity", "short-circuit", "unterminated-sense-lead", "no-operating-point", "loose-end",
    "unmated-connector", "missing-return", "missing-feed", "misplaced-sense-lead", "missing-trigger",
    "regulated-solar-input", "isolated-body-return", "mixed-batteries", "unswitched-trigger",
    "unfused-parallel-strings", "charger-without-battery", "unvented-battery", "load-dump",
    "switched-always-live", "live-end-at-stage", "colour-convention", "unnamed-conductor", "exposed-live-pin",
    "wet-place", "indicator-without-return", "missing-indicator", "profile-mismatch", "body-not-bonded",
    "shunt-bypass",
}  # fmt: skip
"""Rules that compare no number of the netlist with another, or only count (strings, digits of a code)."""


def said(limit: Limit, number: float) -> list[Finding]:
    text = standard(limit.text.replace("@", f"{number:.9g}"))
    return [f for f in check(studied(text), rules=registered((limit.rule,))) if f.rule == limit.rule]


def beyond(limit: Limit, number: float, by: float) -> float:
    """The number moved a little further to the loud side."""
    way = 1.0 if (limit.loud > limit.quiet) == (by > 0) else -1.0
    return number + way * max(abs(number * by), limit.step)


every = pytest.mark.parametrize("limit", LIMITS, ids=[f"{each.rule}: {each.what}" for each in LIMITS])


def test_every_rule_with_a_number_has_its_limit_here() -> None:
    assert {limit.rule for limit in LIMITS} | NO_NUMBER == set(JUDGING)
    assert not {limit.rule for limit in LIMITS} & NO_NUMBER


@every
def test_a_rule_is_silent_up_to_its_limit_and_speaks_beyond(limit: Limit) -> None:
    assert not said(limit, limit.quiet)
    assert said(limit, limit.loud)
    at = limit.at if limit.at is not None else _found(limit)
    if limit.at is not None:
        assert bool(said(limit, at)) != limit.allowed
    assert not said(limit, beyond(limit, at, -0.001))
    findings = said(limit, beyond(limit, at, 0.001))
    assert findings
    if limit.evidence and limit.evidence[0]:
        one, other = (findings[0].values[name] for name in limit.evidence)
        assert isinstance(one, float | int) and isinstance(other, float | int)
        assert one == pytest.approx(other, rel=0.02, abs=2 * limit.step)


@pytest.mark.long
@every
def test_a_rule_turns_only_once(limit: Limit) -> None:
    ratio = limit.loud / limit.quiet if limit.loud * limit.quiet > 0 else None
    numbers = [
        limit.quiet * ratio ** (i / PARTS_OF_IT)
        if ratio
        else limit.quiet + (limit.loud - limit.quiet) * i / PARTS_OF_IT
        for i in range(PARTS_OF_IT + 1)
    ]
    speaks = [bool(said(limit, number)) for number in numbers]
    assert speaks == sorted(speaks)


def _found(limit: Limit) -> float:
    """The number at which the rule turns, by halving."""
    quiet, loud = limit.quiet, limit.loud
    while abs(loud - quiet) > 0.0005 * max(abs(quiet), abs(loud)):
        middle = (quiet + loud) / 2
        if said(limit, middle):
            loud = middle
        else:
            quiet = middle
    return (quiet + loud) / 2


def test_the_study_of_a_limit_reads_without_mistakes() -> None:
    for limit in LIMITS:
        made: Study = studied(standard(limit.text.replace("@", f"{limit.quiet:.9g}")))
        assert made.job.complete
