"""The same graph for a general-purpose layered layout; crossings, bends and area of any drawing by code of its own.

`asked` turns a layered graph of ours into the yardstick's: the same symbols, sides and places of ports, the same boxes
of lettering, wires in reading order. `measured` looks at runs as lines on paper only.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

from wiregen.layout.assemble import Picture
from wiregen.layout.graph import BARS
from wiregen.layout.items import WEST, Layered
from wiregen.layout.shapes import ON_LEADS

Points = Sequence[tuple[float, float]]
Rectangle = tuple[float, float, float, float]  # x, y, width, height

# The distances that our drawings keep, in the yardstick's words; otherwise its defaults.
OPTIONS = {
    "elk.algorithm": "layered",
    "elk.direction": "RIGHT",
    "elk.edgeRouting": "ORTHOGONAL",
    "elk.padding": "[top=0,left=0,bottom=0,right=0]",
    "elk.spacing.nodeNode": "2.5",
    "elk.spacing.edgeNode": "2",
    "elk.spacing.edgeEdge": "2.5",
    "elk.spacing.edgeLabel": "0.75",
    "elk.spacing.labelNode": "0.75",
    "elk.spacing.labelLabel": "1",
    "elk.spacing.componentComponent": "3",
    "elk.layered.spacing.nodeNodeBetweenLayers": "2",
    "elk.layered.spacing.edgeNodeBetweenLayers": "2",
    "elk.layered.spacing.edgeEdgeBetweenLayers": "2.5",
}


def asked(layered: Layered, *, labels: bool = True) -> dict[str, Any]:
    """The yardstick's graph, with the lettering of conductors or without."""
    graph = layered.graph
    children: list[dict[str, Any]] = []
    port_of: dict[int, str] = {}  # pin -> port
    for node in graph.nodes:
        shape, item = layered.shapes[node.index], layered.items[layered.item_of[node.index]]
        free = node.kind in BARS
        place = {p.terminal: p for p in shape.ports}
        terminal_of = {e.pin: t for (t, _), e in layered.exits.items() if t in place}
        ports: dict[str, dict[str, Any]] = {}
        for face in item.pins:
            for p in face:
                pin, terminal = layered.pins[p], terminal_of[p]
                at = place[terminal]
                if at.side in ("left", "right") or shape.symbol in ON_LEADS:
                    side, x, y = ("WEST", 0.0, pin.y) if pin.face == WEST else ("EAST", shape.width, pin.y)
                else:
                    side, x, y = "NORTH" if at.side == "top" else "SOUTH", at.x, at.y
                name = f"n{node.index} {terminal} {side}"
                port_of[p] = name
                ports[name] = {"id": name, "width": 0, "height": 0, "layoutOptions": {"elk.port.side": side}}
                if not free:
                    ports[name] |= {"x": x, "y": y}
        label = layered.labels.get(node.index)
        named: list[dict[str, Any]] = []
        if label:
            spot = "V_BOTTOM H_CENTER" if label.y >= shape.height else "V_TOP H_CENTER"
            spot = "H_RIGHT V_CENTER" if label.x >= shape.width else spot
            named = [{"text": "x", "width": label.width, "height": label.height,
                       "layoutOptions": {"elk.nodeLabels.placement": f"OUTSIDE {spot}"}}]  # fmt: skip
        children.append({
            "id": f"n{node.index}", "width": shape.width, "height": shape.height, "labels": named,
            "ports": list(ports.values()),
            "layoutOptions": {"elk.portConstraints": "FIXED_SIDE" if free else "FIXED_POS"},
        })  # fmt: skip
    edges = []
    for wire in graph.wires:
        if wire.inner:
            continue
        first, last = layered.steps[wire.index][0], layered.steps[wire.index][-1]
        columns = [layered.items[layered.pins[p].item].column for p in (first, last)]
        ends = [port_of[first], port_of[last]]
        edge: dict[str, Any] = {"id": f"w{wire.index}"}
        edge["sources"], edge["targets"] = ([e] for e in (ends if columns[0] <= columns[1] else ends[::-1]))
        lettering = layered.spots.get(wire.index)
        if lettering and labels:
            edge["labels"] = [{"text": "x", "width": lettering.width, "height": lettering.height}]
        edges.append(edge)
    return {"id": "root", "layoutOptions": OPTIONS, "children": children, "edges": edges}


