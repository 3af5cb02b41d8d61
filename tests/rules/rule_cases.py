"""The standard job around the short netlists of rule pages and case files, and how cases are read and compared."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from wiregen.circuit import study
from wiregen.circuit.study import Study
from wiregen.findings import Finding
from wiregen.findings.order import place
from wiregen.model import read
from wiregen.rules import check

HEAD = 'job "Standard job" { system 12 V, limits iso13297, each insulation 105 degC }\n'
PARTS = {  # declared where a short netlist names them and does not declare them itself
    "start": "battery start 70 Ah flooded, vented, resistance 6 mohm, short-circuit 2 kA, max-charge 25 A",
    "aux": "battery aux 100 Ah agm, vented, resistance 5 mohm, short-circuit 2.5 kA, max-charge 30 A",
    "F1": "fuse F1 20 A cartridge, volts 58 V, breaks 10 kA",
    "F2": "fuse F2 40 A strip, volts 58 V, breaks 10 kA",
    "F3": "fuse F3 10 A cartridge, volts 58 V, breaks 10 kA",
    "pump": "load pump 5 A",
    "heater": "load heater 15 A",
    "lamp1": "lamp lamp1 10 W",
    "dcdc": "charger dcdc 18 A, profile agm, efficiency 90 %, negative common, sense temperature",
}


class Case(NamedTuple):
    """One netlist of a case file, and what is expected: (rule, subject, line)."""

    rule: str
    title: str
    text: str
    expected: tuple[tuple[str, str | None, int], ...]

    def __str__(self) -> str:
        return f"{self.rule}: {self.title}"


def standard(text: str) -> str:
    """A short netlist as a whole job; a text that has a job line already is left as it is."""
    if re.search(r"(?m)^\s*job\b", text):
        return text
    declared = set(re.findall(r"(?m)^\s*[a-z][a-z-]* ([A-Za-z][\w-]*)", text))
    named = [n for n in PARTS if n not in declared and re.search(rf"(?<![\w.]){n}(?![\w-])", text)]
    return HEAD + "".join(PARTS[n] + "\n" for n in named) + text


def studied(text: str) -> Study:
    """The study of a netlist that has to read without mistakes."""
    job, mistakes = read("case.wnet", text=text)
    assert job is not None and not mistakes, [m.message for m in mistakes]
    return study(job)[0]


def found(text: str, today: str | None = None) -> tuple[Finding, ...]:
    """All findings of the rules."""
    return check(studied(text), today=today)


def place_of(finding: Finding) -> int:
    """The line that a finding points at; 0 where it points nowhere."""
    return (place(finding.at.span)[1] or 0) if finding.at else 0


def short(findings: tuple[Finding, ...], rules: set[str]) -> list[tuple[str, str | None, int]]:
    """Rule, subject and line of each finding of those rules that is not accepted."""
    return [(f.rule, f.subject, place_of(f)) for f in findings if f.rule in rules and f.accepted is None]


def expectations(text: str) -> list[tuple[str, str | None, int]]:
    """What the `# expect RULE on SUBJECT` comments of a netlist say: rule, subject and line, in order."""
    return [
        (rule, subject, number)
        for number, line in enumerate(text.splitlines(), start=1)
        for rule, subject in re.findall(r"expect ([\w-]+) on (\S+)", line.partition("#")[2])
    ]


def cases(folder: Path) -> Iterator[Case]:
    """All cases of all case files: a heading, then a fenced netlist with `# expect RULE on SUBJECT` on its lines."""
    for path in sorted(folder.glob("*.md")):
        for title, body in re.findall(r"(?ms)^## (.*?)\n.*?^```\n(.*?)^```$", path.read_text(encoding="utf-8")):
            text = standard(body)
            yield Case(path.stem, title, text, tuple(expectations(text)))
