"""A planted fault is carried out, solved and checked beside the sound job."""

from __future__ import annotations

from pathlib import Path

from wiregen.circuit import study
from wiregen.model import read
from wiregen.rules import check
from wiregen.teaching.plant import COMMAND_LINE, Planted, given, planted

JOB = str(Path(__file__).resolve().parents[2] / "examples" / "dual-battery.wnet")


def carried_out(*words: str) -> list[Planted]:
    job, mistakes = read(JOB, more=given(words))
    assert job is not None and not mistakes
    sound, _ = study(job)
    findings = check(sound)
    return [planted(sound, findings, lesson) for lesson in job.lessons if lesson.name.startswith("given-")]


def test_what_the_command_line_plants_is_found_and_expected() -> None:
    job, _ = read(JOB)
    assert job is not None
    fuse = next(part.id for part in job.parts.values() if part.kind == "fuse")
    (fault,) = carried_out(f"leave-out {fuse}")
    assert {f.rule for f in fault.new} == {"unfused-positive"}
    (subject,) = {f.subject for f in fault.new}
    (told,) = carried_out(f"leave-out {fuse}, expect unfused-positive on {subject}")
    assert [(e.rule, e.subject, e.found) for e in told.expected] == [("unfused-positive", subject, True)]
    (missed,) = carried_out(f"expect unfused-positive on {subject}")
    assert [e.found for e in missed.expected] == [False]


def test_each_word_on_the_command_line_is_a_fault_of_its_own() -> None:
    assert [f.name for f in carried_out("swap X1", "swap X1")] == ["given-1", "given-2"]


def test_a_slip_on_the_command_line_is_told_with_its_place() -> None:
    _, mistakes = read(JOB, more=given(["swap nothing"]))
    (mistake,) = mistakes
    assert mistake.at is not None
    assert mistake.at.span.source.path == COMMAND_LINE
    assert mistake.message == "no part or conductor is called nothing"
