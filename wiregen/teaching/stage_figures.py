"""One figure for each step of the installation: new in strong line, there already in normal line, later in pale."""

from __future__ import annotations

from dataclasses import replace

from wiregen.circuit.stages import VEHICLE, Arrivals, BareEnd, arrivals, bare_ends, live
from wiregen.circuit.study import Study
from wiregen.drawing.look import Look
from wiregen.layout.telling import describe
from wiregen.layout.words import job_title
from wiregen.model.job import Job, Stage
from wiregen.teaching.captions import called, figure, named, notes_on, several
from wiregen.teaching.draft import Draft, Key, Table
from wiregen.teaching.look import NORMAL, PALE, STRONG
from wiregen.teaching.order import staged

LIVE = "#ffb52e"  # the band behind what is live
OUT, IN = "out", "in"


def stage_drafts(study: Study) -> list[Draft]:
    """The whole job, each stage in turn, and everything connected."""
    job = replace(study.job, stages=staged(study))
    when = arrivals(job)
    bare = bare_ends(job, study.network, when)
    drafts = [_whole(job)]
    drafts += [_stage(study, job, when, at, bare) for at in range(len(when.order))]
    return drafts


def unstaged(job: Job) -> tuple[str, ...]:
    """What the job's own stages forget, in words: it would stay pale to the last."""
    if not job.stages:
        return ()
    when = arrivals(job)
    never = [id for id, at in when.comes.items() if at == len(when.order) and not (id in job.parts and _small(job, id))]
    if not never:
        return ()
    stays = "it stays" if len(never) == 1 else "they stay"
    remedy = "name what is missing in a stage, or write rest in the last one"
    return (f"no stage brings {several(never)}: {stays} pale to the last step; {remedy}",)


def _whole(job: Job) -> Draft:
    parts = [p for p in job.parts.values() if not p.block and p.kind not in ("splice", "body")]
    sized = [c for c in job.conductors.values() if c.fact("length")]
    total = sum(c.number("length") or 0.0 for c in sized)
    long = f"{total:.0f} m" if total >= 1.0 else figure(total, "m")
    kinds: dict[str, list[str]] = {}
    for part in parts:
        kinds.setdefault(part.kind.replace("-", " "), []).append(part.id)
    rows = tuple((kind, several(names, 4)) for kind, names in kinds.items())
    caption = (
        f"{len(parts)} parts and {len(job.conductors)} conductors, {long} of cable.",
        "Read it from the source: each line is one conductor, its name stands beside it.",
    )
    return Draft("stages", "whole", job_title(job), caption, describe(job), blocks=(Table(("kind", "parts"), rows),))


def _stage(study: Study, job: Job, when: Arrivals, at: int, bare: tuple[BareEnd, ...]) -> Draft:
    stage = when.order[at]
    ids = (*job.parts, *job.conductors)
    named_ones = {id for stage in when.order for id in stage.members}
    new = [id for id in ids if when.comes[id] == at and (id in named_ones or not _of_vehicle(job, id))]
    put_in = [id for id, closes in when.closes.items() if closes == at]
    still_out = [id for id, closes in when.closes.items() if closes > at and when.there(id, at)]
    reached = live(job, study.network, when, at)
    alive = [c.id for c in job.conductors.values() if when.there(c.id, at) and {c.from_, c.to} & set(reached)]
    looks: dict[str, Look] = {}
    for id in ids:
        look = STRONG if id in new or id in put_in else NORMAL if when.there(id, at) else PALE
        looks[id] = look._replace(halo=LIVE, reach=1.0) if id in alive else look
    lines = {id: (OUT if closes > at else IN,) for id, closes in when.closes.items() if when.there(id, at)}
    ends = [end for end in bare if end.at == at]
    caption = _caption(job, stage, new, put_in, still_out, alive, ends)
    blocks = (
        Key(STRONG, "new"), Key(NORMAL, "there already"), Key(PALE, "comes later"),
        Key(NORMAL._replace(halo=LIVE), "live at this step"),
    )  # fmt: skip
    title = f"Step {at + 1} of {len(when.order)}: {stage.title or 'stage ' + stage.number}"
    description = f"The circuit of {job_title(job)} at {title}. {' '.join(caption)}"
    return Draft("stages", f"stage-{at + 1}", title, caption, description, looks, lines, blocks=blocks)


def _caption(
    job: Job, stage: Stage, new: list[str], put_in: list[str], out: list[str], alive: list[str], ends: list[BareEnd]
) -> tuple[str, ...]:
    parts = [named(job.parts[id]) for id in new if id in job.parts and not _small(job, id)]
    leads = [called(job.conductors[id]) for id in new if id in job.conductors]
    said = []
    if parts:
        said.append(f"New: {several(parts, 5)}.")
    if leads:
        said.append(f"Conductors: {several(leads, 9)}.")
    later = [id for id in put_in if id not in new]
    if later:
        said.append(f"Now {several(later)} {'goes' if len(later) == 1 else 'go'} in, after the leads are on.")
    if any(id in job.parts and job.parts[id].kind == "battery" for id in new):
        said.append("A battery's negative goes on last, and comes off first.")
    if out:
        said.append(f"Still out: {several(out)}.")
    said.append(f"Live: {several(alive, 9)}." if alive else "Nothing is live yet.")
    said += [
        f"Careful: {end.conductor} is live from {end.live.source} and ends bare at {end.terminal}." for end in ends[:2]
    ]
    said += notes_on(job, new)[:2]
    return tuple(said)


def _of_vehicle(job: Job, id: str) -> bool:
    return id in job.parts and job.parts[id].kind in (*VEHICLE, "feed")


def _small(job: Job, id: str) -> bool:
    part = job.parts[id]
    return bool(part.block) or part.kind in ("splice", "earth", "body")
