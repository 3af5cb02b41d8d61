"""What each rule says, word for word, about the netlists of its case file: written down once, read when it changes.

`python tests/rules/said.py` writes the files in tests/rules/said anew. Read their difference before it is committed.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from pathlib import Path

from rule_cases import Case, cases, studied

from wiregen.circuit import study as run
from wiregen.circuit.insist import insisted
from wiregen.circuit.study import Study
from wiregen.findings import Finding, Span
from wiregen.findings.order import place
from wiregen.model import read
from wiregen.rules.engine import Judgement, judge, registered
from wiregen.rules.register import JUDGING

HERE = Path(__file__).resolve().parent
FOLDER = HERE / "said"
EXAMPLES = HERE.parents[1] / "examples"
MORE = (*sorted((HERE / "said_jobs").glob("*.wnet")), EXAMPLES / "dual-battery.wnet", EXAMPLES / "truck-24v.wnet")
"""Jobs beside the case files: faults inside kits, a crossed job, sound examples."""


def text(rule: str) -> str:
    """All that one rule says about its own cases and the jobs beside them: findings whole, and the content ones."""
    rules = registered((rule,))
    lines = [f"# {rule}"]
    for case in _cases():
        if case.rule == rule:
            lines += ["", f"## {case.title}", *_lines(judge(_study(case.text), rules=rules))]
    for path, study in _more():
        lines += ["", f"## {path.name}", *_lines(judge(study, rules=rules))]
    return "\n".join(lines) + "\n"


@cache
def _cases() -> tuple[Case, ...]:
    return tuple(cases(HERE))


@cache
def _study(text: str) -> Study:
    return insisted(studied(text))  # as the engine does: once, however often a mutant of a rule is tried


@cache
def _more() -> tuple[tuple[Path, Study], ...]:
    found = []
    for path in MORE:
        job, mistakes = read(path.name, text=path.read_text(encoding="utf-8"), include=(str(path.parent),))
        assert job is not None and not mistakes, [m.message for m in mistakes]
        found.append((path, insisted(run(job)[0])))  # as the engine does, once for all rules
    return tuple(found)


def _lines(judgement: Judgement) -> Iterator[str]:
    for finding in judgement.findings:
        yield from _finding(finding)
    for _, said in judgement.content:
        yield f"content {said.subject}: {said.why}"


def _finding(finding: Finding) -> Iterator[str]:
    yield f"{finding.severity} {finding.rule} {finding.subject}: {finding.message}"
    for mark in (finding.at, *finding.marks):
        if mark is not None:
            yield f"  at {_where(mark.span)}: {mark.words}"
    yield f"  related: {' '.join(finding.related)}"
    yield f"  case: {finding.case}"
    yield f"  reason: {finding.reason}"
    yield f"  remedy: {finding.remedy}"
    yield f"  basis: {finding.basis}"
    for key, value in finding.values.items():
        yield f"  {key} = {f'{value:.6g}' if isinstance(value, float) else repr(value)}"
    for use in finding.through:
        yield f"  through {use.name} {_where(use.span)}"
    for edit in finding.fix:
        yield f"  fix {_where(edit.span)} -> {edit.text}"


def _where(span: Span) -> str:
    _, line, column, _, _ = place(span)
    words = " ".join(span.text.split())
    return f"{line}:{column} {words}"


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name in JUDGING:
        (FOLDER / f"{name}.txt").write_text(text(name), encoding="utf-8")
