"""The room that each part's symbol takes and where its terminals sit; what the drawing room draws into it.

Proportions follow IEC 60617 (which fixes shape, not size), on the 2.5 mm module of IEC 61082-1 (from memory).
`symbol` names, with the ports in the shape's own coordinates (w, h: width and height; `row` is `Style.row`):

| symbol | what it is | ports |
|---|---|---|
| battery alternator panel starter | between the rails, leads to both ends | + (w/2, 0), - (w/2, h) |
| load lamp sensor motor | along the run: + (0, h/2), - (w, h/2); `-upright` between the rails: as battery | |
| fuse breaker switch isolator shunt diode | along the run | in (0, h/2), out (w, h/2) |
| voltage-relay low-voltage-disconnect | box along the run | in, out at the first row, - below |
| relay | 30 and 87 in the first row, 87a in the next, 85 and 86 in the last | left 30 85, right 87 87a 86 |
| connector | a contact pair in each row, a left, b right, pole's name above | one row a pole |
| plug socket | half a pair: the terminal is in the middle of the row | one row a pole |
| fuse-block | outline, bus bar inside at the left, way fuses `inside` | in left, ways right, - below |
| busbar splice | upright bar; studs on either side | (0, y) or (w, y) |
| box | outline, ports named inside (chargers, inverter, own types) | any side |
| feed | flag of an existing circuit | right |
| earth frame | earth symbol, and chassis symbol of a bonded body | (w/2, 0) |
| loose capped | an end in the air: open ring, and ring with cap | left |

`mirrored` shapes have left and right exchanged (ports already are). Text inside a symbol is in `Port.name` (drawn just
inside the port's side) and `Shape.texts`; labels never lie on a symbol.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil
from typing import NamedTuple

from wiregen.layout import text
from wiregen.layout.geometry import Port, Shape, ShapeText, Side
from wiregen.layout.shown import OF_NETLIST
from wiregen.model.job import Job, Part


class Style(NamedTuple):
    """How roomy a drawing is. `row` is the pitch of two conductors side by side. [mm]"""

    row: float = 10.0
    way: float = 10.0  # pitch of a fuse block's ways and of a bar that loads return to
    conductor_lines: int = 2
    part_lines: int = 1  # of a load in a row; other names take as many as they need
    name: float = 30.0  # width at which names are broken
    noted: int = 0  # lines below a conductor's own, at most: its current and drop in a case ...
    show: tuple[str, ...] = OF_NETLIST  # of a conductor's own
    letter: float = text.CAP_HEIGHT  # height of the capitals of labels


# symbol, width, height of a part along the run
ALONG: Mapping[str, tuple[str, float, float]] = {
    "fuse": ("fuse", 8.0, 3.0),
    "breaker": ("breaker", 8.0, 4.0),
    "switch": ("switch", 8.0, 4.0),
    "isolator": ("isolator", 8.0, 4.0),
    "shunt": ("shunt", 8.0, 3.0),
    "diode": ("diode", 6.0, 4.0),
    "load": ("load", 8.0, 4.0),
    "lamp": ("lamp", 5.0, 5.0),
    "sensor": ("sensor", 5.0, 5.0),
}
UPRIGHT: Mapping[str, tuple[str, float]] = {  # symbol, width of a part between the rails
    "battery": ("battery", 8.0),
    "alternator": ("alternator", 8.0),
    "starter": ("starter", 8.0),
    "panel": ("panel", 8.0),
    "load": ("load-upright", 4.0),
    "lamp": ("lamp-upright", 5.0),
    "sensor": ("sensor-upright", 5.0),
}
CAN_STAND = ("load", "lamp", "sensor")
ON_LEADS = frozenset(  # symbols whose upper and lower terminals are at the end of a lead: runs may leave them sideways
    ("battery", "alternator", "starter", "panel", "load-upright", "lamp-upright", "sensor-upright", "motor-upright",
     "earth", "frame")
)  # fmt: skip
BAR = 2.5  # width of a busbar
HALF = 5.0  # width of one half of a connector, where its poles have short names
POLE = 4.0  # from a connector's top to its first pole, whose name stands above
EMPTY = 5.0  # from one pole to the next that nothing is joined to
BLOCK_BUS = 3.0  # from a block's left edge to its bus bar
WAY = 6.5  # between two ways of a block of which one is not used
PAD = 4.0  # from a box's corner to its first port
UNUSED = 4.0  # between two ports of a box that nothing is joined to
BELOW = 7.5  # between two ports on the lower side of a box


def up(length: float) -> float:
    """The next half millimetre: lengths on a grid of halves add up exactly."""
    return ceil(length * 2 - 1e-9) / 2


def swap(side: Side) -> Side:
    """The side seen in a mirror."""
    if side == "left":
        return "right"
    return "left" if side == "right" else side


def mirror(shape: Shape) -> Shape:
    """The same shape with left and right exchanged."""
    ports = tuple(Port(p.terminal, shape.width - p.x, p.y, swap(p.side), p.name) for p in shape.ports)
    inside = tuple((shape.width - x - s.width, y, mirror(s)) for x, y, s in shape.inside)
    flip = {"start": "end", "end": "start", "middle": "middle"}
    texts = tuple(ShapeText(shape.width - t.x, t.y, t.text, flip[t.anchor]) for t in shape.texts)  # type: ignore[arg-type]
    return shape._replace(ports=ports, mirrored=not shape.mirrored, inside=inside, texts=texts)


def short_name(part: Part, terminal: str) -> str:
    """A terminal's name within its part: `in.+` of `dcdc.in.+`, `` for a part that is its own terminal."""
    return terminal[len(part.id) + 1 :] if terminal.startswith(part.id + ".") else ""


