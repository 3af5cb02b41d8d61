"""unmated-connector: half a connector is wired, and nothing is mated to it.

Hazard
    The circuit behind it is dead, and where the open half is live its pins are too.
Test
    Every plug or socket with conductors that no `mate` joins to another half, and every connector that says `unmated`.
Basis
    common practice
Bad
    plug P1 30 A, poles + -
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- P1.+
    start.- --[W2 black 2.5 mm2 1 m]-- P1.-
Good
    plug P1 30 A, poles + -
    socket P2 30 A, poles + -, shrouded
    mate P1 P2
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- P2.+
    start.- --[W2 black 2.5 mm2 1 m]-- P2.-
    pump.+ --[W3 red 2.5 mm2 1 m]-- P1.+
    pump.- --[W4 black 2.5 mm2 1 m]-- P1.-
Limits
    A case in which a connector is `apart` is meant and is not reported. The sense lead of a charger in an open half is
    for unterminated-sense-lead.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wiregen.circuit.dead_ends import pulled
from wiregen.circuit.questions import Rails, rails, signal_lead
from wiregen.circuit.study import Study
from wiregen.model.job import Conductor, Job, Part
from wiregen.rules import indicator_without_return
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import listed


@rule("unmated-connector", severity="warning", basis="common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each open connector that has conductors, or for a plug and a socket that belong together."""
    job = study.job
    lines = rails(study)
    found: dict[str, list[str]] = {}
    for part in job.parts.values():
        if part.kind not in ("connector", "plug", "socket"):
            continue
        wired = [t for t in part.terminals if any(e.kind == "conductor" for e, _ in study.network.around(t))]
        faces = {c.a: c.b for c in part.contacts} | {c.b: c.a for c in part.contacts}
        wired = [t for t in wired if not any(_sensed(job, lines, each) for each in (t, faces.get(t, t)))]
        open_ = [t for t in wired if pulled(job, study.network, t)]
        if open_ and all(_signals(study, t, faces.get(t, t)) for t in open_) and _told(study):
            yield Content(part.id, "keeps an indicator lamp from its return: see indicator-without-return")
        elif open_:
            found[part.id] = open_
        else:
            yield Content(part.id, "is mated")
    pairs = _pairs(job, found)
    for id, open_ in found.items():
        if id in pairs.values():
            continue
        ids = (id, pairs[id]) if id in pairs else (id,)
        open_ = [t for each in ids for t in found[each]]
        live = [t for t in open_ if lines.sources(t, "+")]
        part = job.parts[id]
        what = f"{id} is wired but nothing is mated to it" if not ids[1:] else f"{listed(ids)} are wired but not mated"
        yield Bad(
            subject=id,
            message=what + (f"; {listed(live)} {'are' if live[1:] else 'is'} live" if live else ""),
            at=mark(part, "unmated", "open"),
            related=(*ids[1:], *open_),
            reason="what lies behind it is dead" + (", and its live pins can be touched" if live else ""),
            remedy=f"mate {' '.join(ids)}, or say in a case that it is apart",
            values={"live": bool(live)},
            through=part.through,
        )


def _sensed(job: Job, lines: Rails, terminal: str) -> bool:
    return any(job.terminals[t].name == "sense" for t in lines.members[lines.net[terminal]])


def _signals(study: Study, terminal: str, face: str) -> bool:
    """Whether a conductor of sensing or control alone is on a pole, on the one side or the other."""
    leads = [e.item for t in (terminal, face) for e, _ in study.network.around(t) if isinstance(e.item, Conductor)]
    return any(signal_lead(study, lead) for lead in leads)


def _told(study: Study) -> bool:
    return any(isinstance(said, Bad) for said in indicator_without_return.check.judge(study))


def _pairs(job: Job, found: Iterable[str]) -> dict[str, str]:
    """Plugs and sockets alike that are all that is open in the job, or in one use of a kit: one `mate` is missing."""
    uses: dict[str, list[Part]] = {}
    for id in found:
        uses.setdefault(id.rpartition(".")[0], []).append(job.parts[id])
    pairs = {}
    for open_ in uses.values():
        poles = {tuple(sorted(job.terminals[t].name for t in part.terminals)) for part in open_}
        if sorted(part.kind for part in open_) == ["plug", "socket"] and len(poles) == 1:
            pairs[open_[0].id] = open_[1].id
    return pairs
