"""unfused-trigger: the trigger lead of a charger hangs on a live source without a fuse of its own.

Hazard
    The lead is thin, because a trigger takes milliamps, but the battery behind it gives a thousand amps: where it
    chafes through, it glows along its whole length.
Test
    Conductors that lead to triggers and to nothing else, from each live battery post, starter stud or alternator: the
    length up to the first fuse or breaker, as unfused-positive measures it. Where the fuse is there but too large for
    the lead, oversized-fuse says so.
Basis
    As unfused-positive: the length of the job's `limits`. Trigger leads are fused at 1 to 5 A (from memory, not read).
Bad
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    switch S1 5 A
    start.+ --[G1 blue 1 mm2 1.5 m]-- S1 --[G2 blue 1 mm2 2 m]-- dcdc.trigger
Good
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    switch S1 5 A
    start.+ --[G1 blue 1 mm2 0.1 m]-- F3 --[G2 blue 1 mm2 1.4 m]-- S1 --[G3 blue 1 mm2 2 m]-- dcdc.trigger
Limits
    A lead that feeds something else as well is judged by unfused-positive. A feed is taken to be fused where it says
    at what.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf

from wiregen.circuit.control import triggers_behind
from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.protection import OPEN, guards
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import Run, bank_links, engine_leads, live_posts, onward, reached
from wiregen.rules.limits import Limit, tail
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, at_name, mark, rule
from wiregen.rules.words import amps, apart_metres, beyond, listed, metres

FUSED_AT = 5.0
"""Largest fuse of a trigger lead [A]: usual in the trade, from memory."""


@rule("unfused-trigger", severity="danger", basis="the distance from source to fuse of the chosen limits")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each trigger lead that nothing protects."""
    job = study.job
    if not any(f"{p.id}.trigger" in p.terminals and job.terminals[f"{p.id}.trigger"].used for p in job.parts.values()):
        return
    study = replace(study, network=without(study.network, crossings(job, study.network)))
    posts = live_posts(job, study.network)
    free = {*engine_leads(job, study.network, posts), *bank_links(job, study.network)}
    limits = [p for p in job.parts.values() if p.kind in ("alternator", "charger", "mains-charger", "solar-controller")]
    gives = {t: p.number("rating") for p in limits for t in p.terminals if t in (f"{p.id}.+", f"{p.id}.out.+")}
    guarded = guards(job, study.network, posts)
    said: set[str] = set()
    for source in (*posts, *gives):
        most = gives.get(source)

        def bears(run: Run, most: float | None = most) -> bool:
            carries = study.ampacities.get(run.conductor.id)
            return most is not None and carries is not None and not beyond(most, carries)

        def limit(run: Run, limited: bool = source in gives) -> float:
            return inf if limited and bears(run) else _allowed(study, run).value

        for run, within in reached(job, study.network, source, limit=limit, stops=posts, free=free):
            ends = triggers_behind(job, study.network, run.conductor, run.leaves)
            if not ends or run.conductor.id in said:
                continue
            if within:
                if run.end_m is not None:
                    yield Content(run.conductor.id, "ends {} from {}", (metres(run.end_m), source))
                continue
            said.add(run.conductor.id)
            guard = guarded.get(run.conductor.id)
            if source in gives and guard is not None and guard.rating != OPEN:
                yield Content(run.conductor.id, "is behind {}: oversized-fuse judges it", (guard.device,))
                continue
            yield _bad(study, run, ends, posts)
    for part in job.parts.values():
        if part.kind == "feed" and not part.has("fused"):
            runs = reached(job, study.network, part.id, limit=lambda run: inf, stops=posts)
            if any(triggers_behind(job, study.network, run.conductor, run.leaves) for run, _ in runs):
                yield Unjudged(
                    part.id, f"the fuse of the existing circuit {part.id}",
                    f"find its fuse in the vehicle and write it, as in `feed {part.id} fused 5 A`",
                    at_name(part, "fused by what?"), part.through,
                )  # fmt: skip


def _allowed(study: Study, run: Run) -> Limit:
    return tail(study.job, enclosed=run.enclosed, on_post=run.on_post)


def _bad(study: Study, run: Run, ends: tuple[str, ...], posts: tuple[str, ...]) -> Bad:
    job, conductor = study.job, run.conductor
    allowed = _allowed(study, run)
    rest = onward(job, study.network, run.leaves, conductor, posts)
    length = conductor.number("length") or 0.0
    total = run.known_m + (rest.length_m or 0.0)
    runs, most = apart_metres(total, allowed.value)
    carries = study.ampacities.get(conductor.id)
    fuse = min(FUSED_AT, carries) if carries else FUSED_AT
    before = f" before {rest.protected_by}" if rest.protected_by else ""
    owner = job.parts[job.terminals[run.source].part]
    chargers = listed(dict.fromkeys(job.terminals[end].part for end in ends))
    return Bad(
        subject=conductor.id,
        message=(
            f"the trigger lead {conductor.id} of {chargers} is fed by {run.source}"
            f" and nothing protects it over {runs}{before}; {most} is allowed"
        ),
        at=mark(conductor, "length", f"{metres(length)}, unprotected"),
        related=tuple(dict.fromkeys((run.source, *run.before, *(i for i in rest.ids if i != conductor.id)))),
        marks=(at_name(owner, f"feeds {conductor.id}"),),
        reason=f"it is a thin lead on a source that gives far more than it bears{_bears(carries)}",
        remedy=f"fit a fuse of {amps(fuse)} or less within {most} of {run.source}",
        values={
            "source": run.source,
            "length_m": total,
            "limit_m": allowed.value,
            "ampacity_a": carries,
            "fuse_a": fuse,
            "first_protection": rest.protected_by,
            "path": " ".join((*run.before, conductor.id)),
        },
        through=conductor.through,
        basis=allowed.basis,
    )


def _bears(carries: float | None) -> str:
    return f" ({amps(carries)})" if carries else ""
