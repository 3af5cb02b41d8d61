"""Runs every rule over a study; applies what the job accepts; says what could not be judged."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from importlib import import_module
from types import TracebackType
from typing import NamedTuple

from wiregen.circuit.insist import insisted
from wiregen.circuit.study import Study
from wiregen.findings import Finding
from wiregen.findings.order import in_order
from wiregen.rules import missing_data, rule_failure, stale_acceptance
from wiregen.rules.acceptance import accepted
from wiregen.rules.register import JUDGING, module_name
from wiregen.rules.unnamed import readable
from wiregen.rules.verdict import Bad, Content, Rule, Unjudged


class Judgement(NamedTuple):
    """All that the rules said. `content` and `unjudged` pair the rule's name with what it said, in the order run."""

    findings: tuple[Finding, ...]
    content: tuple[tuple[str, Content], ...]
    unjudged: tuple[tuple[str, Unjudged], ...]


def registered(names: Iterable[str] = JUDGING) -> tuple[Rule, ...]:
    """The rules of those names, imported now."""
    return tuple(import_module(module_name(name)).check for name in names)


def check(
    study: Study, *, today: str | None = None, earlier: Iterable[Finding] = (), rules: Iterable[Rule] | None = None
) -> tuple[Finding, ...]:
    """All findings about a study, in order: those of the rules and those of earlier stages, with what is accepted.

    `today` is an ISO date, `2026-11-25`; an acceptance that has run out by then no longer counts. Without it no
    acceptance runs out. `earlier` are findings of the stages before (they can be accepted too). No findings are no
    statement that an installation is safe.

    >>> from wiregen.circuit import study
    >>> from wiregen.model import read
    >>> text = "battery b 70 Ah\\nload p 5 A\\nb.+ --[W1 red 1.5 mm2 3 m]-- p.+\\np.- --[W2 black 1.5 mm2 3 m]-- b.-"
    >>> computed, _ = study(read("a.wnet", text=text)[0])
    >>> [(finding.severity, finding.rule, finding.subject) for finding in check(computed)]
    [('danger', 'unfused-positive', 'W1')]
    """
    return judge(study, today=today, earlier=earlier, rules=rules).findings


def judge(
    study: Study,
    *,
    today: str | None = None,
    earlier: Iterable[Finding] = (),
    rules: Iterable[Rule] | None = None,
    remedies: bool = True,
) -> Judgement:
    """As `check`, with what each rule was content with and what it could not judge.

    The rules see the study with the cases that a part leaves unsolved as they would be if it ran on (`insisted`).
    Without `remedies` no size that passes is sought: the job is not computed again, and undersized-conductor's findings
    have no remedy and no fix.
    """
    findings: list[Finding] = list(earlier)
    study = replace(study, remedies=remedies)
    try:
        study = insisted(study)
    except Exception as error:  # the rules then see the unsolved cases as unsolved
        findings.append(rule_failure.finding("no-operating-point", type(error).__name__, _where(error), study.job))
    content: list[tuple[str, Content]] = []
    unjudged: list[tuple[str, Unjudged]] = []
    for rule in registered() if rules is None else rules:
        try:
            for said in rule.judge(study):
                if isinstance(said, Bad):
                    findings.append(finding(rule, said))
                elif isinstance(said, Content):
                    content.append((rule.name, said))
                else:
                    unjudged.append((rule.name, said))
        except Exception as error:  # a rule's own mistake must not hide what the others have to say
            findings.append(rule_failure.finding(rule.name, type(error).__name__, _where(error), study.job))
    findings += missing_data.findings(unjudged)
    marked, unmatched = accepted(findings, study.job.accepts, today)
    marked += stale_acceptance.findings(unmatched)
    return Judgement(tuple(in_order(readable(marked, study.job))), tuple(content), tuple(unjudged))


def finding(rule: Rule, bad: Bad) -> Finding:
    """What a rule said, as the finding that every later stage takes."""
    return Finding(
        rule=rule.name,
        severity=bad.severity or rule.severity,
        message=bad.message,
        at=bad.at,
        subject=bad.subject,
        related=bad.related,
        marks=bad.marks,
        case=bad.case,
        reason=bad.reason,
        remedy=bad.remedy,
        basis=bad.basis or rule.basis,
        values=bad.values,
        through=bad.through,
        fix=bad.fix,
    )


def _where(error: BaseException) -> str:
    """Module and line where an exception was raised, without the folders above."""
    step: TracebackType | None = error.__traceback__
    where = ""
    while step is not None:
        where = f"{step.tb_frame.f_globals.get('__name__', '')} line {step.tb_lineno}"
        step = step.tb_next
    return where
