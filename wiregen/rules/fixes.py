"""Remedies as edits of the text, where a rule has one clear answer. Who applies one has to check again."""

from __future__ import annotations

from collections.abc import Sequence

from wiregen.findings import Edit, Mark
from wiregen.model.job import Conductor, Part


def put(items: Sequence[Conductor | Part], fact: str, text: str | None) -> tuple[Edit, ...]:
    """The value of a fact written anew in each of the items; none at all where one of them has no place of its own.

    What a kit, type or cable says stands for others too. A conductor that has its size from `each` gets its own, before
    its length.
    """
    edits = [_edit(item, fact, text) for item in items] if text else []
    return tuple(edit for edit in edits if edit) if all(edits) else ()


def _edit(item: Conductor | Part, fact: str, text: str) -> Edit | None:
    said, length = item.fact(fact), item.fact("length")
    if said is None or not said.values or said.through or item.through:
        return None
    if said.origin == "own":
        return Edit(said.values[0].span, text)
    if said.origin == "each" and fact == "size" and length is not None and length.origin == "own" and length.values:
        span = length.values[0].span
        return Edit(span, f"{text} {span.text}")
    return None


def change_places(one: Mark, other: Mark) -> tuple[Edit, ...]:
    """What stands at two places, each written where the other was."""
    first, second = one.span, other.span
    if first.source is not second.source or first == second or not first.text or not second.text:
        return ()
    return Edit(first, second.text), Edit(second, first.text)
