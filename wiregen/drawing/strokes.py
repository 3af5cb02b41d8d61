"""A shape's symbol as SVG text: schemdraw draws the strokes, we write them down in the fewest words.

Everything is in the shape's own frame, so that equal parts have equal text wherever they stand.
"""

from __future__ import annotations

import re
from xml.etree import ElementTree

from wiregen.drawing.alone import BBox, Figure, Transform
from wiregen.drawing.svg import num, text
from wiregen.drawing.symbols import symbol_of
from wiregen.drawing.symbols.base import LINE, port_name
from wiregen.layout.geometry import Shape

_UNIT = 1 / 72  # inches to a drawing unit, so that schemdraw's points are our millimetres
_ROOM = BBox(0.0, 0.0, 0.0, 0.0)  # the figure's own size is not asked for
_STILL = Transform(0, (0, 0))
_RAW = re.compile(r"-?\d+\.\d+(?:e-?\d+)?")
# what the group around the strokes says for all of them
GROUP = {"stroke": "#000", "stroke_width": num(LINE), "fill": "none", "stroke_linejoin": "round"}
_SHORT = {"black": "#000", "white": "#fff"}

Key = tuple[object, ...]


class Strokes:
    """The symbols of one drawing; a shape that comes again is not drawn again."""

    def __init__(self) -> None:
        self._done: dict[Key, str] = {}

    def of(self, shape: Shape, kind: str) -> str:
        """SVG elements of a shape's symbol, for a group with the attributes `GROUP`."""
        ports = tuple((port_name(shape, p), p.x, p.y, p.side, p.name) for p in shape.ports)
        size = shape.width, shape.height, shape.mirrored
        key: Key = (symbol_of(shape.symbol, kind), *size, ports, shape.texts, shape.closed)
        if key not in self._done:
            self._done[key] = _draw(shape, kind)
        return self._done[key]


def _draw(shape: Shape, kind: str) -> str:
    symbol = symbol_of(shape.symbol, kind)(shape)
    figure = Figure(_ROOM, inches_per_unit=_UNIT, margin=0)
    for segment in symbol.segments:
        segment.draw(figure, _STILL)
    lines = [_plain(stroke) for _, stroke in figure.svgelements]
    letters = [text(w.at, w.text, w.height, w.anchor, w.strong) for w in symbol.words]
    letters += [text((t.x, t.y), t.text, 2.5, t.anchor) for t in shape.texts]
    if any(letters):
        lines.append(f'<g fill="#000" stroke="none">{"".join(letters)}</g>')
    return "".join(lines)


def _plain(stroke: ElementTree.Element) -> str:
    """One stroke with its style as the attributes in which it differs from the group's."""
    pairs = {name: _RAW.sub(lambda raw: num(float(raw.group())), value) for name, value in stroke.items()}
    style = dict(rule.split(":", 1) for rule in pairs.pop("style", "").split(";") if rule)
    if style.get("stroke-width", "") != num(LINE):
        pairs["stroke-width"] = num(float(style.get("stroke-width", LINE)))
    if style.get("fill", "none") != "none":
        pairs["fill"] = _SHORT.get(style["fill"], style["fill"])
    if style.get("stroke-dasharray", "-") != "-":
        pairs["stroke-dasharray"] = style["stroke-dasharray"]
    words = "".join(f' {name}="{value.strip()}"' for name, value in pairs.items())
    return f"<{stroke.tag}{words}/>"
