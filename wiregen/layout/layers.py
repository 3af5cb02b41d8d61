"""The layered graph made: shapes turned to their neighbours, places where wires pass, segments from pin to pin.

Expects columns; guarantees that every wire's segments follow one another from `a` to `b`, and that every conductor has
a stretch of its own somewhere, where its label stands.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from wiregen.layout import continuation
from wiregen.layout.folds import Fold
from wiregen.layout.geometry import Point, Port, Shape
from wiregen.layout.graph import BARS, CONVERTERS, Graph, Node
from wiregen.layout.items import EAST, STUB, TURN, WEST, Exit, Item, Layered, Lettering, Pin, Segment
from wiregen.layout.label import names, spots
from wiregen.layout.ranks import Ranks
from wiregen.layout.shapes import BLOCK_BUS, ON_LEADS, Style, end_shape, mirror, shape_of
from wiregen.layout.shown import Notes


class Dress(NamedTuple):
    """What a style decides, the same in every fold: each node's shape; of each terminal the one at whose place runs
    leave the part (for a way fuse's, the block's that it is joined to), and the faces that they may leave through;
    what each node and conductor is called."""

    shapes: dict[int, Shape]
    edge: dict[str, str]
    faces: dict[str, tuple[int, ...]]
    names: dict[int, Lettering]
    letterings: dict[tuple[str, int], Lettering]  # filled as they are asked for


def dressed(graph: Graph, ranks: Ranks, style: Style, marks: Mapping[str, int], notes: Notes) -> Dress:
    """Shapes turned towards their neighbours in the unfolded picture, and the names of the parts."""
    shapes = _shapes(graph, ranks.column, ranks.upright, style)
    ports: dict[str, Port] = {p.terminal: p for shape in shapes.values() for p in shape.ports}
    first: dict[tuple[int, int], str] = {}  # node and net -> the first of its ports there
    for index, shape in shapes.items():
        for p in shape.ports:
            first.setdefault((index, graph.net_of[p.terminal]), p.terminal)
    edge = {t: t if t in ports else first.get((n, graph.net_of[t]), t) for t, n in graph.node_of.items()}
    faces = {t: _faces(shapes[n], ports[edge[t]]) for t, n in graph.node_of.items()}
    return Dress(shapes, edge, faces, names(graph, style, marks, notes), {})


def _faces(shape: Shape, port: Port) -> tuple[int, ...]:
    """The faces through which a run may leave a port."""
    if port.side in ("top", "bottom") or 0 < port.x < shape.width:
        return (WEST, EAST)
    return (WEST,) if port.side == "left" else (EAST,)


def arrange(
    graph: Graph,
    ranks: Ranks,
    fold: Fold,
    style: Style,
    marks: Mapping[str, int],
    notes: Notes,
    dress: Dress | None = None,
) -> Layered:
    """Passing places, segments, and a spot for each label. `dress` is that of the style, made here if there is none."""
    dress = dress or dressed(graph, ranks, style, marks, notes)
    columns = list(fold.column)
    bows = {w.index for w in graph.wires if w.a == w.b}
    while True:
        layered = _build(graph, columns, fold.band, dress, style, ranks.reach, bows)
        layered.marks, layered.notes, layered.letterings = marks, notes, dress.letterings
        crowded = spots(layered)
        if not crowded:
            break
        # a wire without a stretch of its own gets one: a bow where it comes back to the same side, else a column
        wide = set()
        for wire in crowded:
            first, last = layered.pins[layered.steps[wire][0]], layered.pins[layered.steps[wire][-1]]
            if first.face == last.face:
                bows.add(wire)
            else:
                wide.add(layered.items[first.item].column + first.face)
        columns = [c + sum(1 for w in wide if c >= w) for c in columns]
    layered.names = dress.names
    return layered


def _other_column(graph: Graph, columns: Sequence[int], wire: int, node: int) -> int:
    w = graph.wires[wire]
    a, b = graph.node_of[w.a], graph.node_of[w.b]
    return columns[b if a == node else a]


def _shapes(graph: Graph, columns: Sequence[int], upright: set[int], style: Style) -> dict[int, Shape]:
    """Each node's shape, mirrored where that turns more of its terminals towards their neighbours."""
    shapes: dict[int, Shape] = {}
    for node in graph.nodes:
        here = columns[node.index]
        if node.part is None:
            shape = _airy(node)
        elif node.kind in BARS:
            shape = _bar_shape(graph, columns, node, style)
        else:
            shape = shape_of(node.part, graph.job, style, upright=node.index in upright)
        if _may_mirror(node):
            turned = [0, 0]
            for p in shape.ports:
                if p.side not in ("left", "right"):
                    continue
                for w in graph.wires_at[p.terminal]:
                    there = _other_column(graph, columns, w, node.index)
                    if there != here:
                        turned[(p.side == "left") == (there > here)] += 1
            if turned[True] > turned[False]:
                shape = mirror(shape)
        shapes[node.index] = shape
    return shapes