def own_symbol(part: Part) -> str:
    """The symbol that a type of the user's own asks for, `` where it does not."""
    return part.word("symbol")


def can_stand(part: Part) -> bool:
    """Whether the part may be drawn between the rails as well as along the run."""
    return part.kind in CAN_STAND and len(part.terminals) == 2 and own_symbol(part) not in ("box", "relay")


def shape_of(
    part: Part,
    job: Job,
    style: Style | None = None,
    *,
    mirrored: bool = False,
    upright: bool = False,
    left: Sequence[str] | None = None,
    right: Sequence[str] | None = None,
    pitch: float | None = None,
) -> Shape:
    """The shape of a part.

    `mirrored` exchanges left and right. `upright` stands a load between the rails (`can_stand`). `left` and `right` are
    the studs of a busbar or splice on either side, from the top (without them all stand to the right), `pitch` apart.
    """
    style = style or Style()
    shape = _shape(part, job, style, upright, left, right, pitch)._replace(closed=closed_contacts(part))
    return mirror(shape) if mirrored else shape


def closed_contacts(part: Part) -> tuple[str, ...]:
    """The names of the contacts that are closed as built, of what opens and closes."""
    return tuple(c.name for c in part.contacts if c.closed and c.kind in ("switch", "breaker", "relay"))


def end_shape(terminal: str, *, capped: bool) -> Shape:
    """The shape of an end in the air (`loose:W5`, `capped:W5`)."""
    return Shape(terminal, "capped" if capped else "loose", 3.0, 3.0, (Port(terminal, 0.0, 1.5, "left"),))


