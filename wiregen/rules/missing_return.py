"""missing-return: a device has its positive, but no way back to a source.

Hazard
    It does not work; or its current finds a way back through something that was never meant to carry it: a plug's
    shield, a data lead, the earth of a lamp.
Test
    Every load, lamp, inverter, starter, charger port and voltage relay whose positive is fed: its negative has to reach
    the negative of a source, through conductors, contacts, bodies and other devices.
Basis
    common practice
Bad
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
Good
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 1 m]-- start.-
Limits
    Where a body to which no source is joined is all that the negatives land on, that is for body-not-bonded. Whether
    a body may carry the current is for isolated-body-return; whether the return is thick enough for
    undersized-return. An indicator lamp is for indicator-without-return.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.bonding import carrying, on_nothing
from wiregen.circuit.crossing import crossings
from wiregen.circuit.polarity import SINKS, gives
from wiregen.circuit.questions import Rails, closes, ports, rails
from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import listed


@rule("missing-return", severity="danger", basis="common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each device without a way back, or for all whose negatives lie together."""
    job = study.job
    lines = rails(study)
    met = crossings(job, study.network)
    wrong = {t for crossing in met for t in crossing.sufferers}
    said = () if met else [body for body in carrying(study) if on_nothing(study, lines, body)]
    unbonded = {lines.net[earth]: body.id for body in said for earth in body.earths if earth in lines.net}
    lost: dict[str, list[tuple[Part, str, str]]] = {}  # net of the negatives -> device, its positive, its negative
    for part in job.parts.values():
        if part.kind not in SINKS or part.kind in ("feed", "battery", "panel", "alternator"):
            continue
        pairs = ports(part)
        if part.kind in ("voltage-relay", "low-voltage-disconnect"):
            pairs = ((f"{part.id}.in", f"{part.id}.-"),)
        for plus, minus in pairs:
            if gives(job, plus) or plus not in lines.net or not lines.sources(job, plus, "+") or minus in wrong:
                continue
            if closes(study, lines, minus):
                yield Content(part.id, "{} gets back to a source", (minus,))
                continue
            if lines.net.get(minus) in unbonded:
                yield Content(
                    part.id, "returns through {}, which is not bonded: see there", (unbonded[lines.net[minus]],)
                )
                continue
            lost.setdefault(lines.net.get(minus, minus), []).append((part, plus, minus))
            break
    for together in lost.values():
        yield _bad(study, lines, together)


def _bad(study: Study, lines: Rails, together: list[tuple[Part, str, str]]) -> Bad:
    part, plus, minus = together[0]
    others = [other.id for other, _, _ in together[1:]]
    source = lines.sources(study.job, plus, "+")[0]
    used = study.job.terminals[minus].used
    shared = f" (so too {listed(others)})" if others else ""
    return Bad(
        subject=part.id,
        message=f"{part.id} is fed at {plus} from {source}, but {minus} "
        + ("does not lead back to a source" if used else "is connected to nothing")
        + shared,
        at=mark(part, "", "no way back"),
        related=(plus, minus, source, *others),
        reason=f"{part.id} is dead, or its current returns through something not meant for it",
        remedy=f"lead {minus} back to the negative of {source}, in a conductor of the same size",
        values={"positive": plus, "negative": minus, "source": source},
        through=part.through,
    )