class Drawn(NamedTuple):
    """A drawing as lines and boxes. `runs`: net and points of each wire."""

    runs: list[tuple[int, Points]]
    boxes: list[Rectangle]


def theirs(layered: Layered, answer: dict[str, Any]) -> Drawn:
    """The yardstick's drawing."""
    runs: list[tuple[int, Points]] = []
    boxes: list[Rectangle] = []
    for child in answer["children"]:
        boxes.append((child["x"], child["y"], child["width"], child["height"]))
        for label in child["labels"]:
            boxes.append((child["x"] + label["x"], child["y"] + label["y"], label["width"], label["height"]))
    for edge in answer["edges"]:
        net = layered.graph.wires[int(edge["id"][1:])].net
        for section in edge["sections"]:
            points = [section["startPoint"], *section.get("bendPoints", []), section["endPoint"]]
            runs.append((net, [(p["x"], p["y"]) for p in points]))
        for label in edge.get("labels", []):
            boxes.append((label["x"], label["y"], label["width"], label["height"]))
    return Drawn(runs, boxes)


def ours(layered: Layered, picture: Picture) -> Drawn:
    """Our drawing, without what lies inside a fuse block."""
    wires = layered.graph.wires
    runs: list[tuple[int, Points]] = [
        (w.net, r.points) for w, r in zip(wires, picture.runs, strict=True) if not w.inner
    ]
    boxes = [(b.x, b.y, b.width, b.height) for b in (*(p.box for p in picture.parts), *(x.box for x in picture.labels))]
    return Drawn(runs, boxes)


class Measures(NamedTuple):
    """What a reader has to cope with."""

    crossings: int
    bends: int
    area: float  # mm2


def measured(drawn: Drawn) -> Measures:
    """Crossings, bends and area.

    A crossing is a place where a level and an upright line pass through one another; where both are of one net and a
    line ends or turns there it is a joint. Lines on top of one another count as one. A bend is a place where a wire
    turns, counted for each wire.
    """
    level, upright = set(), set()
    joints: set[tuple[int, float, float]] = set()
    bends = 0
    for net, points in drawn.runs:
        tidy = _tidy(points)
        bends += max(0, len(tidy) - 2)
        joints |= {(net, x, y) for x, y in tidy}
        for (ax, ay), (bx, by) in pairwise(tidy):
            if ay == by:
                level.add((ay, min(ax, bx), max(ax, bx), net))
            else:
                assert ax == bx, "a run is not at right angles"
                upright.add((ax, min(ay, by), max(ay, by), net))
    found = set()
    for y, left, right, net in level:
        for x, top, bottom, other in upright:
            if left < x < right and top < y < bottom and (net != other or (net, x, y) not in joints):
                found.add((x, y))
    xs = [x for box in drawn.boxes for x in (box[0], box[0] + box[2])] + [x for _, r in drawn.runs for x, _ in r]
    ys = [y for box in drawn.boxes for y in (box[1], box[1] + box[3])] + [y for _, r in drawn.runs for _, y in r]
    return Measures(len(found), bends, (max(xs) - min(xs)) * (max(ys) - min(ys)))


def _tidy(points: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Rounded to the micrometre, without points that are no turn."""
    out: list[tuple[float, float]] = []
    for x, y in points:
        p = (round(x, 3), round(y, 3))
        if out and out[-1] == p:
            continue
        if len(out) > 1 and (out[-2][0] == out[-1][0] == p[0] or out[-2][1] == out[-1][1] == p[1]):
            out.pop()
        out.append(p)
    return out