def _shape(
    part: Part,
    job: Job,
    style: Style,
    upright: bool,
    left: Sequence[str] | None,
    right: Sequence[str] | None,
    pitch: float | None,
) -> Shape:
    kind, symbol, terminals = part.kind, own_symbol(part), part.terminals
    if symbol == "box":
        return _box(part, job, style)
    if kind in ("busbar", "splice"):
        return _bar(part, pitch or style.row, left or (), terminals if right is None else right)
    if kind == "fuse-block":
        return _block(part, job, style)
    if kind == "connector":
        return _connector(part, job, style)
    if kind in ("plug", "socket"):
        return _half(part, style)
    if kind == "relay" and {short_name(part, t) for t in terminals} <= {"30", "87", "87a", "85", "86"}:
        return _relay(part, style)
    if kind == "earth" or (kind == "body" and len(terminals) == 1):
        bonded = kind == "body" or _earth_is_frame(part, job)
        port = Port(terminals[0], 3.0, 0.0, "top")
        return Shape(part.id, "frame" if bonded else "earth", 6.0, 5.0, (port,))
    if kind == "feed" and len(terminals) == 1:
        return Shape(part.id, "feed", 8.0, 4.0, (Port(terminals[0], 8.0, 2.0, "right"),))
    names = [short_name(part, t) for t in terminals]
    if len(terminals) == 2:
        if kind in UPRIGHT and set(names) == {"+", "-"} and (upright or kind not in ALONG):
            drawn, width = UPRIGHT[kind]
            drawn = "motor-upright" if symbol == "motor" else drawn
            plus, minus = terminals if names[0] == "+" else (terminals[1], terminals[0])
            ports = (Port(plus, width / 2, 0.0, "top"), Port(minus, width / 2, style.row, "bottom"))
            return Shape(part.id, drawn, width, style.row, ports)
        if kind in ALONG:
            drawn, width, height = ALONG[kind]
            if symbol == "motor":
                drawn, width, height = "motor", 5.0, 5.0
            ports = (
                Port(terminals[0], 0.0, height / 2, "left"),
                Port(terminals[1], width, height / 2, "right"),
            )
            return Shape(part.id, drawn, width, height, ports)
    if not terminals:
        return Shape(part.id, UPRIGHT[kind][0] if kind in UPRIGHT else "box", 8.0, 8.0, ())
    if kind in ("voltage-relay", "low-voltage-disconnect") and set(names) <= {"in", "out", "-"}:
        return _monitor(part)
    return _box(part, job, style)


def _earth_is_frame(part: Part, job: Job) -> bool:
    """Whether an earth point is on a body that carries current (chassis symbol) or not (earth symbol)."""
    for body in job.bodies.values():
        if any(t in body.earths for t in part.terminals):
            return body.word("state") != "isolated" and not body.has("isolated")
    return True


def _default_side(part: Part, name: str) -> Side:
    head = name.split(".")[0]
    if part.kind == "inverter" or head in ("in", "solar"):
        return "left"
    if head == "out":
        return "right"
    if name in ("+", "-") and part.kind in ("load", "lamp", "sensor", "starter"):
        return "left"
    if name in ("+",):
        return "right"
    return "bottom"


def _sides(part: Part) -> dict[str, list[str]]:
    """Terminals by side: what the type says (`left in.+ in.-`), else by what they are."""
    sides: dict[str, list[str]] = {"left": [], "right": [], "top": [], "bottom": []}
    by_name = {short_name(part, t).lower(): t for t in part.terminals}
    placed: set[str] = set()
    for word, side in (("left", "left"), ("right", "right"), ("above", "top"), ("below", "bottom")):
        for name in part.words(word):
            terminal = by_name.get(name.lower())
            if terminal and terminal not in placed:
                placed.add(terminal)
                sides[side].append(terminal)
    for terminal in part.terminals:
        if terminal not in placed:
            sides[_default_side(part, short_name(part, terminal))].append(terminal)
    return sides


