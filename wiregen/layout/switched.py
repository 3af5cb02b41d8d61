"""Contacts drawn open or closed: a last stage that changes strokes of symbols and moves nothing.

A shape comes with its contacts as they are built (`shapes.closed_contacts`); an operating case may have them otherwise.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from wiregen.layout.geometry import PlacedPart, Shape

if TYPE_CHECKING:
    from wiregen.circuit.study import CaseResult

Closed = Mapping[str, tuple[str, ...]]  # part -> names of its contacts that are closed


def closed_in(case: CaseResult | None) -> Closed:
    """The contacts that are closed in a case, of every part that has contacts; nothing where there is no case."""
    closed: dict[str, tuple[str, ...]] = {}
    for (part, name), state in case.closed.items() if case else ():
        closed[part] = (*closed.get(part, ()), *((name,) if state else ()))
    return closed


def switched(part: PlacedPart, closed: Closed) -> PlacedPart:
    """The part with its contacts closed or open as told; as they were where nothing is told of them."""
    return part._replace(shape=_switched(part.shape, closed)) if closed else part


def _switched(shape: Shape, closed: Closed) -> Shape:
    inside = tuple((x, y, _switched(inner, closed)) for x, y, inner in shape.inside)
    return shape._replace(inside=inside, closed=closed.get(shape.part, shape.closed))
