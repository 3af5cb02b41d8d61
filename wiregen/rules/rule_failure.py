"""rule-failure: a rule stopped on a mistake of its own and has judged only part of the job, or none of it.

Hazard
    What the failed rule looks for has not been looked for.
Test
    Said by the engine when a rule stops; the other rules go on.
Basis
    common practice: a check that did not run is not a check that passed
Bad
    (no netlist is meant to cause this)
Good
    (any netlist)
"""

from __future__ import annotations

from wiregen.findings import Finding, Mark
from wiregen.model.job import Job

NAME = "rule-failure"
BASIS = "common practice: a check that did not run is not a check that passed"


def finding(rule: str, error: str, where: str, job: Job) -> Finding:
    """The finding that names the rule, the kind of error and where in wiregen it came up."""
    return Finding(
        rule=NAME,
        severity="danger",
        message=f"the rule {rule} failed ({error} in {where}) and did not finish",
        at=Mark(job.span) if job.span else None,
        reason=f"what {rule} looks for may be present and unseen",
        remedy="report it with the netlist, and check this point by hand until it is mended",
        basis=BASIS,
        values={"failed_rule": rule, "error": error},
        path=job.path,
    )
