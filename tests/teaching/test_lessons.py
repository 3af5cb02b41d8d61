"""The lessons that ship: written in the one layout, sound before a fault is planted, each fault found as it says."""

from __future__ import annotations

from pathlib import Path

import pytest

from wiregen.cli.jobs import look
from wiregen.language import format_text, read_source
from wiregen.teaching import figure_set

FOLDER = Path(__file__).resolve().parents[2] / "examples" / "lessons"
LESSONS = sorted(FOLDER.glob("*.wnet"))
SOUND = [FOLDER / "four-steps.wnet"]


@pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
def test_a_lesson_is_written_in_the_one_layout(path: Path) -> None:
    source, found = read_source(str(path))
    assert source is not None and not found
    assert format_text(source)[0] == source.text


@pytest.mark.parametrize("path", SOUND, ids=lambda p: p.stem)
def test_a_lesson_is_sound_before_a_fault_is_planted(path: Path) -> None:
    assert not look(str(path), ()).findings


@pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
def test_every_planted_fault_is_found_as_the_lesson_says(path: Path) -> None:
    looked = look(str(path), ())
    assert looked.study is not None
    made = figure_set(looked.study, looked.findings, only=("faults",))
    assert not made.missed and not made.problems
    assert looked.study.job.lessons == () or made.figures
