"""Tables and worked examples in print, asked of whole jobs. Reference values 2 to 4; each row names its source."""

from __future__ import annotations

import pytest

from wiregen.catalogue import catalogue
from wiregen.circuit import study
from wiregen.circuit.figures import Figures
from wiregen.circuit.size_job import size_job
from wiregen.model import read
from wiregen.model.job import Job


def job(text: str) -> Job:
    made, findings = read("print.wnet", text=text)
    assert made is not None and not findings, [f.message for f in findings]
    return made


ONE_WIRE = """job "Wire" {{ system 12 V, limits {limits} }}
place here, ambient {ambient} degC
battery start 70 Ah agm, at here
start.+ --[W1 red {size} 1 m, insulation {insulation} degC]-- capped
"""

AMPACITIES = [  # limits, size, insulation degC, ambient degC, A, source
    ("abyc", "10 AWG", 105, 30, 60, "33 CFR 183.425 table 5"),
    ("abyc", "8 AWG", 105, 30, 80, "33 CFR 183.425 table 5"),
    ("abyc", "18 AWG", 60, 30, 10, "33 CFR 183.425 table 5"),
    ("abyc", "4/0 AWG", 125, 30, 475, "33 CFR 183.425 table 5"),
    ("abyc", "8 AWG", 105, 50, 68, "engine-space column, two reprints"),
    ("abyc", "4 AWG", 105, 50, 136, "engine-space column, two reprints"),
    ("abyc", "10 mm2", 105, 30, 80, "the next smaller row, 8 AWG"),
    ("iso13297", "2.5 mm2", 70, 30, 25, "annex A, from memory"),
    ("iso13297", "10 mm2", 105, 60, 0.86 * 90, "annex A with its engine-space factor, from memory"),
    ("iso13297", "8 mm2", 105, 30, 60, "the next smaller row, 6 mm2"),
    ("iso13297", "10 mm2", 105, 105, 0, "a place as hot as the insulation bears"),
]


@pytest.mark.parametrize("limits, size, insulation, ambient, amps, source", AMPACITIES)
def test_ampacities_are_those_in_print(limits, size, insulation, ambient, amps, source):
    made = job(ONE_WIRE.format(limits=limits, size=size, insulation=insulation, ambient=ambient))
    assert study(made)[0].ampacities["W1"] == pytest.approx(amps, abs=1e-9), source


def test_between_the_published_factors_the_root_law_holds():
    made = job(ONE_WIRE.format(limits="abyc", size="8 AWG", insulation=105, ambient=80))
    assert study(made)[0].ampacities["W1"] == pytest.approx(80 * (25 / 75) ** 0.5)


def test_the_hottest_place_on_a_route_governs_and_the_resistance_is_split():
    made = job(
        """job "Route" { system 12 V, limits iso13297, each insulation 105 degC }
        place bay, ambient 80 degC
        place cabin, ambient 30 degC
        battery start 70 Ah agm
        start.+ --[W1 red 10 mm2 4 m, via bay 1 m, cabin 3 m]-- capped
        """
    )
    done, _ = study(made)
    assert done.ampacities["W1"] == pytest.approx(90 * (25 / 75) ** 0.5)
    # 1.91 mohm/m, a quarter at 80 degC and three quarters at 30 degC
    factor = 0.25 * (1 + 0.00393 * 60) + 0.75 * (1 + 0.00393 * 10)
    assert done.cases[0].flows["W1"].resistance_ohm == pytest.approx(4 * 1.91e-3 * factor)


def test_a_bundle_takes_its_share():
    lines = [f"b.+ --[W{k} red 10 mm2 1 m, insulation 105 degC, bundle B1]-- capped" for k in range(5)]
    made = job('job "B" { system 12 V, limits iso13297 }\nbattery b 70 Ah agm\nbundle B1 "Loom"\n' + "\n".join(lines))
    assert study(made)[0].ampacities["W0"] == pytest.approx(0.7 * 90)  # 4 to 6 conductors 0.7, from memory


@pytest.mark.parametrize("ambient, amps", [(20, 40), (65, 34), (85, 30), (110, 25), (125, 22)])
def test_fuses_carry_less_where_it_is_hot(ambient, amps):
    # a maker's data sheet, large blade 40 A
    made = job(
        f"""job "Hot" {{ system 12 V, limits iso13297 }}
        place bay, ambient {ambient} degC
        battery b 70 Ah agm
        fuse F1 40 A large-blade, at bay
        b.+ --[W1 red 10 mm2 1 m]-- F1 --[W2 red 10 mm2 1 m]-- capped
        """
    )
    assert 40 * Figures(made).fuse_factor(made.parts["F1"]) == pytest.approx(amps)


GATES = {  # per cent: least, most [s]; makers' data sheets to ISO 8820-3
    "blade": {135: (0.75, 600), 160: (0.25, 50), 200: (0.15, 5), 350: (0.08, 0.5), 600: (0.0, 0.15)},
    "large-blade": {135: (60, 1800), 200: (2, 50), 350: (0.2, 7), 600: (0.04, 1)},
}


@pytest.mark.parametrize("family", GATES)
def test_gates_are_those_in_print(family):
    name = catalogue().row("fuse_family", family)["gates"]
    rows = {r["percent"]: (r["least_s"], r["most_s"]) for r in catalogue().rows("gate") if r["gates"] == name}
    assert rows == GATES[family]


def test_the_size_that_ampacity_and_not_drop_decides():
    # refrigeration supplier, V4: 24 V, 100 A, 10 ft in all, 3 %: drop alone needs less than 8 AWG has (14 931 cmil),
    # its 80 A do not do, so 6 AWG (120 A)
    made = job(
        """job "V4" { system 24 V, limits abyc, each insulation 105 degC }
        battery start 200 Ah agm
        load fan 100 A
        start.+ --[W1 red 2/0 AWG 5 ft]-- fan --[W2 black 2/0 AWG 5 ft]-- start.-
        limit 3 % start to fan
        """
    )
    found = {s.conductor: (s.size, s.decided_by) for s in size_job(made).conductors}
    assert found["W1"] == ("6 AWG", "ampacity")


def test_the_size_that_drop_decides():
    # the same supplier, V3: 12 V, 45 A, 40 ft in all, 10 %: 8 AWG (16 125 of its 16 510 cmil). That is copper at
    # 29 degC; warm from its load our 8 AWG loses more than the 1.2 V allowed, so one leg has to be thicker
    made = job(
        """job "V3" { system 12 V, limits abyc, each insulation 105 degC }
        battery start 200 Ah agm
        load fan 45 A
        start.+ --[W1 red 2/0 AWG 20 ft]-- fan --[W2 black 2/0 AWG 20 ft]-- start.-
        limit 10 % start to fan
        """
    )
    found = sorted(s.size for s in size_job(made).conductors)
    assert found == ["6 AWG", "8 AWG"]
    assert {s.decided_by for s in size_job(made).conductors} == {"drop"}
