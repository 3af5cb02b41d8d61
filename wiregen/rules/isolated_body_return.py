"""isolated-body-return: current returns through a body that must not carry any.

Hazard
    The body is no conductor here: joints corrode, bearings and hinges carry the current, and in a boat or a trailer the
    metal dissolves.
Test
    Every body that says `isolated`: no device and no source may have its negative on it.
Basis
    common practice; the vehicle's maker says whether the body may carry current
Bad
    body frame isolated
    earth E1 on frame
    earth E2 on frame
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 0.3 m]-- E1
    start.- --[W3 black 6 mm2 0.3 m]-- E2
Good
    body frame isolated
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 1 m]-- start.-
Limits
    One single bond that carries no current (a battery's negative at one point) is allowed.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.polarity import joined, nets_of, sign
from wiregen.circuit.study import Study
from wiregen.model.job import Body
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule
from wiregen.rules.words import listed


@rule("isolated-body-return", severity="danger", basis="common practice; the vehicle's maker says what it may carry")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each isolated body that carries current."""
    bodies = [body for body in study.job.bodies.values() if body.word("state") == "isolated"]
    if not bodies:
        return
    net = nets_of(study.network, [way for way in joined(study.job, study.network) if way[0] is not None])
    for body in bodies:
        sides = {net[earth]: earth for earth in body.earths if earth in net}
        carrying = {n: earth for n, earth in sides.items() if any(sign(study.job, t) for t in net if net[t] == n)}
        if len(carrying) < 2:
            yield Content(body.id, "carries no current")
            continue
        yield _bad(study, body, list(carrying.values()))


def _bad(study: Study, body: Body, earths: list[str]) -> Bad:
    return Bad(
        subject=body.id,
        message=f"{body.id} is isolated, but current returns through it between {listed(earths)}",
        at=mark(body, "state", "must not carry current"),
        related=tuple(earths),
        marks=tuple(at_name(study.job.parts[e], "returns here") for e in earths if e in study.job.parts),
        reason="joints, hinges and bearings of the body carry the current and corrode",
        remedy="lead every return back to the battery in a conductor of its own",
        values={"earths": ", ".join(earths)},
        through=body.through,
    )
