"""The SVG contract of the design, checked on SVG text alone and by brute force: shares no code with `rebuild`."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import combinations, pairwise
from xml.dom import minidom

ELEMENTS = {"svg", "g", "title", "desc", "path", "line", "polyline", "polygon", "rect", "circle", "ellipse", "text"}
FONTS = re.compile(
    r'(@font-face\{font-family:"Wiregen Sans";font-weight:(normal|bold);unicode-range:[U+0-9A-F,-]+;'
    r"src:url\(data:font/woff;base64,[A-Za-z0-9+/=]+\)\})+"
)  # all that a style may hold: fonts within the file itself
GEOMETRY = re.compile(r"M -?[\d.]+ -?[\d.]+( L -?[\d.]+ -?[\d.]+)+")
Rect = tuple[float, float, float, float]  # left, top, right, bottom
Spot = tuple[float, float]


@dataclass
class Wire:
    """A conductor or link as drawn."""

    name: str
    from_: str
    to: str
    points: list[Spot]


class Page:
    """One sheet, read with another parser than the product's."""

    def __init__(self, svg: str) -> None:
        self.root = minidom.parseString(svg.encode()).documentElement
        self.all = list(self.root.getElementsByTagName("*"))
        self.parts = {n.getAttribute("data-part"): self.box(n) for n in self.of("g", "part")}
        self.ends = [self.box(n) for n in self.of("g", "end")]
        self.labels = [(n.getAttribute("data-for"), self.box(n), n) for n in self.of("g", "label")]
        self.terminals: dict[str, Spot] = {}
        self.owner: dict[str, str] = {}
        for node in self.of("circle", "terminal"):
            name = node.getAttribute("data-terminal")
            self.terminals[name] = (float(node.getAttribute("cx")), float(node.getAttribute("cy")))
            self.owner[name] = node.parentNode.getAttribute("data-part")
        self.cuts = {
            (float(n.getAttribute("cx")), float(n.getAttribute("cy"))): n.getAttribute("data-conductor")
            for n in self.of("circle", "continuation")
        }
        self.junctions = [
            (float(n.getAttribute("cx")), float(n.getAttribute("cy"))) for n in self.of("circle", "junction")
        ]
        self.wires: list[Wire] = []

    def of(self, tag: str, role: str) -> list[minidom.Element]:
        return [n for n in self.all if n.tagName == tag and n.getAttribute("class") == role]

    @staticmethod
    def box(node: minidom.Element) -> Rect:
        x, y, w, h = (float(word) for word in node.getAttribute("data-box").split())
        return (x, y, x + w, y + h)


def breaches(svg: str) -> list[str]:
    """Every way in which a sheet breaks the contract, in words."""
    page = Page(svg)
    found = _plain(page)
    found += _wires(page)
    found += _labels(page)
    found += _nets(page)
    return found


def _plain(page: Page) -> list[str]:
    """Elements, references, units, titles."""
    found = []
    root = page.root
    for node in [root, *page.all]:
        if node.tagName == "style" and node.parentNode is root and FONTS.fullmatch(node.firstChild.data):
            continue
        if node.tagName not in ELEMENTS:
            found.append(f"element {node.tagName}")
        for name, value in node.attributes.items():
            if name.startswith("on") or "href" in name or "url(" in value or "script" in value.lower().split(":")[0]:
                found.append(f"attribute {name}={value}")
    view = [float(word) for word in root.getAttribute("viewBox").split()]
    if root.getAttribute("width") != f"{view[2]:g}mm" or root.getAttribute("height") != f"{view[3]:g}mm":
        found.append("one user unit is not one millimetre")
    for tag in ("title", "desc"):
        if not [n for n in root.childNodes if n.nodeType == 1 and n.tagName == tag and n.firstChild]:
            found.append(f"no {tag}")
    if not root.getAttribute("data-sheet") or not root.getAttribute("data-sheets"):
        found.append("no sheet number")
    for node in page.of("g", "part"):
        if not node.getElementsByTagName("title") or not node.getAttribute("data-kind"):
            found.append(f"part {node.getAttribute('data-part')} without title or kind")
    for name, (x, y) in page.terminals.items():
        box = page.parts.get(page.owner[name])
        if box and not (box[0] <= x <= box[2] and box[1] <= y <= box[3]):
            found.append(f"terminal {name} off its part")
    return found


def _wires(page: Page) -> list[str]:
    found = []
    for role in ("conductor", "link"):
        for node in page.of("g", role):
            a, b = node.getAttribute("data-from"), node.getAttribute("data-to")
            name = node.getAttribute("data-conductor") or f"{a}={b}"
            paths = node.getElementsByTagName("path")
            if len(paths) != 1 or paths[0].getAttribute("class") != "run":
                found.append(f"{name} has {len(paths)} paths")
                continue
            data = paths[0].getAttribute("d")
            if not GEOMETRY.fullmatch(data):
                found.append(f"{name}: {data}")
                continue
            above = paths[0]
            while above.nodeType == 1:
                if above.getAttribute("transform"):
                    found.append(f"{name} is transformed")
                above = above.parentNode
            numbers = [float(word) for word in re.findall(r"-?[\d.]+", data)]
            points = list(zip(numbers[::2], numbers[1::2], strict=True))
            page.wires.append(Wire(name, a, b, points))
            for terminal, point in ((a, points[0]), (b, points[-1])):
                if page.terminals.get(terminal) != point and page.cuts.get(point) != name:
                    found.append(f"{name} does not end at {terminal}")
            for p, q in pairwise(points):
                if (p[0] == q[0]) == (p[1] == q[1]):
                    found.append(f"{name} has a slanting or empty stretch at {p}")
                for part, box in page.parts.items():
                    own = part in (page.owner.get(a), page.owner.get(b)) or _holds(page, box, (a, b))
                    if not own and _overlap(_thick(_stretch(p, q)), box, 2e-3):
                        found.append(f"{name} runs through {part}")
    return found


