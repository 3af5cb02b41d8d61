"""Symbols: a lead to every terminal, nothing outside the shape's box, the mirror image where it is mirrored."""

from __future__ import annotations

import itertools
from collections.abc import Iterator

import pytest
from schemdraw.segments import Segment, SegmentArc, SegmentCircle, SegmentPoly

from wiregen.drawing.symbols import SYMBOLS, symbol_of
from wiregen.drawing.symbols.base import Symbol
from wiregen.layout.geometry import Port, Shape
from wiregen.layout.shapes import ALONG, UPRIGHT, mirror

Spot = tuple[float, float]
BEYOND = 0.35  # half a bold line may stand out of the box; an LED's light a little more [mm]


def shapes() -> Iterator[Shape]:
    """One shape for each symbol, in the sizes of the layout."""
    for symbol, width, height in [*ALONG.values(), ("motor", 5.0, 5.0), ("led", 6.0, 4.0)]:
        yield Shape("P", symbol, width, height, (
            Port("P.in", 0.0, height / 2, "left"), Port("P.out", width, height / 2, "right")))  # fmt: skip
    for symbol, width in [*UPRIGHT.values(), ("motor-upright", 5.0)]:
        for height in (8.0, 10.0):
            yield Shape("P", symbol, width, height, (
                Port("P.+", width / 2, 0.0, "top"), Port("P.-", width / 2, height, "bottom")))  # fmt: skip
    for symbol in ("voltage-relay", "low-voltage-disconnect"):
        yield Shape("P", symbol, 12.0, 8.0, (
            Port("P.in", 0.0, 4.0, "left"), Port("P.out", 12.0, 4.0, "right"), Port("P.-", 6.0, 8.0, "bottom"),
        ))  # fmt: skip
    for last in (14.0, 24.0):
        ports = [("30", 0.0, 4.0), ("87", 16.0, 4.0), ("85", 0.0, last), ("86", 16.0, last)]
        ports += [("87a", 16.0, 14.0)] if last > 14 else []
        yield Shape("P", "relay", 16.0, last + 4, tuple(
            Port(f"P.{n}", x, y, "left" if x == 0 else "right", n) for n, x, y in ports))  # fmt: skip
    for poles in ("+-", ("+", "-", "signal")):
        half = 5.0 if poles == "+-" else 13.0
        yield Shape("P", "connector", 2 * half, 6.0 + 10 * (len(poles) - 1), tuple(
            Port(f"P.{s}.{p}", x, 4.0 + 10 * i, "left" if s == "a" else "right", p if s == "a" else "")
            for i, p in enumerate(poles) for s, x in (("a", 0.0), ("b", 2 * half))))  # fmt: skip
    for symbol in ("plug", "socket"):
        yield Shape("P", symbol, 5.0, 16.0, (Port("P.+", 2.5, 4.0, "left", "+"), Port("P.-", 2.5, 14.0, "left", "-")))
    yield Shape("P", "fuse-block", 24.0, 31.0, (
        Port("P.in", 0.0, 7.0, "left"), *(Port(f"P.{i}", 24.0, 10.0 * i - 3, "right", str(i)) for i in (1, 2, 3)),
        Port("P.-", 12.0, 31.0, "bottom", "-")))  # fmt: skip
    for symbol, width in (("busbar", 2.5), ("splice", 2.0)):
        yield Shape("P", symbol, width, 24.0, (
            Port("P.1", 0.0, 2.0, "left"), Port("P.2", width, 2.0, "right"), Port("P.3", width, 22.0, "right"),
        ))  # fmt: skip
    yield Shape("P", "box", 34.0, 18.0, (
        Port("P.in.+", 0.0, 4.0, "left", "in.+"), Port("P.in.-", 0.0, 14.0, "left", "in.-"),
        Port("P.out.+", 34.0, 4.0, "right", "out.+"), Port("P.sense", 17.0, 18.0, "bottom", "sense"),
        Port("P.top", 17.0, 0.0, "top", "top")))  # fmt: skip
    yield Shape("P", "feed", 8.0, 4.0, (Port("P", 8.0, 2.0, "right"),))
    yield Shape("P", "earth", 6.0, 5.0, (Port("P", 3.0, 0.0, "top"),))
    yield Shape("P", "frame", 6.0, 5.0, (Port("P", 3.0, 0.0, "top"),))
    yield Shape("loose:W5", "loose", 3.0, 3.0, (Port("loose:W5", 0.0, 1.5, "left"),))
    yield Shape("capped:W5", "capped", 3.0, 3.0, (Port("capped:W5", 0.0, 1.5, "left"),))