def _box(part: Part, job: Job, style: Style) -> Shape:
    """An outline with its ports' names inside; used ones are pitched by the row, unused ones stand close below them."""
    sides = _sides(part)
    names = {t: short_name(part, t) for t in part.terminals}
    used = {t for t in part.terminals if t not in job.terminals or job.terminals[t].used}
    wide = [max((text.width(names[t]) for t in sides[s]), default=0.0) for s in ("left", "right")]
    pitch = {s: up(max([BELOW] + [text.width(names[t]) + 1.5 for t in sides[s]])) for s in ("top", "bottom")}
    along = max(len(sides["top"]) * pitch["top"], len(sides["bottom"]) * pitch["bottom"])
    width = up(max(14.0, sum(wide) + 5.0, along + 1.0))
    top = PAD + (text.CAP_HEIGHT + 0.5 if sides["top"] else 0.0)
    bottom = PAD + (text.CAP_HEIGHT + 0.5 if sides["bottom"] else 0.0)
    ports: list[Port] = []
    last = top
    for side, x in (("left", 0.0), ("right", width)):
        y = top
        for k, t in enumerate(sorted(sides[side], key=lambda t: t not in used)):
            if k:
                y += style.row if t in used else UNUSED
            ports.append(Port(t, x, y, side, names[t]))  # type: ignore[arg-type]
        last = max(last, y)
    height = max(10.0, last + bottom)
    for side, y in (("top", 0.0), ("bottom", height)):
        count = len(sides[side])
        for i, t in enumerate(sides[side]):
            x = width / 2 + (i - (count - 1) / 2) * pitch[side]
            ports.append(Port(t, x, y, side, names[t]))  # type: ignore[arg-type]
    order = {t: i for i, t in enumerate(part.terminals)}
    ports.sort(key=lambda p: order[p.terminal])
    return Shape(part.id, "box", width, height, tuple(ports))


def _monitor(part: Part) -> Shape:
    """A relay that watches a voltage: in and out along the run, its negative below."""
    places = {"in": Port("", 0.0, 4.0, "left"), "out": Port("", 12.0, 4.0, "right"), "-": Port("", 6.0, 8.0, "bottom")}
    ports = []
    for t in part.terminals:
        p = places[short_name(part, t)]
        ports.append(Port(t, p.x, p.y, p.side))
    return Shape(part.id, part.kind, 12.0, 8.0, tuple(ports))


def _relay(part: Part, style: Style) -> Shape:
    names = {short_name(part, t) for t in part.terminals}
    rows = {"30": 0, "87": 0, "87a": 1, "85": 2 if "87a" in names else 1}
    rows["86"] = rows["85"]
    ports = []
    for t in part.terminals:
        name = short_name(part, t)
        left = name in ("30", "85")
        ports.append(Port(t, 0.0 if left else 16.0, PAD + rows[name] * style.row, "left" if left else "right", name))
    return Shape(part.id, "relay", 16.0, 2 * PAD + rows["85"] * style.row, tuple(ports))


def _connector(part: Part, job: Job, style: Style) -> Shape:
    """Poles in rows, those that nothing is joined to close below the one before; side a at the left, b at the right."""
    half = _half_width([short_name(part, t).partition(".")[2] for t in part.terminals])
    poles: dict[str, bool] = {}  # and whether something is joined to it
    for t in part.terminals:
        pole = short_name(part, t).partition(".")[2]
        poles[pole] = poles.get(pole, False) or t not in job.terminals or job.terminals[t].used
    heights: dict[str, float] = {}
    y = POLE
    for pole, used in poles.items():
        y += (style.row if used else EMPTY) if heights else 0.0
        heights[pole] = y
    ports: list[Port] = []
    for t in part.terminals:
        side, _, pole = short_name(part, t).partition(".")
        a = side != "b"
        ports.append(Port(t, 0.0 if a else 2 * half, heights[pole], "left" if a else "right", pole if a else ""))
    return Shape(part.id, "connector", 2 * half, y + 2.0, tuple(ports))


def _half(part: Part, style: Style) -> Shape:
    """Half a pair: each terminal in the middle of its row, reached from either side."""
    half = _half_width([short_name(part, t) for t in part.terminals])
    ports = tuple(
        Port(t, half / 2, POLE + i * style.row, "left", short_name(part, t)) for i, t in enumerate(part.terminals)
    )
    return Shape(part.id, part.kind, half, POLE + 2.0 + max(len(ports) - 1, 0) * style.row, ports)


