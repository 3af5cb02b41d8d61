"""What has nothing to do with one another is judged as if it were alone.

The netlists of a rule's case file stand in one job, each in a kit of its own, the last first: the rule then says of
each what it says of it alone. So nothing that is passed over ends the search, and no second or third one is forgotten.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest
from rule_cases import cases
from test_in_kits import OUTSIDE, read_or_none, said, statements

from wiregen.circuit.backwards import against
from wiregen.circuit.crossing import crossings
from wiregen.circuit.dead_ends import dead_nets
from wiregen.circuit.study import Study
from wiregen.circuit.ways_back import lost
from wiregen.rules.engine import judge, registered
from wiregen.rules.register import JUDGING

ONCE = {
    "start-battery-drain": "one battery starts the engine",
    "ambiguous-size": "conductors of one size are one finding",
    "no-operating-point": "a case is content as a whole",
    "unnamed-conductor": "all conductors without a name are one finding",
}
"""Rules that say one thing of several circuits, and why."""

WAITING = {"fuse-voltage", "connector-voltage", "slow-clearing"}
"""Rules that say nothing while something in the job does not get back to its source."""


class Row(NamedTuple):
    """Netlists alone, each in a kit of its own, and all of them in one job, the last first."""

    alone: tuple[Study, ...]
    together: Study


def kit(text: str, number: int) -> tuple[str, str] | None:
    """The job of a netlist and all its parts and wires as a kit; None where something else has to stand outside."""
    head, inside = "", []
    for statement in statements(text):
        if not OUTSIDE.match(statement.lstrip()):
            inside.append(statement)
        elif statement.startswith("job"):
            head = re.sub(r'"[^"]*"', '"Job"', statement)
        else:
            return None
    return head, f"kit thing{number} {{\n{''.join(inside)}}}\nthing{number} U{number}\n"


@cache
def rows(rule: str) -> tuple[Row, ...]:
    """Those netlists of a case file that can stand in one job: they say the same of it, and have the same cases."""
    kits: dict[tuple[str, ...], list[str]] = {}
    alone: dict[tuple[str, ...], list[Study]] = {}
    for number, case in enumerate(case for case in cases(Path(__file__).parent) if case.rule == rule):
        head, text = kit(case.text, number) or ("", "")
        study = read_or_none(head + text) if head else None
        if study and not concerns_the_job(study, rule):
            same = (head, *(each.name for each in study.cases))
            kits.setdefault(same, []).append(text)
            alone.setdefault(same, []).append(study)
    jobs = {same: read_or_none("".join((same[0], *reversed(each)))) for same, each in kits.items()}
    return tuple(Row(tuple(alone[same]), job) for same, job in jobs.items() if job)


def concerns_the_job(study: Study, rule: str) -> bool:
    """Whether it has what something else in the job may be the other half of: a fault beside which no part is judged, a
    loose end that may be what another part waits for."""
    if rule in WAITING and lost(study.job, study.network):
        return True
    return any(question(study.job, study.network) for question in (crossings, against, dead_nets)) or any(
        not each.solved or each.troubles for each in study.cases
    )


def told(study: Study, rule: str) -> Iterator[str]:
    """All that a rule says about a job, without the names of the kits."""
    judgement = judge(study, rules=registered((rule,)))
    for finding in judgement.findings:
        yield plain(" | ".join(map(str, said(finding))))
    for _, content in judgement.content:
        if content.subject != "job":
            yield plain(f"{content.subject}: {content.why}")


def plain(words: str) -> str:
    """Without the names of kits; numbers with three figures: temperatures settle within 0.01 K."""
    return re.sub(r"\d+\.\d{4,}", lambda number: f"{float(number[0]):.3g}", re.sub(r"\bU\d+\.", "", words))


@pytest.mark.parametrize("rule", [rule for rule in JUDGING if rule not in ONCE])
def test_side_by_side_each_is_judged_as_if_it_were_alone(rule: str) -> None:
    for alone, together in rows(rule):
        expected = Counter(words for study in alone for words in told(study, rule))
        found = Counter(told(together, rule))
        assert (sorted((found - expected).elements()), sorted((expected - found).elements())) == ([], [])
