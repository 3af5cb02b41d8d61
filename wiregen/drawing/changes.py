"""The changes between two revisions as marks of a drawing: numbered like findings, old values beside new ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from wiregen.layout import Options
from wiregen.layout.words import colour_letters, printed
from wiregen.model.compare import Change

BESIDE = ("colour", "size", "length", "rating", "draws", "volts", "capacity", "chemistry")  # stand beside new values


class Marked(NamedTuple):
    """A change as the layout takes it, in the shape of a finding."""

    rule: str
    severity: str
    subject: str | None
    message: str


def with_changes(options: Options, changes: Sequence[Change], compared: str) -> Options:
    """The options of a drawing that shows what has changed since `compared`, in the place of findings."""
    notes: dict[str, tuple[str, ...]] = {}
    for change in changes:
        before = [_old(d.name, d.before) for d in change.differences if d.name in BESIDE and d.before]
        if before and change.id == change.at:
            notes[change.id] = (f"was {' '.join(before)}",)
    marked = tuple(Marked(change.kind, change.kind, change.at, printed(change.message)) for change in changes)
    return replace(options, notes=notes, changes=marked, compared=compared)


def _old(name: str, words: str) -> str:
    return colour_letters(tuple(words.lower().split("/"))) if name == "colour" else printed(words)
