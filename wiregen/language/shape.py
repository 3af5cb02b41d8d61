"""What a tree says, without where it stands: for comparing two readings."""

from __future__ import annotations

from typing import Any

from wiregen.language.tree import Block, Core, File, Line, Path, Phrase, Station, Value


def shape(node: Any) -> Any:
    """The tree, or any part of it, as nested tuples without positions. Equal shapes say the same."""
    kind = type(node)
    if kind is Value:
        return node.kind, node.text, node.measure
    if kind is Phrase:
        return "phrase", shape(node.label), _all(node.values), shape(node.block)
    if kind is Line:
        return "line", shape(node.label), shape(node.path), _all(node.phrases)
    if kind is Path:
        return "path", _all(node.stations), _all(node.links)
    if kind is Station:
        return _all(node.values)
    if kind is Core:
        return "core", _all(node.phrases)
    if kind is Block or kind is File:
        return kind.__name__, _all(node.lines)
    return kind.__name__  # a join, or nothing


def _all(nodes: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple([shape(node) for node in nodes])
