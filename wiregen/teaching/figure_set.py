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
from wiregen.teaching.drop_figures import drop_drafts
from wiregen.teaching.fault_figures import fault_drafts, missed
from wiregen.teaching.picture import draw_figure
from wiregen.teaching.plant import planted
from wiregen.teaching.readings import reading_sheets
from wiregen.teaching.short_circuit import main_feed, places, short_drafts
from wiregen.teaching.stage_figures import stage_drafts, unstaged
from wiregen.teaching.worksheets import worksheets

KINDS = ("stages", "cases", "faults", "shorts", "worksheets", "readings")


class FigureSet(NamedTuple):
    """The figures in order, the answers to those of them that ask something, each named after its sheet, and what was
    expected of a planted fault and did not come, in words."""

    title: str
    figures: tuple[Figure, ...]
    answers: tuple[Figure, ...]
    missed: tuple[str, ...]
    problems: tuple[Finding, ...]
    lettering: float  # height of the labels' letters in that of the picture
    left_out: tuple[str, ...] = ()  # what the lesson may have forgotten, in words


def figure_set(
    study: Study, findings: Sequence[Finding], *, only: Collection[str] = KINDS, seeds: Sequence[int] = ()
) -> FigureSet:
    """The whole set; sheets to work on once for each seed. Raises `base.Unfit` where the drawing breaks its own rules,
    `items.Crowded` where a sheet has more words than room."""
    drafts: list[Draft] = []
    if "stages" in only:
        drafts += stage_drafts(study)
    if "cases" in only:
        drafts += case_drafts(study)
        drafts += drop_drafts(study)
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
    answers: list[Draft] = []
    for seed in seeds or (None,):
        made = [worksheets(study, findings, seed)] if "worksheets" in only else []
        made += [reading_sheets(study, seed)] if "readings" in only else []
        for handed_out in made:
            not_found += handed_out.missed
            problems += handed_out.problems
            drafts += handed_out.sheets
            answers += handed_out.answers
    title = job_title(study.job)
    if problems or not_found or not drafts:
        wrong = tuple(each for k, each in enumerate(problems) if each not in problems[:k])  # once for all seeds
        return FigureSet(title, (), (), tuple(dict.fromkeys(not_found)), wrong, 0.0)
    ground = base(study, [*drafts, *answers])
    lettering = ground.letter * UNITS / CAP_HEIGHT / ground.height
    figures = drawn(ground, drafts)
    solved = drawn(ground, answers, len(drafts) - len(answers), "answers-")
    left_out = unstaged(study.job) if "stages" in only else ()
    return FigureSet(title, figures, solved, (), (), lettering, left_out)


def drawn(ground: Base, drafts: Sequence[Draft], before: int = 0, prefix: str = "") -> tuple[Figure, ...]:
    """Drafts of one set as figures, on one geometry; numbered on from those `before` them."""
    strokes, digits = Strokes(), max(2, len(str(before + len(drafts))))
    return tuple(
        Figure(
            draft.kind,
            f"{prefix}{number:0{digits}d}-{draft.name}",
            draft.title,
            " ".join(draft.caption),
            draft.description,
            draw_figure(ground, draft, strokes, number, before + len(drafts)),
        )
        for number, draft in enumerate(drafts, before + 1)
    )
