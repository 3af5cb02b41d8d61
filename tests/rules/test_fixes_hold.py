"""The edits that findings offer hold: applied to the text of a planted fault, the finding is gone and nothing new is.

`check --fix` tries each edit and drops what does not hold; an edit that never holds should not be offered at all.
"""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import islice

import pytest
from faults import PLANTERS, Planter, Sheet, sheet
from sound_jobs import sound_text

from wiregen.circuit import study
from wiregen.cli.fix import apply
from wiregen.findings import Finding
from wiregen.model import read
from wiregen.rules import check

SEEDS = range(24)
FIXABLE = (
    "reversed-polarity", "oversized-fuse", "undersized-fuse", "undersized-conductor", "undersized-return",
    "minimum-size", "profile-mismatch", "unequal-parallel-conductors",
)  # fmt: skip
BRINGS = {"undersized-conductor": {"slow-clearing"}}
"""A size is sought without the faults of the job: a short at its far end may be too small for its fuse all the same."""

ALL = [(rule, planter) for rule in FIXABLE for planter in PLANTERS[rule]]
each = pytest.mark.parametrize(("rule", "planter"), ALL, ids=[f"{rule}-{planter.__name__}" for rule, planter in ALL])


@cache
def job(seed: int) -> Sheet:
    return sheet(sound_text(seed))


def look(text: str) -> tuple[Finding, ...]:
    made, mistakes = read("job.wnet", text=text)
    assert made is not None and not mistakes, [m.message for m in mistakes]
    return check(study(made)[0])


def counted(findings: tuple[Finding, ...]) -> Counter[tuple[str, str | None]]:
    return Counter((f.rule, f.subject) for f in findings)


def assert_holds(text: str) -> int:
    """How many fixes were tried, each of which held."""
    said, tried = look(text), 0
    for finding in said:
        if not finding.fix:
            continue
        edited = apply(finding.fix, "job.wnet", text)
        assert edited is not None, finding.message
        after = counted(look(edited))
        key = (finding.rule, finding.subject)
        assert after[key] < counted(said)[key], (finding.message, finding.remedy)
        new = {rule for rule, _ in after - counted(said)}
        assert new <= BRINGS.get(finding.rule, set()), (finding.message, finding.remedy, new)
        tried += 1
    return tried


@each
def test_a_fix_holds(rule: str, planter: Planter) -> None:
    faults = (fault for seed in SEEDS for fault in planter(job(seed)))
    assert sum(assert_holds(fault.text) for fault in islice(faults, 3))


@pytest.mark.long
@each
def test_fixes_hold_in_many_jobs(rule: str, planter: Planter) -> None:
    for seed in range(2000, 2040):
        for fault in islice(planter(job(seed)), 3):
            assert_holds(fault.text)
