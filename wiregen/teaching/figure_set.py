"""Front door of the figures: a job in, an ordered set of figures out, all of one geometry."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import NamedTuple

from wiregen.built.font import CAP_HEIGHT, UNITS
from wiregen.circuit.study import Study
from wiregen.drawing.strokes import Strokes
from wiregen.findings import Finding
from wiregen.layout.words import job_title
from wiregen.teaching.base import Base, base
from wiregen.teaching.case_figures import case_drafts
from wiregen.teaching.draft import Draft, Figure
from wiregen.teaching.fault_figures import fault_drafts, missed
from wiregen.teaching.picture import draw_figure
from wiregen.teaching.plant import planted
from wiregen.teaching.short_circuit import main_feed, places, short_drafts
from wiregen.teaching.stage_figures import stage_drafts

KINDS = ("stages", "cases", "faults", "shorts")


class FigureSet(NamedTuple):
    """The figures in order, and what was expected of a planted fault and did not come, in words."""

    title: str
    figures: tuple[Figure, ...]
    missed: tuple[str, ...]
    problems: tuple[Finding, ...]
    lettering: float  # height of the labels' letters in that of the picture


def figure_set(study: Study, findings: Sequence[Finding], *, only: Collection[str] = KINDS) -> FigureSet:
    """The whole set. Raises `base.Unfit` where the drawing breaks its own rules."""
    drafts: list[Draft] = []
    if "stages" in only:
        drafts += stage_drafts(study)
    if "cases" in only:
        drafts += case_drafts(study)
    not_found: list[str] = []
    problems: list[Finding] = []
    shorts: list[Draft] = []
    for lesson in study.job.lessons:
        shorted = places(study.job, lesson)
        if lesson.kind == "fault" and ("shorts" if shorted else "faults") in only:
            fault = planted(study, findings, lesson)
            not_found += missed(fault)
            problems += fault.problems
            if not shorted:
                drafts += fault_drafts(study, fault, lesson.steps)
            for place in shorted:
                shorts += short_drafts(fault.study, place)
    if "shorts" in only and not shorts and (feed := main_feed(study)):
        shorts = short_drafts(study, feed)
    drafts += shorts
    title = job_title(study.job)
    if problems or not_found or not drafts:
        return FigureSet(title, (), tuple(not_found), tuple(problems), 0.0)
    ground = base(study, drafts)
    lettering = ground.letter * UNITS / CAP_HEIGHT / ground.height
    return FigureSet(title, drawn(ground, drafts), (), (), lettering)


def drawn(ground: Base, drafts: Sequence[Draft]) -> tuple[Figure, ...]:
    """Drafts of one set as figures, on one geometry."""
    strokes = Strokes()
    return tuple(
        Figure(
            draft.kind,
            f"{number:02d}-{draft.name}",
            draft.title,
            " ".join(draft.caption),
            draft.description,
            draw_figure(ground, draft, strokes, number, len(drafts)),
        )
        for number, draft in enumerate(drafts, 1)
    )
