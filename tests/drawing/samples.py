"""Geometry by hand: a start battery that feeds a lamp through a fuse, a connector and a charger, on A4."""

from __future__ import annotations

from wiregen.layout import text
from wiregen.layout.geometry import (
    Box,
    FindingMark,
    Furniture,
    Geometry,
    Label,
    Outline,
    PlacedPart,
    Point,
    Port,
    Run,
    Shape,
    Sheet,
)


def along(
    part: str, symbol: str, width: float = 8.0, height: float = 3.0, names: tuple[str, str] = ("in", "out")
) -> Shape:
    """A part along the run."""
    ports = (
        Port(f"{part}.{names[0]}", 0.0, height / 2, "left"),
        Port(f"{part}.{names[1]}", width, height / 2, "right"),
    )
    return Shape(part, symbol, width, height, ports)


def upright(part: str, symbol: str, width: float = 8.0, height: float = 10.0) -> Shape:
    """A part between the rails."""
    ports = (Port(f"{part}.+", width / 2, 0.0, "top"), Port(f"{part}.-", width / 2, height, "bottom"))
    return Shape(part, symbol, width, height, ports)


def box(part: str, width: float, height: float, ports: dict[str, tuple[float, float, str]]) -> Shape:
    """A box with named ports."""
    made = tuple(Port(f"{part}.{n}", x, y, side, n) for n, (x, y, side) in ports.items())  # type: ignore[arg-type]
    return Shape(part, "box", width, height, made)


def placed(kind: str, shape: Shape, x: float, y: float) -> PlacedPart:
    """A shape with its upper left corner at x, y."""
    terminals = {p.terminal: (x + p.x, y + p.y) for p in shape.ports}
    return PlacedPart(shape.part, kind, shape, Box(x, y, shape.width, shape.height), terminals)


def label(for_: str, x: float, y: float, *lines: str, strong: bool = False) -> Label:
    """A label with its upper left corner at x, y and a box of its exact size."""
    return Label(
        for_, lines, Box(x, y, max(text.width(line) for line in lines), text.height(len(lines))), 2.5, strong=strong
    )


def wire(name: str, from_: str, to: str, *points: Point) -> Run:
    """A conductor's run."""
    return Run("conductor", name, from_, to, points)