def _holds(page: Page, box: Rect, terminals: tuple[str, str]) -> bool:
    """Whether a box holds both terminals (a link inside a fuse block)."""
    spots = [page.terminals.get(t) for t in terminals]
    return all(s and box[0] <= s[0] <= box[2] and box[1] <= s[1] <= box[3] for s in spots)


def _stretch(p: Spot, q: Spot) -> Rect:
    return (min(p[0], q[0]), min(p[1], q[1]), max(p[0], q[0]), max(p[1], q[1]))


def _overlap(a: Rect, b: Rect, eps: float = 1e-6) -> bool:
    """Whether two boxes share more than an edge; a stretch of a run is a box without width."""
    return a[0] < b[2] - eps and b[0] < a[2] - eps and a[1] < b[3] - eps and b[1] < a[3] - eps


def _thick(box: Rect) -> Rect:
    return (box[0] - 1e-3, box[1] - 1e-3, box[2] + 1e-3, box[3] + 1e-3)


def _labels(page: Page) -> list[str]:
    found = []
    for (a, box_a, _), (b, box_b, _) in combinations(page.labels, 2):
        if _overlap(box_a, box_b):
            found.append(f"the labels of {a} and {b} overlap")
    for name, box, node in page.labels:
        for part, other in page.parts.items():
            if _overlap(box, other):
                found.append(f"the label of {name} lies on {part}")
        for other in page.ends:
            if _overlap(box, other):
                found.append(f"the label of {name} lies on an end")
        for wire in page.wires:
            if wire.name != name and any(
                _overlap(box, _thick(_stretch(p, q))) for p, q in zip(wire.points, wire.points[1:], strict=False)
            ):
                found.append(f"the label of {name} lies on {wire.name}")
        if not "".join(t.firstChild.data for t in node.getElementsByTagName("text")):
            found.append(f"the label of {name} is empty")
    return found


def _nets(page: Page) -> list[str]:
    """Runs of different nets cross at right angles in the open or not at all."""
    net = {terminal: {terminal} for terminal in page.terminals}
    for wire in page.wires:
        joined = net.setdefault(wire.from_, {wire.from_}) | net.setdefault(wire.to, {wire.to})
        for terminal in joined:
            net[terminal] = joined
    found = []
    for one, two in combinations(page.wires, 2):
        if two.from_ in net[one.from_]:
            continue
        for p, q in zip(one.points, one.points[1:], strict=False):
            for r, s in zip(two.points, two.points[1:], strict=False):
                if _meet(_stretch(p, q), _stretch(r, s)) and not _cross(_stretch(p, q), _stretch(r, s)):
                    found.append(f"{one.name} touches {two.name}")
    for wire in page.wires:
        for terminal, (x, y) in page.terminals.items():
            if terminal in net[wire.from_]:
                continue
            if any(_meet(_stretch(p, q), (x, y, x, y)) for p, q in zip(wire.points, wire.points[1:], strict=False)):
                found.append(f"{wire.name} touches {terminal}")
    stretches = [_stretch(p, q) for wire in page.wires for p, q in pairwise(wire.points)]
    marked = {*page.junctions, *page.terminals.values()}
    for wire in page.wires:
        for x, y in wire.points:
            ways = [
                any(_meet(s, (x + dx, y + dy, x + dx, y + dy)) and _meet(s, (x, y, x, y)) for s in stretches)
                for dx, dy in ((1e-3, 0), (-1e-3, 0), (0, 1e-3), (0, -1e-3))
            ]
            if sum(ways) > 2 and (x, y) not in marked:
                found.append(f"{wire.name} forks at {x} {y} without a junction")
    for x, y in page.junctions:
        met = [
            w
            for w in page.wires
            if any(_meet(_stretch(p, q), (x, y, x, y)) for p, q in zip(w.points, w.points[1:], strict=False))
        ]
        if len(met) < 2 or any(w.from_ not in net[met[0].from_] for w in met):
            found.append(f"the junction at {x} {y} joins {[w.name for w in met]}")
    return found


def _meet(a: Rect, b: Rect) -> bool:
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]


def _cross(a: Rect, b: Rect) -> bool:
    """Whether one stretch is level, the other upright, and they meet inside both."""
    level, upright = (a, b) if a[1] == a[3] else (b, a)
    return (
        level[1] == level[3]
        and upright[0] == upright[2]
        and level[0] < upright[0] < level[2]
        and upright[1] < level[1] < upright[3]
    )
