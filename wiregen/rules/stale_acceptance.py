"""stale-acceptance: an acceptance in the netlist accepts nothing.

Hazard
    A finding that comes back later would be accepted unseen, for a reason that was given for something else.
Test
    Said by the engine: each `accept RULE on ID` against the findings of that rule on that subject.
Basis
    common practice: a deviation is recorded with what it deviates from
Bad
    start.+ --[W1 red 6 mm2 100 mm]-- F1 --[red 2.5 mm2 3 m]-- pump.+
    pump.- --[black 2.5 mm2 3 m]-- start.-
    accept unfused-positive on W1 because "no room for a fuse"
Good
    start.+ --[W1 red 6 mm2 100 mm]-- F1 --[red 2.5 mm2 3 m]-- pump.+
    pump.- --[black 2.5 mm2 3 m]-- start.-
Limits
    An acceptance that has run out but still matches a finding is shown with that finding instead.
"""

from __future__ import annotations

from collections.abc import Iterable

from wiregen.findings import Finding, Mark
from wiregen.model.job import Accept
from wiregen.rules.acceptance import NEVER
from wiregen.rules.register import NAMES, close_names
from wiregen.rules.words import listed

NAME = "stale-acceptance"
BASIS = "common practice: a deviation is recorded with what it deviates from"


def findings(unmatched: Iterable[Accept]) -> list[Finding]:
    """One finding for each acceptance that matches nothing."""
    return [_finding(accept) for accept in unmatched]


def _finding(accept: Accept) -> Finding:
    rule = accept.rule.lower()
    if rule not in NAMES:
        close = close_names(accept.rule)
        meant = f"; did you mean {listed(close, 'or')}?" if close else ""
        message, remedy = f"there is no rule {accept.rule}{meant}", "name the rule as the finding names it"
    elif rule in NEVER:
        message, remedy = f"{rule} cannot be accepted", "take the acceptance out"
    else:
        message = f"nothing to accept: {rule} finds nothing on {accept.subject}"
        remedy = "take the acceptance out, or name the subject as the finding names it"
    return Finding(
        rule=NAME,
        severity="warning",
        message=message,
        at=Mark(accept.span, "accepts nothing"),
        subject=accept.subject,
        reason="if the finding comes back it would be accepted unseen",
        remedy=remedy,
        basis=BASIS,
        values={"accepted_rule": accept.rule},
    )
