"""Which fuse or breaker stands guard over each conductor: the one that has to open when the conductor is shorted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from heapq import heappop, heappush
from typing import NamedTuple

from wiregen.circuit.network import Network
from wiregen.circuit.unprotected import passes
from wiregen.model.job import Job

OPEN = float("inf")


class Guard(NamedTuple):
    """The weakest protective device between a source and a conductor. `device` is `` and `rating` [A] endless where
    there is none; a feed guards by the fuse that it says it has."""

    source: str
    device: str
    rating: float


def guards(job: Job, network: Network, sources: Iterable[str]) -> Mapping[str, Guard]:
    """Conductor -> what limits the current that the sources can drive into it for good, the worst source counting.

    Of parallel ways from one source the one with the larger fuse counts; of fuses in a row the smallest. A device
    whose rating is not given is passed over.
    """
    worst: dict[str, Guard] = {}
    for source in sources:
        at = _reach(job, network, source)
        for edge in network.edges:
            if edge.kind != "conductor":
                continue
            ends = [at[t] for t in (edge.a, edge.b) if t in at]
            if not ends:
                continue
            best = max(ends, key=lambda guard: guard.rating)
            if edge.subject not in worst or best.rating > worst[edge.subject].rating:
                worst[edge.subject] = best
    return worst


def guard_at(job: Job, network: Network, sources: Iterable[str]) -> Mapping[str, Guard]:
    """Terminal -> as `guards`, for what is connected there."""
    worst: dict[str, Guard] = {}
    for source in sources:
        for terminal, guard in _reach(job, network, source).items():
            if terminal not in worst or guard.rating > worst[terminal].rating:
                worst[terminal] = guard
    return worst


def feeds(job: Job) -> tuple[str, ...]:
    """Existing vehicle circuits that the job takes from: sources with a fuse of their own."""
    return tuple(part.id for part in job.parts.values() if part.kind == "feed")


def _reach(job: Job, network: Network, source: str) -> dict[str, Guard]:
    """Terminal -> the guard on the best way from the source to it."""
    part = job.part_of(source)
    first = Guard(source, "", OPEN)
    if part is not None and part.kind == "feed":
        first = Guard(source, part.id, part.number("fused") or OPEN)
    done: dict[str, Guard] = {}
    queue: list[tuple[float, int, str, Guard]] = [(-first.rating, 0, source, first)]
    turn = 0
    while queue:
        _, _, here, guard = heappop(queue)
        if here in done:
            continue
        done[here] = guard
        for edge, there in network.around(here):
            if there in done or not passes(edge):
                continue
            turn += 1
            after = guard
            if edge.protects:
                rating = job.parts[edge.subject].number("rating")
                if rating is not None and rating < guard.rating:
                    after = Guard(source, edge.subject, rating)
            heappush(queue, (-after.rating, turn, there, after))
    return done
