"""connector-overcurrent: a connector, switch, relay, busbar, fuse block or shunt carries more than its rating.

Hazard
    Its contacts heat up, oxidise, heat up more, and melt the housing.
Test
    The current through each contact of every connector, isolator, switch, relay, shunt and diode in every operating
    case against the part's rating; for plug and socket the current of their conductors, for a busbar and for a fuse
    block all that flows in.
Basis
    the maker's rating; common practice
Bad
    connector X1 10 A, poles + -
    start.+ -- F1 --[W1 red 6 mm2 1 m]-- X1.+ --[W2 red 6 mm2 1 m]-- heater.+
    heater.- --[W3 black 6 mm2 1 m]-- X1.b.-
    X1.a.- --[W4 black 6 mm2 1 m]-- start.-
Good
    connector X1 50 A, poles + -
    start.+ -- F1 --[W1 red 6 mm2 1 m]-- X1.+ --[W2 red 6 mm2 1 m]-- heater.+
    heater.- --[W3 black 6 mm2 1 m]-- X1.b.-
    X1.a.- --[W4 black 6 mm2 1 m]-- start.-
Limits
    A busbar or block behind a fuse of no more than its own rating is for undersized-fuse. A rating is often for thick
    conductors in free air. A case in which a starter turns is not judged, nor is inrush.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.protection import Guard, feeds, guard_at
from wiregen.circuit.study import CaseResult, Study
from wiregen.circuit.unprotected import live_posts
from wiregen.model.job import Part
from wiregen.rules.currents import brought, contact_strain, lasting, lossy, only_by_sag, unsure
from wiregen.rules.together import once
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, apart, beyond, clearly_more

KINDS = frozenset(
    {"connector", "switch", "isolator", "relay", "shunt", "diode", "voltage-relay", "low-voltage-disconnect"}
)
HALVES = frozenset({"plug", "socket"})
BARS = frozenset({"busbar", "fuse-block"})


@rule("connector-overcurrent", severity="danger", basis="the maker's rating; common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each part, or mated pair, whose contacts carry too much."""
    return once(study, _judged(study), "current_a")


def _judged(study: Study) -> Iterator[Verdict]:
    if why := unsure(study):
        yield Content("job", "{}: currents say nothing until that is put right", (why,))
        return
    sag = lossy(study)
    for part in study.job.parts.values():
        rating = part.number("rating")
        if rating is None or part.kind not in KINDS | HALVES | BARS:
            continue
        find = contact_strain if part.kind in KINDS else _half_strain if part.kind in HALVES else _bar_strain
        strain = find(study, part)
        if strain is None:
            continue
        case, current = strain
        if not beyond(current, rating) or only_by_sag(sag, case, part.id, current, rating):
            yield Content(part.id, "carries {} at most, is rated {}", (amps(current), amps(rating)))
            continue
        guard = _guard(study, part)
        if guard is not None and guard.device and not beyond(guard.rating, rating):
            yield Content(part.id, "stands behind {}, which opens first: undersized-fuse says so", (guard.device,))
            continue
        carries, rated = apart(current, rating)
        yield Bad(
            subject=part.id,
            message=f"{part.id} carries {carries} A in {case}, but is rated {rated} A",
            at=mark(part, "rating", f"rated {rated} A"),
            case=case,
            reason="it heats up until it or its cover fails"
            if part.kind in BARS
            else "its contacts heat up until they or the housing fail",
            remedy=f"fit one that is rated {carries} A or more, or share the current between "
            + ("two" if part.kind in BARS else "poles"),
            values={"current_a": current, "rating_a": rating},
            through=part.through,
        )


def _half_strain(study: Study, part: Part) -> tuple[str, float] | None:
    """The most that the conductors on one pole of a plug or socket bring together, and in which case. [A]"""
    worst: tuple[str, float] | None = None
    for case in lasting(study):
        for terminal in part.terminals:
            total = abs(brought(study, case, terminal))
            if worst is None or clearly_more(total, worst[1]):
                worst = case.name, total
    return worst


def _guard(study: Study, part: Part) -> Guard | None:
    """What limits the current that a source can drive into a part for good."""
    found = guard_at(study.job, study.network, (*live_posts(study.job, study.network), *feeds(study.job)))
    return max((found[t] for t in part.terminals if t in found), key=lambda guard: guard.rating, default=None)


def _bar_strain(study: Study, part: Part) -> tuple[str, float] | None:
    """The most that flows through a busbar, or through the feed or the return of a fuse block, and in which case. [A]

    What comes over fuses bolted to a bar is not counted.
    """
    back = f"{part.id}.-"
    sides = [[t for t in part.terminals if t != back], [t for t in part.terminals if t == back]]
    worst: tuple[str, float] | None = None
    for case in lasting(study):
        for terminals in sides:
            total = _through(study, case, terminals)
            if worst is None or clearly_more(total, worst[1]):
                worst = case.name, total
    return worst


def _through(study: Study, case: CaseResult, terminals: list[str]) -> float:
    """What conductors bring to a piece of metal, or take from it if that is more. [A]"""
    enters = leaves = 0.0
    for terminal in terminals:
        for edge, _ in study.network.around(terminal):
            flow = case.flows.get(edge.subject)
            current = 0.0 if flow is None or flow.current_a is None else flow.current_a
            into = current if edge.b == terminal else -current
            enters, leaves = enters + max(into, 0.0), leaves + max(-into, 0.0)
    return max(enters, leaves)
