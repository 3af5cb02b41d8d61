"""Parts of one place that stand together are outlined, and the place is named in a corner of the outline.

Looks at a finished sheet; guarantees that an outline holds all of its parts, with their names, and no part of another
place or of none, and that it runs along no run, and through no symbol, no lettering and no other outline. It is a
rectangle with notches where others stand within it. Where a part stands alone among others, its place is lettered
beside its name, if there is room for that.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, NamedTuple

from wiregen.layout import text
from wiregen.layout.geometry import Box, Label, Outline, Point, Sheet
from wiregen.layout.outline_shape import CLEAR, MARGIN, encloses, holds, hull, is_simple, middle, rough_ring, rows_in
from wiregen.model.job import Job

Anchor = Literal["start", "middle", "end"]

AWAY = 1.5  # and that much where it can be within reach [mm]
BESIDE = 1.0  # from the outline to a run that is parallel to it, at least [mm]
SHIFT = 14.0  # of a stretch of the outline that would lie on something, at most [mm]
FAR = 70.0  # between two parts of one outline, at most [mm]
LONG = 25.0  # a place's name that is longer may be broken into two lines [mm]
SPACE = 3.0, 2.5  # from a place lettered at its part to what is another's, across and down [mm]
TRIES = 3  # of drawing an outline around a group
STEP = 0.5  # between the spots that are tried for a name [mm]
DOT = 1.2  # half of what is kept clear around a junction [mm]


@dataclass(slots=True)
class _Scene:
    """What stands on a sheet: solid boxes that no outline may cut, and stretches that none may lie on."""

    solid: list[Box]
    level: list[tuple[float, float, float]]  # height, from, to
    upright: list[tuple[float, float, float]]  # place, from, to
    bodies: list[Box]  # symbols and names of parts

    def add(self, corners: Sequence[Point]) -> None:
        """A course of straight stretches."""
        for (ax, ay), (bx, by) in pairwise(corners):
            if ay == by:
                self.level.append((ay, min(ax, bx), max(ax, bx)))
            else:
                self.upright.append((ax, min(ay, by), max(ay, by)))


class Places(NamedTuple):
    """The outlines of a sheet in the order of the places, the places lettered at parts that stand alone, and which of
    these are called by their short names."""

    outlines: tuple[Outline, ...]
    beside: tuple[Label, ...]
    short: frozenset[str]


def outlines(job: Job, sheet: Sheet, short: Collection[str] = ()) -> Places:
    """The places of a sheet. Those in `short` are lettered by their short names, for one name in all of a drawing."""
    bodies = _bodies(job, sheet)
    scene = _scene(sheet)
    made: list[Outline] = []
    alone: list[str] = []
    for place in job.places:
        here = {part: boxes for part, boxes in bodies.items() if part in job.parts and job.parts[part].place == place}
        strangers = [box for part, boxes in bodies.items() if part not in here for box in boxes]
        strangers += [row for outline in made for row in rows_in(outline.corners)]
        title = job.places[place].title
        titles = (f"{title} ({place})", title) if title and place in short else (title or place,)
        one = _Place(place, titles, here, strangers, scene, sheet)
        found = one.outlines()
        made += found
        held = {part for outline in found for part in outline.parts}
        alone += [part for part in here if part not in held]
    beside, called = _lettered(job, sheet, alone, scene, short)
    eased = _eased(made, sheet._replace(labels=(*sheet.labels, *beside)))
    return Places(tuple(eased), beside, called)


def _bodies(job: Job, sheet: Sheet) -> dict[str, list[Box]]:
    """Each part that is no fuse of a block: its symbol, its name, its marks."""
    out = {part.id: [part.box] for part in sheet.parts if part.id not in job.parts or not job.parts[part.id].block}
    for label in sheet.labels:
        if label.for_ in out:
            out[label.for_].append(label.box)
    for mark in sheet.marks:
        if mark.for_ in out:
            out[mark.for_].append(mark.box)
    return out


def _scene(sheet: Sheet) -> _Scene:
    solid = [part.box for part in sheet.parts] + [label.box for label in sheet.labels]
    solid += [mark.box for mark in sheet.marks] + [c.box for c in sheet.continuations]
    solid += [Box(x, y, 0.0, 0.0).grown(DOT) for x, y in sheet.junctions]
    bodies = [part.box for part in sheet.parts] + [label.box for label in sheet.labels if label.strong]
    scene = _Scene(solid, [], [], bodies)
    for run in sheet.runs:
        scene.add(run.points)
    return scene


@dataclass(slots=True)
class _Place:
    """One place on one sheet: its parts, and what must stay outside of its outlines."""

    name: str
    titles: tuple[str, ...]  # what the outline may be called, what is wished most first
    parts: dict[str, list[Box]]
    strangers: list[Box]
    scene: _Scene
    sheet: Sheet

    def outlines(self) -> list[Outline]:
        """As few as can be, each around two parts or more."""
        made: list[Outline] = []
        todo = self.groups(list(self.parts), self.likely)
        while todo:
            group = [part for part in todo.pop(0) if not any(part in outline.parts for outline in made)]
            if len(group) < 2:
                continue
            outline = self.largest(group)
            if outline is None:
                continue
            made.append(outline)
            rows = rows_in(outline.corners)
            self.strangers += rows
            self.scene.solid += [row.grown(CLEAR) for row in rows]
            todo += self.groups([part for part in group if part not in outline.parts], self.likely)
        return made

    def likely(self, group: Sequence[str]) -> bool:
        """Whether one outline may hold those parts, as far as other parts are concerned."""
        return rough_ring(self.boxes(group), self.strangers) is not None

    def largest(self, group: Sequence[str]) -> Outline | None:
        """The outline around as many of some parts as it can hold: one after the other that is furthest out is left."""
        while len(group) > 1:
            outline = self.outlined(group)
            if outline:
                return outline
            hulls = {part: hull(self.parts[part]) for part in group}
            outer = {
                min(group, key=lambda part: hulls[part].x), max(group, key=lambda part: hulls[part].right),
                min(group, key=lambda part: hulls[part].y), max(group, key=lambda part: hulls[part].bottom),
            }  # fmt: skip
            fewer = [[part for part in group if part != left] for left in group if left in outer]
            found = [outline for some in fewer if len(some) > 1 and (outline := self.outlined(some))]
            if found:
                return max(found, key=lambda outline: len(outline.parts))
            group = min(fewer, key=lambda some: self.extent(some))
        return None

    def extent(self, group: Sequence[str]) -> float:
        """Half the way around all of some parts. [mm]"""
        whole = hull(self.boxes(group))
        return whole.width + whole.height

    def boxes(self, group: Sequence[str]) -> list[Box]:
        """All that belongs to some parts."""
        return [box for part in group for box in self.parts[part]]

    def groups(self, parts: Sequence[str], together: Callable[[Sequence[str]], bool]) -> list[list[str]]:
        """Parts that one outline may hold, the nearest joined first."""
        hulls = [hull(self.parts[part]) for part in parts]
        group = {part: [part] for part in parts}
        near = sorted(
            (apart, i, j) for j in range(len(parts)) for i in range(j) if (apart := _apart(hulls[i], hulls[j])) <= FAR
        )
        failed: set[tuple[str, ...]] = set()
        for _, i, j in near:
            one, other = group[parts[i]], group[parts[j]]
            if one is other:
                continue
            both = [part for part in parts if part in one or part in other]
            if tuple(both) in failed:
                continue
            if not together(both):
                failed.add(tuple(both))
                continue
            for part in both:
                group[part] = both
        return [members for part, members in group.items() if members[0] == part]

    def outlined(self, group: Sequence[str]) -> Outline | None:
        """The outline around some parts, with the name of the place; None where it cannot be drawn clear of all else.

        Others of the place that it encloses are held by it too.
        """
        corners = self.around(self.boxes(group))
        if corners is None:
            return None
        for ring in (corners, *_raised(corners, self.scene, _room(self.sheet))):
            held = self.held(ring)
            if not held:
                continue
            label = next((found for t in self.titles if (found := _named(self.name, t, ring, self.scene))), None)
            if label:
                box = hull([Box(x, y, 0.0, 0.0) for x, y in ring])
                return Outline(self.name, self.titles[-1], box, label, tuple(ring), held)
        return None

    def held(self, corners: Sequence[Point]) -> tuple[str, ...]:
        """The parts within an outline; none where it would hold half of one, or what is not of the place."""
        inside = {part: [encloses(corners, middle(box)) for box in boxes] for part, boxes in self.parts.items()}
        if self.strange(corners) or any(any(found) and not all(found) for found in inside.values()):
            return ()
        return tuple(part for part, found in inside.items() if all(found))

    def strange(self, corners: Sequence[Point]) -> bool:
        """Whether something lies within an outline that is not of the place."""
        return any(row.overlaps(box) for row in rows_in(corners) for box in self.strangers)

    def around(self, members: Sequence[Box]) -> list[Point] | None:
        """The corners of an outline; it holds what lettering of conductors lies across it where it cannot leave it."""
        lettering = [label.box for label in self.sheet.labels if not label.strong]
        held = list(members)
        for _ in range(TRIES):
            rough = rough_ring(held, self.strangers)
            if rough is None:
                return None
            corners = _settled(rough, self.scene, _room(self.sheet))
            if (
                corners is not None
                and is_simple(corners)
                and all(encloses(corners, middle(box)) for box in members)
                and not self.strange(corners)
            ):
                return corners
            whole = hull(held).grown(MARGIN)
            cut = [box for box in lettering if box.overlaps(whole) and not holds(whole, box) and box not in held]
            if not cut:
                return None
            held += cut
        return None


def _apart(a: Box, b: Box) -> float:
    return max(a.x - b.right, b.x - a.right, 0.0) + max(a.y - b.bottom, b.y - a.bottom, 0.0)


def _settled(corners: Sequence[Point], scene: _Scene, area: Box) -> list[Point] | None:
    """The outline with each of its stretches moved to where it lies on nothing; None where one cannot be."""
    at = [list(corner) for corner in corners]
    for _ in range(4):
        moved = False
        for k in range(len(at)):
            a, b = at[k], at[(k + 1) % len(at)]
            level = a[1] == b[1]
            across, along = (1, 0) if level else (0, 1)
            low, high = min(a[along], b[along]), max(a[along], b[along])
            limits = (area.y, area.bottom) if level else (area.x, area.right)
            free = _free(a[across], limits, list(_taken(scene, level, low, high, AWAY)))
            if free is None:  # then close to what is within, for others to have the rest of the room
                outward = -1 if (a[along] < b[along]) == level else 1
                start = a[across] - outward * (MARGIN - CLEAR)
                free = _free(start, limits, list(_taken(scene, level, low, high)), (outward,))
            if free is None:
                return None
            if free != a[across]:
                a[across] = b[across] = free
                moved = True
        if not moved:
            return [(round(x, 3), round(y, 3)) for x, y in at]
    return None


def _taken(scene: _Scene, level: bool, low: float, high: float, clear: float = CLEAR) -> Iterator[tuple[float, float]]:
    """The spans across in which a stretch from low to high would lie on something."""
    for box in scene.solid:
        (start, end), (near, far) = (box.x, box.right), (box.y, box.bottom)
        if not level:
            start, end, near, far = near, far, start, end
        if start < high + CLEAR and low - CLEAR < end:
            yield near - clear, far + clear
    beside = max(BESIDE, clear)
    for place, start, end in scene.level if level else scene.upright:
        if start < high + BESIDE and low - BESIDE < end:
            yield place - beside, place + beside


def _eased(made: Sequence[Outline], sheet: Sheet) -> list[Outline]:
    """The outlines moved away from what they all but touch, as far as there is room at the other side."""
    out = list(made)
    for k, outline in enumerate(made):
        scene = _scene(sheet)
        scene.solid += [row for n, other in enumerate(out) if n != k for row in rows_in(other.corners)]
        ring = list(outline.corners)
        for i in range(len(ring)):
            moved = _centred(ring, i, scene, _room(sheet))
            if is_simple(moved) and _lies_clear(moved, scene, outline.label.box):
                ring = moved
        out[k] = outline._replace(corners=tuple(ring), box=hull([Box(x, y, 0.0, 0.0) for x, y in ring]))
    return out


def _centred(corners: Sequence[Point], k: int, scene: _Scene, area: Box) -> list[Point]:
    """The outline with one of its stretches in the middle between what is at either side, or well away from both."""
    ring = [list(corner) for corner in corners]
    a, b = ring[k], ring[(k + 1) % len(ring)]
    level = a[1] == b[1]
    across, along = (1, 0) if level else (0, 1)
    at = a[across]
    taken = list(_taken(scene, level, min(a[along], b[along]), max(a[along], b[along]), 0.0))
    start, end = (area.y, area.bottom) if level else (area.x, area.right)
    start = max([start, *(far for _, far in taken if far <= at)])
    end = min([end, *(near for near, _ in taken if near >= at)])
    away = min(AWAY, (end - start) / 2)
    a[across] = b[across] = round(min(max(at, start + away), end - away), 3)
    return [(x, y) for x, y in ring]


def _lies_clear(corners: Sequence[Point], scene: _Scene, label: Box) -> bool:
    """Whether all of an outline keeps its least distance from everything, the name in it included."""
    for a, b in pairwise([*corners, corners[0]]):
        level = a[1] == b[1]
        across, along = (1, 0) if level else (0, 1)
        low, high = min(a[along], b[along]), max(a[along], b[along])
        spans = [*_taken(scene, level, low, high), *_taken(_Scene([label], [], [], []), level, low, high)]
        if any(near + 1e-3 < a[across] < far - 1e-3 for near, far in spans):
            return False
    return True


def _free(
    wanted: float,
    limits: tuple[float, float],
    taken: Sequence[tuple[float, float]],
    senses: tuple[int, ...] = (-1, 1),
) -> float | None:
    """The place nearest to the one wanted that is not within a span."""
    found = []
    for sense in senses:
        at = min(max(wanted, limits[0]), limits[1])
        while inside := [span for span in taken if span[0] + 1e-9 < at < span[1] - 1e-9]:
            at = min(s[0] for s in inside) if sense < 0 else max(s[1] for s in inside)
        if limits[0] <= at <= limits[1] and abs(at - wanted) <= SHIFT:
            found.append(at)
    return min(found, key=lambda at: abs(at - wanted), default=None)


def _room(sheet: Sheet) -> Box:
    """Where outlines may be: a little beyond the room of the diagram, not on the frame."""
    return sheet.area.grown(1.0)


def _raised(corners: Sequence[Point], scene: _Scene, area: Box) -> Iterator[list[Point]]:
    """The outline with room for a line of lettering more at one of its upper stretches."""
    for k, (a, b) in enumerate(pairwise([*corners, corners[0]])):
        if a[1] != b[1] or a[0] >= b[0]:
            continue
        higher = list(corners)
        wanted = a[1] - text.height(1) - 2 * CLEAR
        y = _free(wanted, (area.y, a[1]), list(_taken(scene, True, a[0], b[0])))
        if y is None or y > wanted:
            continue
        for i in (k, (k + 1) % len(corners)):
            higher[i] = higher[i][0], round(y, 3)
        if _settled(higher, scene, area) == higher and is_simple(higher):
            yield higher


def _named(name: str, title: str, corners: Sequence[Point], scene: _Scene) -> Label | None:
    """The name below an upper stretch of the outline, as far left as there is room."""
    width, height = text.width(title), text.height(1)
    own = _Scene([], [], [], [])
    own.add([*corners, corners[0]])
    upper = [(a[1], a[0], b[0]) for a, b in pairwise([*corners, corners[0]]) if a[1] == b[1] and a[0] < b[0]]
    for aside in (SPACE[0], CLEAR):  # what is lettered beside it is not to be read as one with it
        for y, left, right in sorted(upper):
            x = left + 1.0
            while x + width + 1.0 <= right:
                box = Box(round(x, 3), round(y + CLEAR, 3), round(width, 3), round(height, 3))
                alone = not any(_widened_by(box, aside).overlaps(other) for other in scene.solid)
                if alone and _clear(scene, box) and _clear(own, box) and encloses(corners, middle(box)):
                    return Label(name, (title,), box, text.CAP_HEIGHT)
                x += STEP
    return None


def _widened_by(box: Box, aside: float) -> Box:
    return Box(box.x - aside, box.y, box.width + 2 * aside, box.height)


def _clear(scene: _Scene, box: Box) -> bool:
    """Whether nothing stands or runs in a box."""
    near = box.grown(CLEAR - 1e-6)
    return not (
        any(near.overlaps(other) for other in scene.solid)
        or any(near.y < y < near.bottom and low < near.right and near.x < high for y, low, high in scene.level)
        or any(near.x < x < near.right and low < near.bottom and near.y < high for x, low, high in scene.upright)
    )


# places of parts that stand alone


def _lettered(
    job: Job, sheet: Sheet, alone: Sequence[str], scene: _Scene, short: Collection[str]
) -> tuple[tuple[Label, ...], frozenset[str]]:
    """The place of each such part beside its name or its symbol, none where there is no room; and which places are
    called by their short names: those in `short`, and those of which fewer parts are without their place then."""
    names = {label.for_: label for label in sheet.labels if label.strong}
    symbols = {part.id: part.box for part in sheet.parts}
    by_place: dict[str, list[str]] = {}
    for part in alone:
        place = job.parts[part].place
        if place is not None and part in names:
            by_place.setdefault(place, []).append(part)
    made: list[Label] = []
    shortened = set()
    for place, parts in by_place.items():
        own = {part: (symbols[part], names[part].box) for part in parts}
        title = "" if place in short else job.places[place].title
        calls = dict.fromkeys((title or place, place))
        tried = {name: _at_each(own, f"({name})", names[parts[0]].height, sheet.area, scene) for name in calls}
        best = max(tried, key=lambda name: len(tried[name]))
        if best != job.places[place].title and job.places[place].title:
            shortened.add(place)
        made += tried[best]
        scene.solid += [label.box for label in tried[best]]
    return tuple(made), frozenset(shortened)


def _at_each(own: Mapping[str, tuple[Box, Box]], words: str, cap: float, area: Box, scene: _Scene) -> list[Label]:
    """The same words at as many of some parts as have room for them, in a line, or in two."""
    made: list[Label] = []
    for part, boxes in own.items():
        others = [box for box in scene.bodies if box not in boxes]
        label = next(
            (
                Label(part, lines, box, cap, anchor)
                for lines in _broken(words)
                for box, anchor in _beside(boxes, lines, cap)
                if holds(area, box) and _clear(scene, box)
                and not any(_own_room(box).overlaps(other) for other in others)
                and not any(box.grown(CLEAR).overlaps(other.box) for other in made)
            ),
            None,
        )  # fmt: skip
        if label:
            made.append(label)
    return made


def _own_room(box: Box) -> Box:
    """What is kept clear around a place lettered at its part, so that it is not read as another's."""
    across, down = SPACE
    return Box(box.x - across, box.y - down, box.width + 2 * across, box.height + 2 * down)


