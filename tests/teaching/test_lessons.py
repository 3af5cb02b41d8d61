"""The lessons that ship: written in the one layout, sound before a fault is planted, each fault found as it says."""

from __future__ import annotations

from pathlib import Path

import pytest
import test_figures

from wiregen.cli.jobs import look
from wiregen.language import format_text, read_source
from wiregen.teaching import figure_set

FOLDER = Path(__file__).resolve().parents[2] / "examples" / "lessons"
LESSONS = sorted(FOLDER.glob("*.wnet"))
ON_PAPER = ("two-loops", "opposed-loops")  # textbook exercises whose one real danger is accepted
OURS = ("four-steps", "voltage-drop")


@pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
def test_a_lesson_is_written_in_the_one_layout(path: Path) -> None:
    source, found = read_source(str(path))
    assert source is not None and not found
    assert format_text(source)[0] == source.text


@pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
def test_a_lesson_is_sound_before_a_fault_is_planted(path: Path) -> None:
    findings = look(str(path), ()).findings
    assert all(f.accepted for f in findings)
    assert len(findings) == (1 if path.stem in ON_PAPER else 0)


@pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
def test_every_planted_fault_is_found_as_the_lesson_says(path: Path) -> None:
    looked = look(str(path), ())
    assert looked.study is not None
    made = figure_set(looked.study, looked.findings, only=("faults", "shorts"))
    assert not made.missed and not made.problems
    faults = [lesson for lesson in looked.study.job.lessons if lesson.kind == "fault"]
    for fault in faults:
        assert any(f"-{fault.name.lower()}" in figure.name for figure in made.figures), fault.name


@pytest.mark.parametrize("path", LESSONS, ids=lambda p: p.stem)
def test_a_lesson_is_a_set_of_one_geometry_that_can_be_read_from_the_back(path: Path) -> None:
    """Every kind of figure in it; at least twelve in the two lessons of our own."""
    looked = look(str(path), ())
    assert looked.study is not None
    figures = figure_set(looked.study, looked.findings).figures
    assert len(figures) >= (12 if path.stem in OURS else 5)
    if path.stem in OURS:
        assert {figure.kind for figure in figures} >= {"stages", "cases", "faults", "shorts"}
    assert not test_figures.moved(figures)
    test_figures.no_words_leave(figures)
    test_figures.labels_can_be_read(figures)
