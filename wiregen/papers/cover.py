"""The cover: whose job it is, what the system does, what was checked and how, and what was found."""

from __future__ import annotations

from collections.abc import Sequence

from wiregen.circuit.study import Study
from wiregen.findings import Finding
from wiregen.layout.words import job_title
from wiregen.papers.document import Block, Cell, Column, Facts, Heading, Paper, Points, Table, Text
from wiregen.papers.office import Office
from wiregen.papers.story import story
from wiregen.papers.texts import Texts
from wiregen.rules.limits import chosen, named


def cover(study: Study, findings: Sequence[Finding], rules: int, office: Office, texts: Texts) -> Paper:
    """`rules` is how many rules were run."""
    say = texts.say
    blocks: list[Block] = [
        Facts(_facts(study, office, texts)),
        Heading(say("cover.in-words")),
        *(Text(words) for words in story(study, texts)),
        Text(say("cover.caution"), "caution"),
        Points(texts.all("cover.cautions")),
        Heading(say("cover.checked")),
        Text(say("cover.by", rules=rules, limits=str(chosen(study.job)["title"]), chosen=_chosen(study, texts))),
    ]
    blocks.append(Text(say("cover.notice"), "caution"))
    unknown = [f for f in findings if f.rule == "missing-data" and f.accepted is None]
    if unknown:
        blocks += [Text(say("cover.unknown")), Points(tuple(f.message for f in unknown))]
    opened = [f for f in findings if f.accepted is None and f.rule != "missing-data"]
    accepted = [f for f in findings if f.accepted is not None]
    if opened:
        blocks.append(_table(opened, texts, say("cover.open"), say("cover.open-sheet"), accepted=False))
    else:
        blocks.append(Text(say("cover.none")))
    if accepted:
        blocks.append(_table(accepted, texts, say("cover.accepted"), say("cover.accepted-sheet"), accepted=True))
    return Paper("cover", say("cover.title"), tuple(blocks))


def _chosen(study: Study, texts: Texts) -> str:
    return "" if named(study.job) else texts.say("cover.stands-in")


def _facts(study: Study, office: Office, texts: Texts) -> tuple[tuple[str, str], ...]:
    job = study.job
    last = job.revisions[-1] if job.revisions else None

    def said(name: str) -> str:
        fact = job.facts.get(name)
        return fact.word if fact else ""

    system = said("system")
    pairs = [
        ("customer", said("customer")),
        ("number", said("number")),
        ("vehicle", said("vehicle")),
        ("system", f"{system} DC" if system else ""),
        ("installer", office.company or said("drawn-by")),
        ("contact", ", ".join(office.contact)),
        ("drawn-by", said("drawn-by") or (last.by if last else "")),
        ("checked-by", said("checked-by")),
        ("revision", f"{last.name}: {last.text}" if last else ""),
        ("date", last.date if last else said("date")),
    ]
    return tuple((texts.say(f"cover.{key}"), value) for key, value in pairs if value)


def title(study: Study) -> str:
    """The job's title."""
    return job_title(study.job)


def _table(findings: Sequence[Finding], texts: Texts, heading: str, sheet: str, *, accepted: bool) -> Table:
    say = texts.say
    last = say("cover.because") if accepted else say("cover.remedy")
    columns = (
        Column(say("cover.severity"), 0.8),
        Column(say("cover.rule"), 1.3),
        Column(say("cover.what"), 4),
        Column(last, 2.6),
    )
    rows = tuple(
        (
            Cell(say(f"severity.{f.severity}"), strong=f.severity == "danger"),
            Cell(f.rule),
            Cell(f.message),
            Cell(_because(f) if accepted else f.remedy),
        )
        for f in findings
    )
    return Table(sheet, columns, rows, heading)


def _because(finding: Finding) -> str:
    accepted = finding.accepted
    assert accepted is not None
    by = f" ({accepted.by})" if accepted.by else ""
    return f"{accepted.because}{by}" + (f", {accepted.until}" if accepted.until else "")