def _broken(words: str) -> Iterator[tuple[str, ...]]:
    """The words for a place in one line, and in two where they are long."""
    yield (words,)
    halves = text.wrap(words, max(0.6 * text.width(words), text.width(max(words.split(), key=len))))
    if len(halves) == 2 and text.width(words) > LONG:
        yield halves


def _beside(own: tuple[Box, Box], lines: Sequence[str], cap: float) -> Iterator[tuple[Box, Anchor]]:
    """Boxes for lettering at a part: below its name and above it, then at its symbol; in the middle, then aside."""
    width, height = max(text.width(line, cap) for line in lines), text.height(len(lines), cap)
    symbol, name = own
    beside = name.x >= symbol.right
    for box in (name, symbol):
        for y in (box.bottom + CLEAR, box.y - CLEAR - height):
            if beside and box is name:
                yield _box(box.x, y, width, height), "start"
                continue
            yield _box(box.x + (box.width - width) / 2, y, width, height), "middle"
            yield _box(box.x, y, width, height), "start"
            yield _box(box.right - width, y, width, height), "end"
    for y in (symbol.y, symbol.bottom - height):
        yield _box(symbol.right + AWAY, y, width, height), "start"
        yield _box(symbol.x - AWAY - width, y, width, height), "end"


def _box(x: float, y: float, width: float, height: float) -> Box:
    return Box(round(x, 3), round(y, 3), round(width, 3), round(height, 3))
