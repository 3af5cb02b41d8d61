"""missing-data: the netlist does not say what a rule needs, so the rule could not judge.

Hazard
    A rule that is silent because it knows nothing reads like a rule that found nothing wrong.
Test
    Said by the engine: each fact that any rule missed, once, with the rules that wait for it.
Basis
    common practice: what is not written down is not checked
Bad
    start.+ --[red 6 mm2 100 mm]-- F1 --[W2 red 2.5 mm2]-- pump.+
    pump.- --[black 2.5 mm2 3 m]-- start.-
Good
    start.+ --[red 6 mm2 100 mm]-- F1 --[W2 red 2.5 mm2 3 m]-- pump.+
    pump.- --[black 2.5 mm2 3 m]-- start.-
"""

from __future__ import annotations

from collections.abc import Iterable

from wiregen.findings import Finding
from wiregen.rules.verdict import Unjudged
from wiregen.rules.words import listed

NAME = "missing-data"
BASIS = "common practice: what is not written down is not checked"


def findings(unjudged: Iterable[tuple[str, Unjudged]]) -> list[Finding]:
    """One finding for each missing fact, naming the rules that could not judge without it."""
    facts: dict[tuple[str, str], list[tuple[str, Unjudged]]] = {}
    for name, said in unjudged:
        facts.setdefault((said.subject, said.missing), []).append((name, said))
    return [_finding(said) for said in facts.values()]


def _finding(waiting: list[tuple[str, Unjudged]]) -> Finding:
    rules = list(dict.fromkeys(name for name, _ in waiting))
    first = waiting[0][1]
    return Finding(
        rule=NAME,
        severity="advice",
        message=f"{first.missing} is not given, so {listed(rules)} could not be judged",
        at=first.at,
        subject=first.subject,
        reason="what a rule could not judge has not been checked",
        remedy=first.add,
        basis=BASIS,
        values={"missing": first.missing, "rules": ", ".join(rules)},
        through=first.through,
    )
