"""unfused-positive: a conductor runs too far from a source before its first fuse or breaker.

Hazard
    If it chafes through or comes off, the whole fault current of the battery flows, nothing opens, and the
    conductor burns along its length.
Test
    From each live battery post, along every path through joints, splices, switches, shunts, connectors and busbars:
    the conductor length up to the first fuse or breaker. Where two batteries can feed one conductor, each end is
    judged for its own battery. Alternators and chargers limit their own current, so from them only a conductor that
    carries less than they can give is judged.
Basis
    The length is that of the job's `limits`. ABYC E-11 and 33 CFR 183.455: 7 in (178 mm), 40 in (1.02 m) in a sheath
    or enclosure all the way, 72 in (1.83 m) when it is also on a battery post. ISO 10133:2000, 8.1: 200 mm,
    which stands in for AS/NZS 3001.2 too: no figure of it was found. The boat standards are the published ones nearest
    to vehicles.
Bad
    start.+ --[W1 red 6 mm2 0.45 m]-- F1 --[red 2.5 mm2 3 m]-- pump.+
    pump.- --[black 2.5 mm2 3 m]-- start.-
Good
    start.+ --[W1 red 6 mm2 150 mm]-- F1 --[red 2.5 mm2 3 m]-- pump.+
    pump.- --[black 2.5 mm2 3 m]-- start.-
Limits
    The lead between a starter or alternator and its battery is rightly unfused (ABYC E-11 exempts starter conductors
    and self-limiting alternators); what branches off it is measured from the branch. A link between like batteries in
    one place is part of the bank (common practice, no source). Where positive meets negative, the rest is judged as if
    the crossing were taken out. The solar side has rules of its own, and so have leads that do nothing but trigger a
    charger (unfused-trigger) and sense leads that end in the wrong place (misplaced-sense-lead). Whether the protection
    fits the conductor is for oversized-fuse. An open switch counts as closed: it may be closed later.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import inf

from wiregen.circuit.control import triggers_behind
from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import Run, bank_links, engine_leads, live_posts, onward, reached
from wiregen.model.job import Part
from wiregen.rules.currents import too_thin
from wiregen.rules.limits import named, tail
from wiregen.rules.misplaced_sense_lead import misplaced
from wiregen.rules.unnamed import name_in
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, at_name, mark, rule
from wiregen.rules.words import amps, apart_metres, beyond, figure, metres


@rule("unfused-positive", severity="danger", basis="the distance from source to fuse of the chosen limits")
def check(study: Study) -> Iterator[Verdict]:
    """Each conductor that a source feeds unprotected, once for each source that can; a link in series once."""
    job = study.job
    study = replace(study, network=without(study.network, crossings(job, study.network)))
    posts = live_posts(job, study.network)
    engine = engine_leads(job, study.network, posts)
    bank = bank_links(job, study.network)
    for name, machine in engine.items():
        yield Content(name, "the lead of {} to its battery is rightly unfused", (machine,))
    for name, batteries in bank.items():
        yield Content(name, "links {} and {} into one bank", batteries)
    said, astray = set(too_thin(study)), misplaced(study)
    series: list[Bad] = []  # from positive posts; what the next battery's negative post feeds of it is the same fault
    for post in sorted(posts, key=lambda each: each.endswith("-")):  # the positive ones first
        for verdict in _battery(study, post, posts, {*engine, *bank}, astray):
            if not isinstance(verdict, Bad):
                yield verdict
            elif post.endswith("-") and any(_same_link(bad, verdict) for bad in series):
                yield Content(verdict.subject, "between batteries in series, fed by {} too: said once", (post,))
            else:
                said.add(verdict.subject)
                if post.endswith("+"):
                    series.append(verdict)
                yield verdict
    for part in job.parts.values():
        if part.kind in ("charger", "solar-controller", "mains-charger", "alternator"):
            yield from _limited(study, part, posts, said, set(engine), astray)
        elif part.kind == "feed":
            yield _feed(part)


def _same_link(bad: Bad, verdict: Bad) -> bool:
    """Whether a negative post feeds a link between batteries in series of which its positive end is spoken of."""
    fuse = verdict.values["first_protection"]
    return verdict.subject in (bad.subject, *bad.related) or (
        fuse is not None and fuse == bad.values["first_protection"]
    )


def _battery(
    study: Study, post: str, posts: tuple[str, ...], free: set[str], astray: frozenset[str]
) -> Iterator[Verdict]:
    """What one battery post feeds; `astray` are sense leads in the wrong place."""
    job = study.job

    def limit(run: Run) -> float:
        return tail(job, enclosed=run.enclosed, on_post=run.on_post).value

    for run, within in reached(job, study.network, post, limit=limit, stops=posts, free=free):
        conductor = run.conductor
        if not within:
            if triggers_behind(job, study.network, run.conductor, run.leaves):
                yield Content(conductor.id, "leads to a trigger only: unfused-trigger judges it")
            elif conductor.id in astray:
                yield Content(conductor.id, "is a sense lead in the wrong place: misplaced-sense-lead says so")
            else:
                yield _unfused(study, run, posts)
        elif run.end_m is not None:
            yield Content(conductor.id, "ends {} from {}, within {}", (metres(run.end_m), post, metres(limit(run))))
        elif not conductor.has("length"):
            yield Unjudged(
                conductor.id,
                f"the length of {conductor.id}",
                f"write the length in {conductor.id}, as in --[{name_in(conductor)}150 mm]--",
                at_name(conductor, "no length"),
                conductor.through,
            )


def _unfused(study: Study, run: Run, posts: tuple[str, ...]) -> Bad:
    """The finding on the first conductor that runs too far."""
    job, conductor, source = study.job, run.conductor, run.source
    allowed = tail(job, enclosed=run.enclosed, on_post=run.on_post)
    rest = onward(job, study.network, run.leaves, conductor, posts)
    length = conductor.number("length") or 0.0
    total = run.known_m + (rest.length_m or 0.0)
    runs, limit = apart_metres(total, allowed.value)
    remedy = f"fit a fuse or breaker within {limit} of {source}"
    if rest.protected_by:
        message = f"{conductor.id} is fed by {source} over {runs} of conductor before {rest.protected_by}"
        near = onward(job, study.network, source, None, [post for post in posts if post != source])
        if near.protected_by == rest.protected_by and near.length_m is not None and near.length_m <= allowed.value:
            message = f"{conductor.id} is fed by {source} round {rest.protected_by} and nothing protects it over {runs}"
        elif not job.parts[rest.protected_by].block:  # a way's fuse stays in its block
            remedy = f"fit {rest.protected_by} within {limit} of {source}"
    else:
        message = f"{conductor.id} is fed by {source} and no fuse or breaker protects it over {runs}"
    remedy += f", rated for at most {amps(carries)}" if (carries := study.ampacities.get(conductor.id)) else ""
    if named(job) == "abyc" and not run.enclosed:
        remedy += "; in a sheath or conduit all the way more length is allowed"
    through = f"a fault anywhere on it is fed by {source} with nothing to open it"
    owner = job.parts[job.terminals[source].part]
    return Bad(
        subject=conductor.id,
        message=f"{message}; {limit} is allowed",
        at=mark(conductor, "length", f"{metres(length)}, unprotected"),
        related=tuple(dict.fromkeys((source, *run.before, *(i for i in rest.ids if i != conductor.id)))),
        marks=(at_name(owner, f"feeds {conductor.id} from {source}"),),
        reason=f"{through}: the conductor burns, and what lies beside it",
        remedy=remedy,
        values={
            "source": source,
            "length_m": total,
            "limit_m": allowed.value,
            "from_m": run.start_m or 0.0,
            "first_protection": rest.protected_by,
            "enclosed": run.enclosed,
            "path": " ".join((*run.before, conductor.id)),
        },
        through=conductor.through,
        basis=allowed.basis,
    )


def _limited(
    study: Study, part: Part, posts: tuple[str, ...], said: set[str], free: set[str], astray: frozenset[str]
) -> Iterator[Verdict]:
    """A source that limits its own current: only conductors that carry less than it gives need a fuse there."""
    job = study.job
    rating = part.number("rating")
    source = next((t for t in part.terminals if t in (f"{part.id}.out.+", f"{part.id}.+")), None)
    if source is None or not job.terminals[source].used:
        return
    if rating is None:
        yield Unjudged(
            part.id, f"the rating of {part.id}", f"write the current that {part.id} can give, as in `{part.id} 25 A`",
            at_name(part, "no rating"), part.through,
        )  # fmt: skip
        return

    def limit(run: Run) -> float:
        return tail(job, enclosed=run.enclosed).value if thin(run) else inf

    def thin(run: Run) -> bool:
        carries = study.ampacities.get(run.conductor.id)
        return carries is not None and beyond(rating, carries)

    for run, within in reached(job, study.network, source, limit=limit, stops=posts, free=free):
        conductor = run.conductor
        carries = study.ampacities.get(conductor.id)
        if carries is None or conductor.id in said or triggers_behind(job, study.network, conductor, run.leaves):
            continue  # not judged, or judged already
        if within:
            yield Content(conductor.id, "carries {}, {} limits itself to {}", (amps(carries), part.id, amps(rating)))
        elif conductor.id not in astray:
            yield _too_weak(study, part, run, rating, carries)


def _too_weak(study: Study, part: Part, run: Run, rating: float, carries: float) -> Bad:
    """The finding on a conductor that carries less than a source that limits its own current gives."""
    conductor, source, allowed = run.conductor, run.source, tail(study.job, enclosed=run.enclosed)
    return Bad(
        subject=conductor.id,
        message=(
            f"{conductor.id} carries {amps(carries)}, but {part.id} can feed {amps(rating)} into it"
            f" with no fuse within {metres(allowed.value)} of {source}"
        ),
        at=mark(conductor, "size", f"carries {amps(carries)}"),
        related=(source, *run.before),
        marks=(mark(part, "rating", f"gives {figure(rating)} A"),),
        reason=f"{part.id} limits its current, but to more than {conductor.id} bears",
        remedy=(
            f"fuse {conductor.id} at {amps(carries)} or less within {metres(allowed.value)} of {source},"
            f" or size it for {amps(rating)}"
        ),
        values={"source": source, "rating_a": rating, "ampacity_a": carries, "limit_m": allowed.value},
        through=conductor.through,
        basis=allowed.basis,
    )


def _feed(part: Part) -> Verdict:
    """An existing vehicle circuit: protected where the netlist says by what."""
    fused = part.number("fused")
    if fused is not None:
        return Content(part.id, "fused at {} in the vehicle", (amps(fused),))
    return Unjudged(
        part.id,
        f"the fuse of the existing circuit {part.id}",
        f"find its fuse in the vehicle and write it, as in `feed {part.id} fused 5 A`",
        at_name(part, "fused by what?"),
        part.through,
    )
