"""Remedies as edits of the text, where a rule has one clear answer. Who applies one has to check again."""

from __future__ import annotations

from collections.abc import Sequence

from wiregen.findings import Edit, Mark
from wiregen.model.job import Conductor, Part


def put(items: Sequence[Conductor | Part], fact: str, text: str | None) -> tuple[Edit, ...]:
    """The value of a fact written anew in each of the items.

    None at all where one of them does not say it itself (a kit, type, cable or `each` does: others share that place).
    """
    edits: list[Edit] = []
    for item in items:
        said = item.fact(fact)
        if not text or said is None or not said.values or said.origin != "own" or said.through or item.through:
            return ()
        edits.append(Edit(said.values[0].span, text))
    return tuple(edits)


def change_places(one: Mark, other: Mark) -> tuple[Edit, ...]:
    """What stands at two places, each written where the other was."""
    first, second = one.span, other.span
    if first.source is not second.source or first == second or not first.text or not second.text:
        return ()
    return Edit(first, second.text), Edit(second, first.text)
