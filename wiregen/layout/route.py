"""Runs in the channels: which upright track each takes, and how wide everything becomes.

Expects heights at which, on each face of a channel, different nets stand apart; guarantees that runs of different nets
cross only at right angles and in the open. Wires that share a pin share a track (a trunk). Of two tracks the order is
bound where the one's level run at the left is at the height of the other's at the right; else it follows crossings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

from wiregen.layout.items import EAST, STUB, Layered

NEAR = 1.25  # level runs of two nets that are closer than this must not overlap sideways [mm]


@dataclass(slots=True)
class Track:
    """One upright piece in a channel with the heights of the level runs that meet it from the left and the right."""

    index: int
    net: int
    west: list[float]  # heights of runs that come from the left
    east: list[float]
    segments: list[int]
    slot: int = 0
    bound: list[int] = field(default_factory=list)  # tracks that must stand to the right
    detour: Detour | None = None

    @property
    def low(self) -> float:
        return min(self.west + self.east + ([self.detour.y] if self.detour else []))

    @property
    def high(self) -> float:
        return max(self.west + self.east + ([self.detour.y] if self.detour else []))


class Detour(NamedTuple):
    """The level piece between the two halves of a track that no order could place."""

    y: float


class Channel(NamedTuple):
    """The tracks of one channel. `track_of` tells the track (or two, with a detour) of each segment."""

    slots: int
    tracks: list[Track]
    track_of: dict[int, tuple[int, ...]]


def route(layered: Layered, heights: Sequence[float]) -> list[Channel]:
    """Tracks for every channel."""
    by_channel: list[list[int]] = [[] for _ in range(layered.columns + 1)]
    for seg in layered.segments:
        by_channel[seg.channel].append(seg.index)
    return [_channel(layered, heights, segments) for segments in by_channel]


def pin_height(layered: Layered, heights: Sequence[float], pin: int) -> float:
    """The height at which runs land on a pin."""
    p = layered.pins[pin]
    return heights[p.item] + p.y


def _channel(layered: Layered, heights: Sequence[float], segments: list[int]) -> Channel:
    tracks = _tracks(layered, heights, segments)
    levels = _levels(layered, heights, segments)
    _bind(tracks)
    order = _order(tracks)
    tracks, order = _detours(tracks, order, levels)
    slots = _slots(tracks, order)
    track_of: dict[int, tuple[int, ...]] = {}
    for t in tracks:
        for s in t.segments:
            track_of[s] = (*track_of.get(s, ()), t.index)
    return Channel(slots, tracks, track_of)


def _levels(layered: Layered, heights: Sequence[float], segments: list[int]) -> list[float]:
    """Heights of all level runs in the channel."""
    return sorted({pin_height(layered, heights, p) for s in segments
                   for p in (layered.segments[s].a, layered.segments[s].b)})  # fmt: skip


def _tracks(layered: Layered, heights: Sequence[float], segments: list[int]) -> list[Track]:
    """Segments that share their busier pin share a track; a level segment alone needs none."""
    hubs: dict[int, list[int]] = {}
    degree = {p: 0 for s in segments for p in (layered.segments[s].a, layered.segments[s].b)}
    for s in segments:
        for p in {layered.segments[s].a, layered.segments[s].b}:
            degree[p] += 1
    for s in segments:
        seg = layered.segments[s]
        hub = seg.a if degree[seg.a] >= degree[seg.b] else seg.b
        hubs.setdefault(hub, []).append(s)
    tracks: list[Track] = []
    for group in hubs.values():
        west: set[float] = set()
        east: set[float] = set()
        for s in group:
            for p in (layered.segments[s].a, layered.segments[s].b):
                (west if layered.pins[p].face == EAST else east).add(pin_height(layered, heights, p))
        first = layered.segments[group[0]]
        same = layered.pins[first.a].face == layered.pins[first.b].face
        if len(group) == 1 and not same and west == east:
            continue
        net = layered.graph.wires[first.wires[0]].net
        tracks.append(Track(len(tracks), net, sorted(west), sorted(east), list(group)))
    return tracks


def _bind(tracks: list[Track]) -> None:
    """Where a run from the left and one to the right are at the same height, the first one's track is to the left."""
    west = sorted((y, t.index) for t in tracks for y in t.west)
    east = sorted((y, t.index) for t in tracks for y in t.east)
    k = 0
    for y, t in west:
        while k < len(east) and east[k][0] <= y - NEAR:
            k += 1
        m = k
        while m < len(east) and east[m][0] < y + NEAR:
            other = tracks[east[m][1]]
            if other.index != t and not (other.net == tracks[t].net and _hinge(other, tracks[t], y)):
                tracks[t].bound.append(other.index)
            m += 1


