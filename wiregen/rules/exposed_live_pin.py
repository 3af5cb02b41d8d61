"""exposed-live-pin: a connector is pulled apart, and the half that stays live is not the shrouded one.

Hazard
    The open pins are at battery voltage with the battery's full short-circuit current behind them: a tool, a chain or
    the bodywork that touches them welds on.
Test
    Each connector that says which side is `shrouded`, and each mated plug and socket of which one half is: with its
    poles apart, every half that a battery, a panel, a mains charger or a feed still reaches through contacts and fuses
    has to be a shrouded one. Where both sides can feed, both.
Basis
    common practice; IEC 61984 asks that live contacts are not accessible when unmated (from memory, not read)
Bad
    connector X1 50 A, poles + -, volts 60 V, shrouded b
    start.+ -- F1 --[W1 red 4 mm2 1 m]-- X1.+ --[W2 red 4 mm2 1 m]-- pump.+
    start.- --[W3 black 4 mm2 1 m]-- X1.- --[W4 black 4 mm2 1 m]-- pump.-
Good
    connector X1 50 A, poles + -, volts 60 V, shrouded a
    start.+ -- F1 --[W1 red 4 mm2 1 m]-- X1.+ --[W2 red 4 mm2 1 m]-- pump.+
    start.- --[W3 black 4 mm2 1 m]-- X1.- --[W4 black 4 mm2 1 m]-- pump.-
Limits
    A connector of which nothing is said about shrouds is not judged. Switches and relays on the way count as closed.
    The output of a DC-DC charger counts as dead: many give nothing without a battery.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from wiregen.circuit.crossing import crossings
from wiregen.circuit.live import live_sources, live_without
from wiregen.circuit.network import Edge
from wiregen.circuit.polarity import joined
from wiregen.circuit.study import Study
from wiregen.model.job import Contact, Link, Part
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import listed


class Half(NamedTuple):
    """One half of a pair: its part, how it is called, its terminals, whether it is shrouded."""

    part: Part
    name: str
    terminals: tuple[str, ...]
    shrouded: bool


class Pair(NamedTuple):
    """Two halves and the edges that open when they part. `id` is what the finding is about where both are wrong."""

    id: str
    halves: tuple[Half, Half]
    edges: tuple[Edge, ...]


@rule(
    "exposed-live-pin",
    severity="danger",
    basis="common practice; IEC 61984: live contacts not accessible when unmated (from memory, not read)",
)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each pair of which a half that stays live is open to the touch."""
    pairs = [p for p in (*_connectors(study), *_mated(study)) if any(half.shrouded for half in p.halves)]
    part_open = [pair for pair in pairs if not all(half.shrouded for half in pair.halves)]
    if part_open and crossings(study.job, study.network):
        yield Content("job", "positive meets negative somewhere: what is live is judged when that is put right")
        return
    ways = joined(study.job, study.network) if part_open else ()
    sources = live_sources(study.job, study.network) if part_open else {}
    for pair in pairs:
        live = live_without(ways, sources, pair.edges) if pair in part_open else {}
        open_ = [half for half in pair.halves if not half.shrouded and any(t in live for t in half.terminals)]
        if open_:
            yield _bad(pair, open_[0], live)
        else:
            yield Content(pair.id, "no half that stays live is open to the touch")


def _connectors(study: Study) -> Iterator[Pair]:
    """Connectors that are declared as a pair, and say their shrouds."""
    for part in study.job.parts.values():
        if part.kind != "connector" or not part.has("shrouded"):
            continue
        side = part.word("shrouded") or "both"
        first, second = (Half(part, f"side {s} of {part.id}", _side(part, s), side in (s, "both")) for s in ("a", "b"))
        poles = tuple(
            e for e in study.network.edges if isinstance(e.item, Contact) and e.item.part == part.id and e.item.closed
        )
        if poles:
            yield Pair(part.id, (first, second), poles)


def _side(part: Part, side: str) -> tuple[str, ...]:
    return tuple(t for t in part.terminals if t.startswith(f"{part.id}.{side}."))


def _mated(study: Study) -> Iterator[Pair]:
    """Plugs and sockets that are mated."""
    found: dict[tuple[str, str], list[Edge]] = {}
    for edge in study.network.edges:
        if isinstance(edge.item, Link) and edge.item.why == "mated":
            one, other = study.job.terminals[edge.a].part, study.job.terminals[edge.b].part
            found.setdefault((one, other), []).append(edge)
    for ids, edges in found.items():
        first, second = (
            Half(part, part.id, part.terminals, part.has("shrouded")) for part in (study.job.parts[i] for i in ids)
        )
        yield Pair(first.part.id, (first, second), tuple(edges))


def _bad(pair: Pair, half: Half, live: dict[str, str]) -> Bad:
    other = next(each for each in pair.halves if each is not half)
    pins = [t for t in half.terminals if t in live]
    sources = list(dict.fromkeys(live[t] for t in pins))
    stays = "stays" if len(pins) == 1 else "stay"
    both = any(t in live for t in other.terminals)
    remedy = (
        "both sides feed: fit a pair with both halves shrouded"
        if both
        else f"put the shrouded half on the side of {listed(sources)}, or fit a pair with both halves shrouded"
    )
    return Bad(
        subject=half.part.id,
        message=f"apart, {listed(pins)} {stays} live from {listed(sources)}, but {half.name} is not shrouded",
        at=mark(half.part, "shrouded", "the other half is shrouded" if half.part is other.part else "not shrouded"),
        related=tuple(dict.fromkeys((*pins, *sources, *(() if half.part is other.part else (other.part.id,))))),
        marks=() if half.part is other.part else (mark(other.part, "shrouded", "this half is"),),
        reason="what touches the open pins takes the short-circuit current of the source",
        remedy=remedy,
        values={"pins": ", ".join(pins), "sources": ", ".join(sources), "both_live": both},
        through=half.part.through,
    )