def _half_width(poles: Sequence[str]) -> float:
    """Width of one half of a connector: the name of each pole stands above its conductor."""
    return up(max([HALF] + [text.width(name) + 3.0 for name in poles if name not in ("+", "-")]))


def _bar(part: Part, pitch: float, left: Sequence[str], right: Sequence[str]) -> Shape:
    width = BAR if part.kind == "busbar" else 2.0
    rows = max(len(left), len(right), 1)
    end = 2.0 if part.kind == "busbar" else 1.0
    ports = [Port(t, 0.0, end + i * pitch, "left") for i, t in enumerate(left)]
    ports += [Port(t, width, end + i * pitch, "right") for i, t in enumerate(right)]
    return Shape(part.id, part.kind, width, 2 * end + (rows - 1) * pitch, tuple(ports))


def _block(part: Part, job: Job, style: Style) -> Shape:
    """A fuse block: bus bar, one row a way with its fuse inside, return bar below."""
    names = {t: short_name(part, t) for t in part.terminals}
    ways = [t for t in part.terminals if names[t] not in ("in", "-")]
    fuses = {p.way: p for p in job.parts.values() if p.block == part.id}
    captions: dict[str, str] = {}
    for t in ways:
        fuse = fuses.get(names[t])
        captions[t] = _way_caption(part, fuse) if fuse else "empty"
    fuse_width = ALONG["fuse"][1]
    inner = max([fuse_width + 4.0] + [text.width(c) for c in captions.values()])
    numbers = max([text.width(names[t]) for t in ways], default=0.0)
    inner, numbers = up(inner), up(numbers)
    width = BLOCK_BUS + 1.0 + inner + 1.5 + numbers + 1.5
    touched = {t for c in job.conductors.values() for t in (c.from_, c.to)}
    touched |= {t for link in job.links if link.why != "way" for t in (link.a, link.b)}

    def used(way: str) -> bool:
        fuse = fuses.get(names[way])
        return way in touched or (fuse is not None and not touched.isdisjoint(fuse.terminals))

    heights: dict[str, float] = {}
    y = 7.0  # a caption stands above its fuse
    for k, t in enumerate(ways):
        if k:
            y += style.way if used(ways[k - 1]) and used(t) else WAY
        heights[t] = y
    top, height = 7.0, y + PAD
    ports: list[Port] = []
    inside: list[tuple[float, float, Shape]] = []
    texts: list[ShapeText] = []
    for t in part.terminals:
        if names[t] == "in":
            ports.append(Port(t, 0.0, top, "left", ""))
        elif names[t] == "-":
            ports.append(Port(t, width / 2, height, "bottom", "-"))
        else:
            y = heights[t]
            ports.append(Port(t, width, y, "right", names[t]))
            middle = BLOCK_BUS + 1.0 + inner / 2
            texts.append(ShapeText(middle, y - 2.2, captions[t], "middle"))
            fuse = fuses.get(names[t])
            if fuse:
                drawn, wide, high = ALONG.get(fuse.kind, ALONG["fuse"])
                ends = fuse.terminals
                inside_ports = tuple(
                    Port(end, 0.0 if i == 0 else wide, high / 2, "left" if i == 0 else "right")
                    for i, end in enumerate(ends[:2])
                )
                shape = Shape(fuse.id, drawn, wide, high, inside_ports, closed=closed_contacts(fuse))
                inside.append((middle - wide / 2, y - high / 2, shape))
    return Shape(part.id, "fuse-block", width, height, tuple(ports), False, tuple(inside), tuple(texts))


def _way_caption(block: Part, fuse: Part) -> str:
    """Rating of a way fuse, with its name where it has one of its own."""
    fact = fuse.fact("rating")
    rating = fact.word if fact else ""
    own = "" if fuse.id.startswith(block.id + ".") else fuse.id
    return f"{own} {rating}".strip()
