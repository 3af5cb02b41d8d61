"""The study as a fitter reads it says nothing that would be misread."""

from __future__ import annotations

from wiregen.circuit import study
from wiregen.circuit.study import Study
from wiregen.circuit.study_text import as_text
from wiregen.model import read

JOB = """job "Small" { system 12 V, limits iso13297 }
battery start 70 Ah flooded
feed ign live, from start, fused 5 A
lamp L1 10 W
start.- --[B1 black 2.5 mm2 1 m]-- L1.-
ign --[R1 red 2.5 mm2 1 m]-- L1.+
"""


def studied() -> Study:
    job, mistakes = read("small.wnet", text=JOB)
    assert job is not None and not mistakes
    return study(job)[0]


def test_a_vehicle_circuit_gives_current_and_loses_voltage_in_its_wiring() -> None:
    feed = studied().cases[0].parts["ign"]
    assert 0.7 < (feed["current_a"] or 0.0) < 1.0
    assert 0.0 < (feed["drop_v"] or 0.0) < 0.1
    assert "voltage_v" not in feed


def test_faults_that_drive_no_current_are_named_in_one_line_and_a_question_mark_is_told() -> None:
    text = as_text(studied())
    faults = text[text.index("Short circuits") : text.index("Energy")]
    assert "A fault to the negative drives no current into B1." in faults
    assert "B1 at" not in faults
    assert "R1 at L1.+" in faults
    assert "? is not known, or" in faults


def test_loads_that_get_nothing_are_named() -> None:
    text = 'job "Dead" { system 12 V, limits iso13297 }\nbattery start 70 Ah flooded\nload fan 5 A\nlamp glow 5 W\n'
    paths = (
        "start.+ --[W1 red 2.5 mm2 1 m]-- fan --[W2 black 2.5 mm2 1 m]-- start.-\nstart.+ --[W3 red 1 mm2 1 m]-- glow\n"
    )
    job, _ = read("dead.wnet", text=text + paths)
    assert job is not None
    assert "\n  no current in glow\n" in as_text(study(job)[0])