def _may_mirror(node: Node) -> bool:
    if node.kind in CONVERTERS or node.kind == "fuse-block" or node.kind in BARS:
        return False
    return node.part is None or not node.part.has("left")


def _airy(node: Node) -> Shape:
    if node.kind == "earth":
        return Shape(node.id, "frame", 6.0, 5.0, (Port(node.terminals[0], 3.0, 0.0, "top"),))
    if node.kind == continuation.KIND:
        return continuation.shape(node.terminals[0], node.far)
    return end_shape(node.terminals[0], capped=node.kind == "capped")


def _bar_shape(graph: Graph, columns: Sequence[int], node: Node, style: Style) -> Shape:
    """Studs on the side of their neighbours; those whose neighbour stands in the same column share what is left."""
    left: list[str] = []
    right: list[str] = []
    open_: list[str] = []
    pitch = style.row
    for t in node.terminals:
        there = sorted(_other_column(graph, columns, w, node.index) for w in graph.wires_at[t])
        middle = there[len(there) // 2] if there else columns[node.index]
        (left if middle < columns[node.index] else right if middle > columns[node.index] else open_).append(t)
    for t in open_:
        (left if len(left) < len(right) else right).append(t)
    if any(_is_load(graph, w, node.index) for t in node.terminals for w in graph.wires_at[t]):
        pitch = style.way
    assert node.part is not None
    return shape_of(node.part, graph.job, style, left=left, right=right, pitch=pitch)


def _is_load(graph: Graph, wire: int, node: int) -> bool:
    w = graph.wires[wire]
    a, b = graph.node_of[w.a], graph.node_of[w.b]
    return graph.nodes[b if a == node else a].kind in ("load", "lamp", "sensor")


def _build(
    graph: Graph,
    columns: list[int],
    bands: Sequence[int],
    dress: Dress,
    style: Style,
    reach: Sequence[int],
    bows: set[int],
) -> Layered:
    shapes, edge, faces = dict(dress.shapes), dress.edge, dress.faces
    far = [min(reach[graph.node_of[w.a]], reach[graph.node_of[w.b]]) for w in graph.wires]
    layered = Layered(graph, style, max(columns, default=0) + 1, [], [], [], shapes, [], {}, {}, {}, {}, far, {}, {})
    for node in graph.nodes:
        _add_item(layered, columns[node.index], node.index).band = bands[node.index]
        layered.item_of.append(node.index)
    chosen: list[tuple[int, int]] = []
    degree: dict[tuple[str, int], int] = {}
    for w in graph.wires:
        if w.inner:
            chosen.append((0, 0))
            continue
        ca, cb = columns[graph.node_of[w.a]], columns[graph.node_of[w.b]]
        options = [(abs(ca + fa - cb - fb), (fa, fb) != (EAST, EAST), fa, fb) for fa in faces[w.a] for fb in faces[w.b]]
        _, _, fa, fb = min(options)
        if w.a == w.b:
            fb = fa
        chosen.append((fa, fb))
        for key in dict.fromkeys(((edge[w.a], fa), (edge[w.b], fb))):
            degree[key] = degree.get(key, 0) + 1
    used: dict[int, list[tuple[str, int]]] = {}
    for t, face in degree:
        used.setdefault(graph.node_of[t], []).append((t, face))
    for node_index, keys in used.items():
        _exits(layered, node_index, keys)
    passing: dict[tuple[object, ...], int] = {}
    joined: dict[tuple[int, int], int] = {}
    for w in graph.wires:
        if w.inner:
            continue
        fa, fb = chosen[w.index]
        start, end = layered.exits[(edge[w.a], fa)].pin, layered.exits[(edge[w.b], fb)].pin
        for t, face in ((w.a, fa), (w.b, fb)):
            if edge[t] != t:
                outer = layered.exits[(edge[t], face)]
                lead = _inside(shapes[graph.node_of[t]], t, outer.lead[0])
                layered.exits[(t, face)] = Exit(outer.pin, lead)
        ca, cb = columns[graph.node_of[w.a]] + fa, columns[graph.node_of[w.b]] + fb
        steps: list[int] = []
        if w.index in bows:
            item = _add_item(layered, columns[graph.node_of[w.a]], -2)
            item.wires.append(w.index)
            first, second = _add_pin(layered, item, fa, 0.0), _add_pin(layered, item, fa, TURN)
            pairs = [(ca, start, first.index), (ca, second.index, end)]
        else:
            pairs = []
            at = start
            shared = _shared((edge[w.a], fa), (edge[w.b], fb), degree)
            for k in range(ca, cb) if ca < cb else range(ca - 1, cb - 1, -1):
                item = _passing(layered, passing, k, w.index, shared)
                west, east = item.pins[WEST][0], item.pins[EAST][0]
                if ca < cb:
                    pairs.append((k, at, west))
                    at = east
                else:
                    pairs.append((k + 1, at, east))
                    at = west
            pairs.append((cb, at, end))
        for channel, p, q in pairs:
            _join(layered, joined, channel, p, q, w.index)
            steps += [p, q]
        layered.steps[w.index] = steps
    for item in layered.items:
        item.tie = _tie(layered, item, reach)
        if item.node < 0:
            ends = [bands[graph.node_of[t]] for w in item.wires for t in (graph.wires[w].a, graph.wires[w].b)]
            item.band = (min(ends) + max(ends)) / 2
    return layered


def _tie(layered: Layered, item: Item, reach: Sequence[int]) -> float:
    """Positive above negative; of several branches from one terminal the trunk next to the other side's."""
    graph = layered.graph
    if item.node >= 0:
        nets = {graph.net_of[t] for t in graph.nodes[item.node].terminals}
        far = reach[item.node] + 0.5
    else:
        nets = {graph.wires[w].net for w in item.wires}
        far = max((layered.reach[w] for w in item.wires), default=0)
    return 1000.0 - far if nets <= graph.negative else far


def _shared(a: tuple[str, int], b: tuple[str, int], degree: dict[tuple[str, int], int]) -> tuple[str, int] | None:
    """The terminal whose wires pass by together with this one: the one that several leave, if the other end is free."""
    many_a, many_b = degree[a] > 1, degree[b] > 1
    if many_a == many_b:
        return None
    return a if many_a else b


def _passing(
    layered: Layered, passing: dict[tuple[object, ...], int], column: int, wire: int, shared: tuple[str, int] | None
) -> Item:
    w = layered.graph.wires[wire]
    colours: object = None
    if w.id:
        colours = layered.graph.job.conductors[w.id].colours
    key = (column, shared, colours) if shared else (column, wire)
    if key not in passing:
        item = _add_item(layered, column, -1)
        _add_pin(layered, item, WEST, 0.0)
        _add_pin(layered, item, EAST, 0.0)
        passing[key] = item.index
    item = layered.items[passing[key]]
    item.wires.append(wire)
    return item


def _add_item(layered: Layered, column: int, node: int) -> Item:
    item = Item(len(layered.items), column, node, ([], []))
    if node == -2:
        item.symbol, item.runs = (0.0, TURN, 1.0), (-STUB / 2, TURN + STUB / 2)
    layered.items.append(item)
    return item


def _add_pin(layered: Layered, item: Item, face: int, y: float) -> Pin:
    pin = Pin(len(layered.pins), item.index, face, y)
    layered.pins.append(pin)
    item.pins[face].append(pin.index)
    return pin


def _join(layered: Layered, joined: dict[tuple[int, int], int], channel: int, p: int, q: int, wire: int) -> None:
    key = (min(p, q), max(p, q))
    if key not in joined:
        joined[key] = len(layered.segments)
        layered.segments.append(Segment(len(layered.segments), channel, p, q, []))
        layered.pins[p].segments.append(joined[key])
        if q != p:
            layered.pins[q].segments.append(joined[key])
    layered.segments[joined[key]].wires.append(wire)
    for pin in {p, q}:
        layered.pins[pin].wires.append(wire)


def _exits(layered: Layered, node: int, keys: list[tuple[str, int]]) -> None:
    """Pins of a part's terminals; rows above and below a box for those on its upper and lower side."""
    shape, item = layered.shapes[node], layered.items[layered.item_of[node]]
    place = {p.terminal: p for p in shape.ports}
    plain: list[tuple[str, int, float, tuple[Point, ...]]] = []
    below: list[tuple[str, int]] = []
    above: list[tuple[str, int]] = []
    for t, face in sorted(keys):
        edge = 0.0 if face == WEST else shape.width
        port = place[t]
        if port.side in ("left", "right") or shape.symbol in ON_LEADS:
            points: tuple[Point, ...] = ((port.x, port.y),)
            if port.x != edge:
                points += ((edge, port.y),)
            plain.append((t, face, port.y, points))
        else:
            (below if port.side == "bottom" else above).append((t, face))
    levels: list[tuple[float, tuple[int, ...]]] = [(y, (face,)) for _, face, y, _ in plain]
    for outer, sign in ((below, 1), (above, -1)):
        faces: dict[str, tuple[int, ...]] = {}
        for t, face in outer:
            faces[t] = (*faces.get(t, ()), face)
        # the nearest row for the port nearest to its face, so that no two leads of one face cross
        for t in sorted(faces, key=lambda t: (_reach(place[t].x, shape.width, faces[t]), t)):
            port = place[t]
            y = shape.height + STUB if sign > 0 else -STUB
            while any(abs(y - z) < (layered.style.row if set(f) & set(faces[t]) else STUB) for z, f in levels):
                y += sign * 0.5
            levels.append((y, faces[t]))
            for face in faces[t]:
                edge = 0.0 if face == WEST else shape.width
                plain.append((t, face, y, ((port.x, port.y), (port.x, y), (edge, y))))
    for t, face, y, points in sorted(plain, key=lambda p: (p[1], p[2], p[0])):
        pin = _add_pin(layered, item, face, y)
        layered.exits[(t, face)] = Exit(pin.index, points)


def _reach(x: float, width: float, faces: tuple[int, ...]) -> float:
    """How far a port on the upper or lower side is from the nearest face that its runs leave through."""
    return min(x if f == WEST else width - x for f in faces)


def _inside(shape: Shape, terminal: str, edge: Point) -> tuple[Point, ...]:
    """From a way fuse's terminal to its block's edge, along the net that it is on anyway."""
    for dx, dy, inner in shape.inside:
        for p in inner.ports:
            if p.terminal == terminal:
                x, y = dx + p.x, dy + p.y
                return ((x, y), edge) if y == edge[1] else ((x, y), (BLOCK_BUS, y), (BLOCK_BUS, edge[1]), edge)
    raise KeyError(terminal)
