"""The shape of an outline: a rectangle around boxes, with notches for others, as a ring of corners clockwise."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from wiregen.layout.geometry import Box, Point

MARGIN = 2.0  # from what is outlined to the outline, where there is room [mm]
CLEAR = 0.5  # from the outline to anything, at least [mm]
CORNERS = 12  # of an outline, at most


def hull(boxes: Sequence[Box]) -> Box:
    """The least rectangle around some boxes."""
    x, y = min(b.x for b in boxes), min(b.y for b in boxes)
    return Box(x, y, max(b.right for b in boxes) - x, max(b.bottom for b in boxes) - y)


def rough_ring(members: Sequence[Box], strangers: Sequence[Box]) -> list[Point] | None:
    """The corners of a rectangle around the members, with notches for the strangers within it; None where a stranger
    cannot be left out from any side, or the members would not hang together."""
    whole = _margin(hull(members), strangers)
    kept = [box.grown(CLEAR) for box in members]
    notches: list[Box] = []
    for stranger in sorted((s for s in strangers if s.overlaps(whole)), key=lambda s: -s.width * s.height):
        cut = stranger.grown(CLEAR)
        if any(holds(notch, stranger) for notch in notches):
            continue
        choice = [notch for notch in _ways_out(whole, cut) if not any(notch.overlaps(box) for box in kept)]
        if not choice:
            return None
        notches.append(_widened(whole, min(choice, key=lambda n: n.width * n.height), kept))
    corners = _traced(whole, notches)
    return corners if corners and len(corners) <= CORNERS else None


def _margin(hull: Box, strangers: Sequence[Box]) -> Box:
    """A rectangle with a margin, less at a side where a stranger stands near."""
    least = hull.grown(CLEAR)
    left, top, right, bottom = (hull.x - MARGIN, hull.y - MARGIN, hull.right + MARGIN, hull.bottom + MARGIN)
    for s in strangers:
        if s.overlaps(least):
            continue
        if s.y < bottom and top < s.bottom:
            left = max(left, s.right + CLEAR) if s.right <= hull.x else left
            right = min(right, s.x - CLEAR) if s.x >= hull.right else right
        if s.x < right and left < s.right:
            top = max(top, s.bottom + CLEAR) if s.bottom <= hull.y else top
            bottom = min(bottom, s.y - CLEAR) if s.y >= hull.bottom else bottom
    left, top = min(left, least.x), min(top, least.y)
    return Box(left, top, max(right, least.right) - left, max(bottom, least.bottom) - top)


def holds(outer: Box, inner: Box) -> bool:
    """Whether one box lies within another, up to its edge."""
    return outer.x <= inner.x and outer.y <= inner.y and outer.right >= inner.right and outer.bottom >= inner.bottom


def _ways_out(whole: Box, cut: Box) -> Iterator[Box]:
    """The notches that reach from each side of a rectangle as far as a box in it."""
    yield Box(whole.x, cut.y, cut.right - whole.x, cut.height)
    yield Box(cut.x, cut.y, whole.right - cut.x, cut.height)
    yield Box(cut.x, whole.y, cut.width, cut.bottom - whole.y)
    yield Box(cut.x, cut.y, cut.width, whole.bottom - cut.y)


def _widened(whole: Box, notch: Box, kept: Sequence[Box]) -> Box:
    """A notch takes all that is beside it up to the next side, where nothing that is kept stands there."""
    left, top, right, bottom = notch.x, notch.y, notch.right, notch.bottom
    for wider in (
        (whole.x, top, right, bottom),
        (left, top, whole.right, bottom),
        (left, whole.y, right, bottom),
        (left, top, right, whole.bottom),
    ):
        x, y = min(wider[0], left), min(wider[1], top)
        box = Box(x, y, max(wider[2], right) - x, max(wider[3], bottom) - y)
        if not any(box.overlaps(other) for other in kept):
            left, top, right, bottom = box.x, box.y, box.right, box.bottom
    return Box(left, top, right - left, bottom - top)


def _traced(whole: Box, notches: Sequence[Box]) -> list[Point] | None:
    """The corners, clockwise, of a rectangle without its notches; None where it falls into pieces or has a hole."""
    xs = sorted({whole.x, whole.right, *(x for n in notches for x in (n.x, n.right) if whole.x < x < whole.right)})
    ys = sorted({whole.y, whole.bottom, *(y for n in notches for y in (n.y, n.bottom) if whole.y < y < whole.bottom)})
    inside = {
        (i, j)
        for i, (left, right) in enumerate(pairwise(xs))
        for j, (top, bottom) in enumerate(pairwise(ys))
        if not any(n.overlaps(Box(left, top, right - left, bottom - top)) for n in notches)
    }
    after: dict[tuple[int, int], tuple[int, int]] = {}  # corner of cells -> the next one, clockwise
    for i, j in inside:
        for near, a, b in (
            ((i, j - 1), (i, j), (i + 1, j)),
            ((i + 1, j), (i + 1, j), (i + 1, j + 1)),
            ((i, j + 1), (i + 1, j + 1), (i, j + 1)),
            ((i - 1, j), (i, j + 1), (i, j)),
        ):
            if near not in inside:
                if a in after:
                    return None
                after[a] = b
    if not after:
        return None
    first = min(after, key=lambda corner: (corner[1], corner[0]))
    ring = [first]
    while after[ring[-1]] != first:
        ring.append(after[ring[-1]])
    if len(ring) != len(after):
        return None
    turns = [
        b for a, b, c in zip([ring[-1], *ring[:-1]], ring, [*ring[1:], ring[0]], strict=True)
        if not (a[0] == b[0] == c[0] or a[1] == b[1] == c[1])
    ]  # fmt: skip
    return [(xs[i], ys[j]) for i, j in turns]


def encloses(corners: Sequence[Point], at: Point) -> bool:
    """Whether a point lies within an outline."""
    x, y = at
    ring = [*corners, corners[0]]
    return sum(ax > x and min(ay, by) <= y < max(ay, by) for (ax, ay), (bx, by) in pairwise(ring) if ax == bx) % 2 == 1


def rows_in(corners: Sequence[Point]) -> list[Box]:
    """What an outline encloses, as rectangles one below the other."""
    ring = [*corners, corners[0]]
    out = []
    for top, bottom in pairwise(sorted({y for _, y in corners})):
        xs = sorted(a[0] for a, b in pairwise(ring) if a[0] == b[0] and min(a[1], b[1]) <= top < max(a[1], b[1]))
        out += [Box(left, top, right - left, bottom - top) for left, right in zip(xs[::2], xs[1::2], strict=True)]
    return out


def middle(box: Box) -> Point:
    """The middle of a box."""
    return box.x + box.width / 2, box.y + box.height / 2


def is_simple(corners: Sequence[Point]) -> bool:
    """Whether no stretch of an outline is empty or meets another but the next."""
    ring = list(pairwise([*corners, corners[0]]))
    boxes = [
        Box(min(a[0], b[0]), min(a[1], b[1]), abs(a[0] - b[0]), abs(a[1] - b[1])).grown(CLEAR / 2) for a, b in ring
    ]
    if any(a == b for a, b in ring):
        return False
    count = len(boxes)
    return not any(
        boxes[i].overlaps(boxes[j]) for i in range(count) for j in range(i + 2, count) if (j + 1) % count != i
    )