def small() -> Geometry:
    """The sheet that most tests look at."""
    pole = {"a": 0.0, "b": 10.0}
    connector = Shape("X1", "connector", 10.0, 16.0, tuple(
        Port(f"X1.{side}.{p}", pole[side], 4.0 + 10 * i, "left" if side == "a" else "right", p if side == "a" else "")
        for i, p in enumerate("+-") for side in "ab"
    ))  # fmt: skip
    dcdc = box("dcdc", 36.0, 18.0, {
        "in.+": (0.0, 4.0, "left"), "in.-": (0.0, 14.0, "left"), "out.+": (36.0, 4.0, "right"),
        "out.-": (36.0, 14.0, "right"), "sense": (18.0, 18.0, "bottom"),
    })  # fmt: skip
    parts = (
        placed("battery", upright("start", "battery"), 46, 60),
        placed("fuse", along("F1", "fuse"), 80, 58.5),
        placed("connector", connector, 115, 56),
        placed("charger", dcdc, 160, 56),
        placed("lamp", upright("D1", "lamp-upright", 6.0), 240, 60),
        placed("earth", Shape("E1", "frame", 6.0, 5.0, (Port("E1", 3.0, 0.0, "top"),)), 47, 90),
        placed("loose", Shape("loose:S1", "loose", 3.0, 3.0, (Port("loose:S1", 0.0, 1.5, "left"),)), 205, 88.5),
    )
    runs = (
        wire("W1", "start.+", "F1.in", (50, 60), (80, 60)),
        wire("W2", "F1.out", "X1.a.+", (88, 60), (115, 60)),
        wire("W3", "X1.b.+", "dcdc.in.+", (125, 60), (160, 60)),
        wire("B1", "start.-", "X1.a.-", (50, 70), (115, 70)),
        wire("B2", "X1.b.-", "dcdc.in.-", (125, 70), (160, 70)),
        wire("B3", "start.-", "E1", (50, 70), (50, 90)),
        wire("P1", "dcdc.out.+", "D1.+", (196, 60), (243, 60)),
        wire("N1", "dcdc.out.-", "D1.-", (196, 70), (243, 70)),
        wire("S1", "dcdc.sense", "loose:S1", (178, 74), (178, 90), (205, 90)),
    )
    labels = (
        label("start", 57, 62.5, "start 12 V 75 Ah"),
        label("F1", 86, 62.5, "F1 40 A"),
        label("X1", 117, 51.5, "X1"),
        label("dcdc", 162, 48, "Charger", "dcdc 18 A"),
        label("D1", 248, 62, "Deck lamp", "D1 24 W"),
        label("E1", 55, 91, "E1"),
        label("W1", 58, 52, "W1 RD", "8 mm² 0.2 m"),
        label("W2", 92, 52, "W2 RD", "8 mm² 4 m"),
        label("W3", 128, 52, "W3 RDWH", "8 mm² 1 m"),
        label("B1", 84, 72, "B1 BK 8 mm² 4 m"),
        label("P1", 204, 52, "P1 YE 2.5 mm² 4 m"),
        label("N1", 204, 72, "N1 WH 2.5 mm² 4 m"),
        label("S1", 180, 85, "S1 GNYE 0.5 mm²"),
    )
    frame = Box(20, 10, 267, 190)
    sheet = Sheet(
        1, 1, 297, 210, Box(25, 15, 257, 140), parts, runs, (), labels,
        marks=(FindingMark(1, "unterminated-sense-lead", "S1", "danger", Box(210, 87.6, 4.8, 4.8)),
               FindingMark(12, "undersized-conductor", "W2", "warning", Box(104, 63, 4.8, 4.8)),
               FindingMark(3, "missing-indicator", "dcdc", "advice", Box(186, 50, 4.8, 4.8))),
        outlines=(Outline("bay", "Engine bay", Box(40, 40, 65, 62), label("bay", 42, 42, "Engine bay"),
                          ((40, 40), (105, 40), (105, 102), (40, 102)), ("start", "F1")),),
        frame=frame,
        furniture=(
            Furniture("title", Box(167, 172, 120, 28)),
            Furniture("legend", Box(23, 160, 60, 38)),
            Furniture("findings", Box(85, 160, 78, 30)),
            Furniture("cautions", Box(85, 190, 78, 8)),
        ),
        legend=(("BK", "black"), ("BN", "brown"), ("RD", "red"), ("YE", "yellow"), ("WH", "white"),
                ("GNYE", "green and yellow"), ("frame", "earth on the vehicle's body"), ("loose", "bare end")),
        finding_list=((1, "danger", "S1 ends in the air: the charger cannot see the battery's temperature"),
                      (2, "warning", "W2 loses 0.4 V"), (3, "advice", "no indicator lamp")),
    )  # fmt: skip
    return Geometry(
        "Beekeeper's flatbed", "A start battery feeds a lamp. Not a statement of safety.", (sheet,),
        (("title", "Beekeeper's flatbed, tool battery"), ("customer", "Job 7"), ("job", "2026-07"), ("revision", "B"),
         ("date", "2026-03-14"), ("drawn by", "JK"), ("sheet", "1 of 1")),
        sizes={"W1": 8.0, "W2": 8.0, "W3": 8.0, "B1": 8.0, "B2": 8.0, "B3": 25.0, "P1": 2.5, "N1": 2.5, "S1": 0.5},
        colours={"W1": ("red",), "W2": ("red",), "W3": ("red", "white"), "B1": ("black",), "B2": ("black",),
                 "B3": ("brown",), "P1": ("yellow",), "N1": ("white",), "S1": ("green", "yellow")},
        cautions=("Not a statement of safety. Follow the makers' instructions and local codes.",),
    )  # fmt: skip