ALL = [turned for shape in shapes() for turned in (shape, mirror(shape))]
NAMES = [f"{s.symbol}-{s.width:g}x{s.height:g}{'-mirrored' if s.mirrored else ''}" for s in ALL]


def drawn(shape: Shape, kind: str = "") -> Symbol:
    return symbol_of(shape.symbol, kind)(shape)


def strokes(symbol: Symbol) -> Iterator[list[Spot]]:
    """All strokes as closed or open lines in the shape's own frame."""
    for segment in symbol.segments:
        if isinstance(segment, Segment):
            yield [(x, -y) for x, y in segment.path]
        elif isinstance(segment, SegmentPoly):
            corners = [(x, -y) for x, y in segment.verts]
            yield [*corners, corners[0]]
        elif isinstance(segment, (SegmentCircle, SegmentArc)):
            x, y = segment.center
            r = segment.radius if isinstance(segment, SegmentCircle) else segment.width / 2
            yield [(x - r, -y), (x + r, -y)]
            yield [(x, -y - r), (x, -y + r)]


def on_stroke(spot: Spot, line: list[Spot]) -> bool:
    for (ax, ay), (bx, by) in itertools.pairwise(line):
        dx, dy = bx - ax, by - ay
        size = dx * dx + dy * dy
        along = max(0.0, min(1.0, ((spot[0] - ax) * dx + (spot[1] - ay) * dy) / size)) if size else 0.0
        if abs(ax + along * dx - spot[0]) < 0.01 and abs(ay + along * dy - spot[1]) < 0.01:
            return True
    return False


def test_every_symbol_is_tried() -> None:
    assert {shape.symbol for shape in ALL} == set(SYMBOLS)


@pytest.mark.parametrize("shape", ALL, ids=NAMES)
def test_a_lead_reaches_every_terminal(shape: Shape) -> None:
    lines = list(strokes(drawn(shape)))
    for port in shape.ports:
        assert any(on_stroke((port.x, port.y), line) for line in lines), port.terminal


@pytest.mark.parametrize("shape", ALL, ids=NAMES)
def test_a_symbol_stays_in_its_box(shape: Shape) -> None:
    symbol = drawn(shape)
    for line in strokes(symbol):
        for x, y in line:
            assert -BEYOND <= x <= shape.width + BEYOND
            assert -BEYOND <= y <= shape.height + BEYOND
    for words in symbol.words:
        assert words.at[1] - words.height >= 0 and words.at[1] <= shape.height, words


@pytest.mark.parametrize("shape", list(shapes()), ids=NAMES[::2])
def test_a_mirrored_shape_is_the_mirror_image(shape: Shape) -> None:
    def spots(symbol: Symbol, turn: bool) -> list[Spot]:
        return sorted(
            (round(shape.width - x if turn else x, 3) + 0.0, round(y, 3) + 0.0)
            for line in strokes(symbol)
            for x, y in line
        )

    mirrored = drawn(mirror(shape))
    plain = list(spots(drawn(shape), True))
    assert spots(mirrored, False) == plain


@pytest.mark.parametrize(
    ("kind", "signs"), [("charger", 0), ("inverter", 1), ("mains-charger", 1), ("something-of-mine", None)]
)
def test_a_converter_shows_what_it_converts(kind: str, signs: int | None) -> None:
    box = next(shape for shape in shapes() if shape.symbol == "box")
    symbol = drawn(box, kind)
    waves = sum(isinstance(s, SegmentArc) and not isinstance(s, SegmentCircle) for s in symbol.segments) // 2
    assert waves == (signs or 0)
    outlines = sum(isinstance(s, SegmentPoly) for s in symbol.segments)
    assert outlines == (1 if signs is None else 2)


def test_an_unknown_symbol_is_a_box_with_its_ports() -> None:
    shape = Shape("P", "never-heard-of", 20.0, 10.0, (Port("P.a", 0.0, 4.0, "left", "a"),))
    assert [words.text for words in drawn(shape).words] == ["a"]
