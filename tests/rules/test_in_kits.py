"""A kit changes names and nothing else, and of two alike that have nothing to do with each other each is named.

All parts and wires of a case file's netlist are put into a kit; the rule then has to say the same as without it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest
from rule_cases import cases, studied

from wiregen.circuit import study
from wiregen.circuit.study import Study
from wiregen.findings import Finding, Mark
from wiregen.model import read
from wiregen.rules.engine import check, registered
from wiregen.rules.register import JUDGING

OUTSIDE = re.compile(
    r"(job|case|stage|own-figures|accept|place|group|limit|note|kit|include|revision|bundle|each|change)\b"
)
"""Statements that stay outside: they cannot stand inside a kit, or speak of the whole job."""
ONCE = {
    "start-battery-drain": "one battery starts the engine",
    "wet-place": "a place is asked about once",
    "no-operating-point": "a case without an answer is laid to one part",
}
"""Rules that speak once a job, of two alike as of one."""


class Kitted(NamedTuple):
    """One netlist as it is, inside a kit, and inside two kits alike (None where a case or limit names one of them)."""

    title: str
    plain: Study
    inside: Study | None
    twice: Study | None


def statements(text: str) -> Iterator[str]:
    """The statements of a netlist, each with all its lines."""
    held, depth = "", 0
    for line in text.splitlines(keepends=True):
        code = re.sub(r'"[^"]*"', "", line.partition("#")[0])
        if held or code.strip():
            held, depth = held + line, depth + code.count("{") - code.count("}")
        if held and depth <= 0:
            yield held
            held = ""


def names(statements: list[str]) -> list[str]:
    """Names that statements declare, the longest first."""
    found = set()
    for line in "".join(statements).splitlines():
        code = line.partition("#")[0].partition('"')[0]
        declared = re.match(r"\s*[a-z][a-z-]* ([A-Za-z][\w-]*)", code)
        if declared and "--" not in code:
            found.add(declared[1])
        found |= set(re.findall(r"--\[\s*([A-Z]+\w*\d\w*)", code))
    return sorted(found, key=lambda name: (-len(name), name))


def in_kits(text: str, *uses: str) -> str:
    """A netlist with its parts and wires in kits, one kit for each use; what is outside speaks of the first."""
    inside: list[str] = []
    outside: list[str] = []
    for statement in statements(text):
        (outside if OUTSIDE.match(statement.lstrip()) else inside).append(statement)
    head, words = "".join(outside), names(inside)
    if words:
        head = re.sub(rf"(?<![\w.-])({'|'.join(map(re.escape, words))})(?![\w-])", rf"{uses[0]}.\1", head)
    return head + "".join(f"kit thing{use} {{\n{''.join(inside)}}}\nthing{use} {use}\n" for use in uses)


def read_or_none(text: str) -> Study | None:
    """The study of a text; None where it has a mistake: some statements cannot stand in a kit."""
    job, mistakes = read("case.wnet", text=text)
    return None if job is None or mistakes else study(job)[0]


@cache
def kitted(rule: str) -> tuple[Kitted, ...]:
    """The netlists of one rule's case file."""
    found = []
    for case in cases(Path(__file__).parent):
        if case.rule == rule:
            one = in_kits(case.text, "U")
            twice = None if re.search(r"\bU\.", one) else read_or_none(in_kits(case.text, "U", "V"))
            found.append(Kitted(case.title, studied(case.text), read_or_none(one), twice))
    return tuple(found)


def called(use: str, subject: str, everywhere: set[str]) -> str:
    """What a subject is called inside a kit; a conductor without a name is called by both its ends."""
    return subject if subject in everywhere else f"{use}." + re.sub(r"--(?=[A-Za-z])", f"--{use}.", subject)


def marked(mark: Mark | None) -> tuple[str, str] | None:
    """Where a mark points, without line and column, and its words."""
    return mark and (mark.span.text, mark.words)


def said(finding: Finding) -> list[object]:
    """What a finding says, without the names of kits, numbers as a message would show them."""
    marks = tuple(marked(mark) for mark in finding.marks)
    texts = (finding.message, finding.reason, finding.remedy, finding.basis, marked(finding.at), marks)
    numbers = [(k, f"{v:.9g}" if isinstance(v, float) else v) for k, v in finding.values.items()]
    whole = (finding.rule, finding.severity, finding.subject, texts, finding.related, finding.case, numbers)
    return [re.sub(r"\b[UV]\.", "", str(part)) for part in whole]


@pytest.mark.parametrize("rule", JUDGING)
def test_inside_a_kit_a_rule_says_the_same_and_through_which_use(rule: str) -> None:
    rules = registered((rule,))
    read_ones = 0
    for each in kitted(rule):
        if each.inside is None:
            continue
        read_ones += 1
        outside, inside = check(each.plain, rules=rules), check(each.inside, rules=rules)
        assert sorted(map(said, outside)) == sorted(map(said, inside)), each.title
        for finding in inside:
            if finding.at is not None and str(finding.subject).startswith("U."):
                written = finding.at.span.source.text
                in_kit = written.index("kit thingU {") < finding.at.span.start < written.index("\nthingU U")
                assert not in_kit or [use.name for use in finding.through] == ["U"], (each.title, finding.message)
                assert not in_kit or not finding.fix, "an edit inside a kit would change all its uses"
    assert read_ones >= 4


@pytest.mark.parametrize("rule", [rule for rule in JUDGING if rule not in ONCE])
def test_of_two_alike_each_is_named(rule: str) -> None:
    rules = registered((rule,))
    for each in kitted(rule):
        if each.twice is None:
            continue
        one, two = check(each.plain, rules=rules), check(each.twice, rules=rules)
        everywhere = {*each.plain.job.places, "job"}
        expected = {called(use, str(f.subject), everywhere) for f in one for use in "UV"}
        subjects = {str(f.subject) for f in two}
        assert subjects <= expected, each.title
        assert expected - subjects <= {id for f in two for id in f.related}, "said with the other, where at all"