def _hinge(a: Track, b: Track, y: float) -> bool:
    """Whether two tracks of one net meet at a run of that height from the same face (they share its pin)."""
    return (y in a.west and y in b.west) or (y in a.east and y in b.east)


def _wish(a: Track, b: Track) -> int:
    """Crossings saved if `a` stands to the left of `b` rather than to its right."""
    left = _inside(a.east, b) + _inside(b.west, a)
    right = _inside(b.east, a) + _inside(a.west, b)
    return right - left


def _inside(levels: Sequence[float], track: Track) -> int:
    low, high = track.low, track.high
    return sum(low < y < high for y in levels)


def _order(tracks: list[Track]) -> list[int]:
    """From left to right: bounds first, then fewest crossings."""
    count = len(tracks)
    after: list[dict[int, float]] = [{} for _ in range(count)]
    before: list[dict[int, float]] = [{} for _ in range(count)]
    by_low = sorted(range(count), key=lambda i: (tracks[i].low, i))
    live: list[int] = []
    for i in by_low:
        live = [j for j in live if tracks[j].high > tracks[i].low]
        for j in live:
            saved = _wish(tracks[i], tracks[j])
            if saved > 0:
                after[i][j] = float(saved)
            elif saved < 0:
                after[j][i] = float(-saved)
        live.append(i)
    for t in tracks:
        for other in t.bound:
            after[t.index][other] = after[t.index].get(other, 0.0) + 1e6
    for i in range(count):
        for j, weight in after[i].items():
            before[j][i] = weight
    # greedy order: what nothing should stand left of goes first; else what loses least (Eades, Lin and Smyth, 1993)
    left = sorted(range(count), key=lambda i: (tracks[i].low, i))
    balance = {i: sum(before[i].values()) for i in left}
    order: list[int] = []
    while left:
        best = min(left, key=lambda i: (balance[i] > 0, balance[i] - sum(after[i].values()) if balance[i] > 0 else 0))
        left.remove(best)
        order.append(best)
        del balance[best]
        for j, weight in after[best].items():
            if j in balance:
                balance[j] -= weight
        for j in before[best]:
            after[j].pop(best, None)
    return order


def _detours(tracks: list[Track], order: list[int], levels: list[float]) -> tuple[list[Track], list[int]]:
    """Split tracks whose bounds the order breaks: one half far left, one far right, joined at a height of their own."""
    rank = {t: k for k, t in enumerate(order)}
    taken = list(levels)
    firsts: list[int] = []
    lasts: list[int] = []
    while True:
        broken: dict[int, int] = {}
        for t in tracks:
            for other in t.bound:
                if rank[t.index] > rank[other]:
                    broken[t.index] = broken.get(t.index, 0) + 1
                    broken[other] = broken.get(other, 0) + 1
        if not broken:
            break
        worst = max(broken, key=lambda i: (broken[i], -i))
        t = tracks[worst]
        y = _free_level(taken, (t.low + t.high) / 2)
        taken = sorted([*taken, y])
        second = Track(len(tracks), t.net, [], t.east, list(t.segments), 0, [], Detour(y))
        tracks.append(second)
        t.east, t.detour = [], Detour(y)
        # its runs from the left end at the far left, those to the right begin at the far right: no bound remains
        t.bound = []
        for each in tracks:
            each.bound = [x for x in each.bound if x != worst]
        order.remove(worst)
        firsts.append(worst)
        lasts.append(second.index)
        order = [*firsts, *[x for x in order if x not in firsts and x not in lasts], *lasts[::-1]]
        rank = {x: k for k, x in enumerate(order)}
    return tracks, order


def _free_level(taken: list[float], near: float) -> float:
    """A height well clear of all others, close to the wanted one."""
    gaps = [(b - a, a) for a, b in pairwise(taken) if b - a >= 2 * NEAR]
    spots = [a + size / 2 for size, a in gaps] + [taken[0] - STUB, taken[-1] + STUB]
    return min(spots, key=lambda y: (abs(y - near), y))


def _slots(tracks: list[Track], order: list[int]) -> int:
    """Number the tracks from the left; those that do not stand side by side may share a number."""
    done: list[Track] = []
    most = 0
    for i in order:
        t = tracks[i]
        slot = 0
        for other in done:
            beside = other.low < t.high + STUB and t.low < other.high + STUB
            if beside or t.index in other.bound or other.index in t.bound:
                slot = max(slot, other.slot + 1)
        t.slot = slot
        most = max(most, slot + 1)
        done.append(t)
    return most


__all__ = ["NEAR", "Channel", "Detour", "Track", "pin_height", "route"]
