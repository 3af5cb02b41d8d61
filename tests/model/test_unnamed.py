"""Conductors without a name keep the id `FROM--TO`, and `accept` and `note` name them by the terminals between."""

from __future__ import annotations

import pytest

from wiregen.model import read
from wiregen.model.job import Job

TEXT = """job "Unnamed" { system 12 V }
battery start 70 Ah flooded
load fridge 5 A
busbar NB
fridge.- --[black 1 mm2 3 m]-- NB.1
fridge.- --[black 1 mm2 4 m]-- NB.1
NB.1 --[W1 black 1 mm2 3 m]-- start.-
"""


def job(more: str) -> tuple[Job, list[str]]:
    made, findings = read("unnamed.wnet", text=TEXT + more)
    assert made is not None
    return made, [finding.message for finding in findings]


def test_the_id_is_made_of_the_two_ends() -> None:
    made, _ = job("")
    assert list(made.conductors) == ["fridge.---NB.1", "fridge.---NB.1~2", "W1"]


@pytest.mark.parametrize(
    ("words", "id"),
    [
        ("fridge.- to NB.1", "fridge.---NB.1"),
        ("NB.1 to fridge.-", "fridge.---NB.1"),
        ("fridge.- to NB.1 2", "fridge.---NB.1~2"),
        ("W1", "W1"),
        ("FRIDGE.- TO nb.1", "fridge.---NB.1"),
    ],
)
def test_accept_and_note_take_the_terminals(words: str, id: str) -> None:
    made, mistakes = job(f'accept minimum-size on {words} because "short", by "JK"\nnote {words} "Red sleeve"\n')
    assert not mistakes
    assert [(accept.subject, accept.because, accept.by) for accept in made.accepts] == [(id, "short", "JK")]
    assert [(note.subject, note.text) for note in made.notes] == [(id, "Red sleeve")]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("fridge.- to NB.1 3", "there are 2 conductors without a name from fridge.- to NB.1"),
        ("NB.1 to start.-", "no conductor without a name runs from NB.1 to start.-"),
        ("fridge.- to NB.9", "no terminal is called NB.9"),
    ],
)
def test_what_is_not_there_is_told(words: str, told: str) -> None:
    assert job(f'note {words} "x"\n')[1] == [told]
    assert job(f'accept minimum-size on {words} because "x"\n')[1] == [told]
