"""What every drawing must keep, looked at afresh from the finished geometry: nothing here trusts how it was made.

The SVG contract: runs at right angles whose ends are their two terminals; runs of different nets cross only at right
angles in the open; no run touches a foreign terminal or passes through a symbol; labels clear of one another, of all
symbols and of all runs but their own; outlines of places around exactly their parts; all of it within the sheet.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from itertools import pairwise

from wiregen.layout.geometry import Box, Geometry, PlacedPart, Point, Run, Sheet

NEAR = 1e-6
OVER = 1.0  # outlines may reach that far beyond the diagram's area, towards the frame [mm]


def broken(geometry: Geometry) -> list[str]:
    """What is wrong, in words; [] where nothing is."""
    troubles: list[str] = []
    for sheet in geometry.sheets:
        troubles += _sheet(sheet)
    return troubles


def _sheet(sheet: Sheet) -> Iterator[str]:
    terminals = {t: p for part in sheet.parts for t, p in part.terminals.items()}
    nets = _nets(sheet, terminals)
    yield from _ends(sheet, terminals, {c.conductor: c.at for c in sheet.continuations})
    yield from _runs(sheet.runs, nets, terminals)
    yield from _symbols(sheet)
    yield from _junctions(sheet, nets)
    yield from _labels(sheet)
    yield from _outlines(sheet)
    yield from _within(sheet)


def _nets(sheet: Sheet, terminals: dict[str, Point]) -> dict[str, str]:
    parent = {t: t for t in terminals}

    def top(t: str) -> str:
        while parent.setdefault(t, t) != t:
            parent[t] = parent[parent[t]]
            t = parent[t]
        return t

    for run in sheet.runs:
        parent[top(run.from_)] = top(run.to)
    return {t: top(t) for t in list(parent)}


def name(run: Run) -> str:
    return run.id or f"link {run.from_} to {run.to}"


def _ends(sheet: Sheet, terminals: dict[str, Point], cuts: dict[str, Point]) -> Iterator[str]:
    for run in sheet.runs:
        ends = ((run.from_, run.points[0]), (run.to, run.points[-1]))
        wrong = [t for t, p in ends if terminals.get(t) != p]
        if wrong and run.id in cuts and cuts[run.id] in (ends[0][1], ends[1][1]):
            wrong = [t for t, p in ends if t in wrong and cuts[run.id] != p]
        yield from (f"{name(run)} does not end at {t}" for t in wrong)
        for a, b in pairwise(run.points):
            if (a[0] == b[0]) == (a[1] == b[1]):
                yield f"{name(run)} is not drawn at right angles"


Stretch = tuple[float, float, str, int]  # from, to, net, number of the run


def _stretches(
    runs: Sequence[Run], nets: dict[str, str]
) -> tuple[dict[float, list[Stretch]], dict[float, list[Stretch]]]:
    """Level stretches by height, upright ones by place, each sorted."""
    level: dict[float, list[Stretch]] = {}
    upright: dict[float, list[Stretch]] = {}
    for k, run in enumerate(runs):
        for a, b in pairwise(run.points):
            if a[1] == b[1]:
                level.setdefault(a[1], []).append((min(a[0], b[0]), max(a[0], b[0]), nets[run.from_], k))
            elif a[0] == b[0]:
                upright.setdefault(a[0], []).append((min(a[1], b[1]), max(a[1], b[1]), nets[run.from_], k))
    for lines in (*level.values(), *upright.values()):
        lines.sort()
    return level, upright


def _runs(runs: Sequence[Run], nets: dict[str, str], terminals: dict[str, Point]) -> Iterator[str]:
    level, upright = _stretches(runs, nets)
    for lines in (*level.values(), *upright.values()):
        live: list[Stretch] = []
        for line in lines:
            live = [other for other in live if other[1] >= line[0] - NEAR]
            for other in live:
                if other[2] != line[2]:
                    yield f"{name(runs[line[3]])} lies on {name(runs[other[3]])}"
            live.append(line)
    spots = [(p, nets[run.from_], name(run)) for run in runs for p in run.points]
    spots += [(p, nets[t], t) for t, p in terminals.items()]
    for (x, y), net, who in dict.fromkeys(spots):
        for along, lines in ((x, level.get(y, [])), (y, upright.get(x, []))):
            for start, end, foreign, k in lines:
                if start - NEAR > along:
                    break
                if foreign != net and along <= end + NEAR:
                    yield f"{name(runs[k])} touches {who}"
    seen: dict[Point, str] = {}
    for t, p in terminals.items():
        if seen.setdefault(p, nets[t]) != nets[t]:
            yield f"{t} lies on a terminal of another net"


class _Shelf:
    """Boxes by the strips of height that they reach into, to find those that a stretch or a box meets."""

    STRIP = 12.0

    def __init__(self, boxes: Sequence[tuple[Box, str]]) -> None:
        self.boxes = boxes
        self.strips: dict[int, list[int]] = {}
        for k, (box, _) in enumerate(boxes):
            for s in range(int(box.y // self.STRIP), int(box.bottom // self.STRIP) + 1):
                self.strips.setdefault(s, []).append(k)
        for found in self.strips.values():
            found.sort(key=lambda k: boxes[k][0].x)
        self.lefts = {s: [boxes[k][0].x for k in found] for s, found in self.strips.items()}
        self.widest = max((box.width for box, _ in boxes), default=0.0)

    def meeting(self, area: Box) -> list[int]:
        """Those whose inside the area's inside or line meets."""
        out: dict[int, None] = {}
        for s in range(int(area.y // self.STRIP), int(area.bottom // self.STRIP) + 1):
            found = self.strips.get(s, [])
            first = bisect_left(self.lefts.get(s, []), area.x - self.widest)
            for k in found[first:]:
                box = self.boxes[k][0]
                if box.x >= area.right - NEAR:
                    break
                if box.right > area.x + NEAR and box.y < area.bottom - NEAR and box.bottom > area.y + NEAR:
                    out[k] = None
        return list(out)


def _hull(a: Point, b: Point) -> Box:
    """A stretch as a box that is a little fatter than a line, so that it has an inside."""
    return Box(
        min(a[0], b[0]) - 2 * NEAR, min(a[1], b[1]) - 2 * NEAR,
        abs(a[0] - b[0]) + 4 * NEAR, abs(a[1] - b[1]) + 4 * NEAR,
    )  # fmt: skip


def _owner(sheet: Sheet) -> dict[str, set[str]]:
    """Terminal -> the part that it is on and the block around it."""
    out: dict[str, set[str]] = {}
    inside = {s.part: part.id for part in sheet.parts for _, _, s in part.shape.inside}
    for part in sheet.parts:
        for t in part.terminals:
            out[t] = {part.id} | ({inside[part.id]} if part.id in inside else set())
    return out


def _symbols(sheet: Sheet) -> Iterator[str]:
    inner = {s.part for part in sheet.parts for _, _, s in part.shape.inside}
    flags = [(c.box, f"the continuation of {c.conductor}") for c in sheet.continuations]
    shelf = _Shelf([*((p.box, p.id) for p in sheet.parts), *flags])
    owner = _owner(sheet)
    for run in sheet.runs:
        own = owner.get(run.from_, set()) | owner.get(run.to, set()) | {f"the continuation of {run.id}"}
        for a, b in pairwise(run.points):
            for k in shelf.meeting(_hull(a, b)):
                if shelf.boxes[k][1] not in own:
                    yield f"{name(run)} passes through {shelf.boxes[k][1]}"
    for part in sheet.parts:
        if part.id in inner:
            continue
        for k in shelf.meeting(part.box):
            other = shelf.boxes[k][1]
            if other > part.id and other not in inner:
                yield f"{part.id} lies on {other}"
        yield from _contents(part, sheet)
    for box, who in flags:
        for k in shelf.meeting(box):
            if shelf.boxes[k][1] != who:
                yield f"{who} lies on {shelf.boxes[k][1]}"


def _contents(part: PlacedPart, sheet: Sheet) -> Iterator[str]:
    for dx, dy, shape in part.shape.inside:
        if dx < 0 or dy < 0 or dx + shape.width > part.box.width or dy + shape.height > part.box.height:
            yield f"{shape.part} does not stand inside {part.id}"


def _junctions(sheet: Sheet, nets: dict[str, str]) -> Iterator[str]:
    level, upright = _stretches(sheet.runs, nets)
    for x, y in sheet.junctions:
        met = {n for a, b, n, _ in level.get(y, ()) if a <= x <= b}
        met |= {n for a, b, n, _ in upright.get(x, ()) if a <= y <= b}
        if len(met) != 1:
            yield f"the junction at {x:g} {y:g} joins {len(met)} nets"


def _labels(sheet: Sheet) -> Iterator[str]:
    boxes = [(x.box, x.for_) for x in sheet.labels] + [(m.box, f"mark {m.number}") for m in sheet.marks]
    boxes += [(o.label.box, o.place) for o in sheet.outlines]
    shelf = _Shelf(boxes)
    flags = [(c.box, f"the continuation of {c.conductor}") for c in sheet.continuations]
    symbols = _Shelf([*((p.box, p.id) for p in sheet.parts), *flags])
    for k, (box, who) in enumerate(boxes):
        for other in shelf.meeting(box):
            if other > k:
                yield f"the label of {who} lies on that of {boxes[other][1]}"
        for part in symbols.meeting(box):
            yield f"the label of {who} lies on {symbols.boxes[part][1]}"
    for run in sheet.runs:
        for a, b in pairwise(run.points):
            for k in shelf.meeting(_hull(a, b)):
                if not run.id or boxes[k][1] != run.id:
                    yield f"{name(run)} runs through the label of {boxes[k][1]}"


def _outlines(sheet: Sheet) -> Iterator[str]:
    """An outline holds exactly its parts, cuts neither symbols nor lettering, lies on no run and no other outline."""
    inner = {s.part for part in sheet.parts for _, _, s in part.shape.inside}
    solid = [(p.box, p.id) for p in sheet.parts] + [(x.box, f"the label of {x.for_}") for x in sheet.labels]
    solid += [(m.box, f"mark {m.number}") for m in sheet.marks]
    solid += [(c.box, f"the continuation of {c.conductor}") for c in sheet.continuations]
    solid += [(o.label.box, f"the name of {o.place}") for o in sheet.outlines]
    shelf = _Shelf(solid)
    level, upright = _stretches(sheet.runs, {run.from_: "" for run in sheet.runs})
    for outline in sheet.outlines:
        sides = list(pairwise((*outline.corners, outline.corners[0])))
        for a, b in sides:
            yield from (f"the outline of {outline.place} cuts {solid[k][1]}" for k in shelf.meeting(_hull(a, b)))
            lines = level.get(a[1], ()) if a[1] == b[1] else upright.get(a[0], ())
            low, high = (min(a[0], b[0]), max(a[0], b[0])) if a[1] == b[1] else (min(a[1], b[1]), max(a[1], b[1]))
            for start, end, _, k in lines:
                if start < high and low < end:
                    yield f"the outline of {outline.place} lies on {name(sheet.runs[k])}"
        held = [p.id for p in sheet.parts if p.id not in inner and _inside(outline.corners, p.box)]
        if sorted(held) != sorted(outline.parts):
            yield f"the outline of {outline.place} holds {', '.join(held)}"
        if not _inside(outline.corners, outline.label.box):
            yield f"the name of {outline.place} stands outside of its outline"
    for k, one in enumerate(sheet.outlines):
        for other in sheet.outlines[:k]:
            if any(
                _hull(a, b).overlaps(_hull(c, d))
                for a, b in pairwise((*one.corners, one.corners[0]))
                for c, d in pairwise((*other.corners, other.corners[0]))
            ):
                yield f"the outlines of {one.place} and {other.place} meet"


def _inside(corners: Sequence[Point], box: Box) -> bool:
    """Whether the middle of a box lies within a ring of corners: a line from it to the left crosses it oddly often."""
    x, y = box.x + box.width / 2, box.y + box.height / 2 + 1e-4
    crossed = 0
    for (ax, ay), (bx, by) in pairwise((*corners, corners[0])):
        if ax == bx < x and min(ay, by) < y < max(ay, by):
            crossed += 1
    return crossed % 2 == 1


def _within(sheet: Sheet) -> Iterator[str]:
    area = sheet.area.grown(1e-3)
    boxes = [(p.box, p.id) for p in sheet.parts] + [(x.box, x.for_) for x in sheet.labels]
    boxes += [(c.box, f"the continuation of {c.conductor}") for c in sheet.continuations]
    boxes += [(m.box, f"mark {m.number}") for m in sheet.marks]
    boxes += [(o.box.grown(-OVER), f"the outline of {o.place}") for o in sheet.outlines]
    boxes += [(Box(p[0], p[1], 0.0, 0.0), name(run)) for run in sheet.runs for p in run.points]
    for box, who in boxes:
        if box.x < area.x or box.right > area.right or box.y < area.y or box.bottom > area.bottom:
            yield f"{who} reaches beyond the sheet's area"
    for item in sheet.furniture:
        if item.box.overlaps(sheet.area):
            yield f"the {item.kind} lies on the diagram's area"
