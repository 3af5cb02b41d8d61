"""double-bond: a second bond in the negative side carries what it was not made for, or leads around a switch.

Hazard
    When a plug's negative pin corrodes, the whole return current goes through whatever else joins the two sides: a
    shield, the earth of the lamps, a data lead. There is no fuse in a return. A bond around an isolator in the negative
    leaves everything connected when it is open.
Test
    Each negative pole of a connector whose two sides are joined when it is apart: the worst case is solved once more
    without the pole, and no conductor may carry more than it bears. Each switch, relay, fuse or breaker in a negative:
    plain metal must not join its two sides. Each `isolated` body: two bonds of one negative must not share its current.
Basis
    common practice, no source
Bad
    connector X1 50 A, poles + -, volts 60 V
    connector X2 10 A, poles e
    start.+ -- F2 --[W1 red 6 mm2 1 m]-- X1.+ --[W2 red 6 mm2 1 m]-- heater.+
    start.- --[B1 black 6 mm2 1 m]-- X1.- --[B2 black 6 mm2 1 m]-- heater.-
    start.- --[E1 black 0.5 mm2 1 m]-- X2.e --[E2 black 0.5 mm2 1 m]-- heater.-
Good
    connector X1 50 A, poles + -, volts 60 V
    connector X2 10 A, poles e
    start.+ -- F2 --[W1 red 6 mm2 1 m]-- X1.+ --[W2 red 6 mm2 1 m]-- heater.+
    start.- --[B1 black 6 mm2 1 m]-- X1.- --[B2 black 6 mm2 1 m]-- heater.-
    start.- --[E1 black 0.5 mm2 1 m]-- X2.e --[E2 black 0.5 mm2 1 m]-- capped "bonded at one end only"
Limits
    Of what can open only connectors are tried; equal conductors side by side are for unequal-parallel-conductors. A
    second bond that carries too much as built is for undersized-conductor, one around a shunt for shunt-bypass, an
    isolated body that is a return for isolated-body-return.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings
from wiregen.circuit.loops import Around, Overload, bonded_twice, overload_without, plugs_passed_by, switches_passed_by
from wiregen.circuit.shunts import measuring
from wiregen.circuit.study import Study
from wiregen.rules import isolated_body_return, undersized_return
from wiregen.rules.currents import brought, starter_turns
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule
from wiregen.rules.words import amps, apart, clearly_more, listed

NOTHING = 1e-3
"""Less than this is no current [A]."""


@rule("double-bond", severity="danger", basis="common practice, no source")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each switch passed by, each body bonded twice, each second bond that is too thin."""
    found = list(_judged(study))
    if any(isinstance(each, Bad) for each in found) and crossings(study.job, study.network):
        found = [Content("job", "positive meets negative somewhere: bonds are judged when that is put right")]
    yield from found


def _judged(study: Study) -> Iterator[Verdict]:
    """All that is to say while no positive meets a negative."""
    said = {id for one in measuring(study) for id in one.around}
    for passed in switches_passed_by(study):
        if said & set(passed.ids):
            yield Content(passed.part.id, "is passed by through what passes a shunt by: see there")
        else:
            yield _passed_by(study, passed)
    yield from _bodies(study, said)
    cases = [case.name for case in study.cases if not starter_turns(study, case)]
    thin: dict[str, tuple[Around, Overload]] = {}
    for plug in plugs_passed_by(study):
        over = overload_without(study, plug, cases)
        if over is None:
            yield Content(plug.part.id, "{} may open: the ways around bear what then flows", (plug.a,))
        else:
            thin.setdefault(over.conductor.id, (plug, over))
    short = {bad.subject for bad in undersized_return.check.judge(study) if isinstance(bad, Bad)} if thin else set()
    for plug, over in thin.values():
        if over.conductor.id in short:
            yield Content(over.conductor.id, "is the shortest way back of a fused circuit: undersized-return says so")
        else:
            yield _too_thin(plug, over)


def _passed_by(study: Study, passed: Around) -> Bad:
    part, ids = passed.part, passed.ids
    protects = part.kind in ("fuse", "breaker")
    return Bad(
        subject=part.id,
        message=f"{part.id} is in the negative, but {passed.a} and {passed.b} are joined through {listed(ids)} as well",
        at=at_name(part, "is passed by"),
        related=ids,
        marks=tuple(at_name(study.job.conductors[id], "leads around it") for id in ids if id in study.job.conductors),
        reason=f"{part.id} {'protects' if protects else 'isolates'} nothing: the current goes around it",
        remedy=f"bring every bond of the negative to one side of {part.id}, or fit it in the positive",
        values={"around": ", ".join(ids)},
        through=part.through,
    )


def _bodies(study: Study, said: set[str]) -> Iterator[Verdict]:
    """Isolated bodies that carry part of the current of one negative."""
    isolated = [body for body in study.job.bodies.values() if body.word("state") == "isolated"]
    if not isolated:
        return
    returns = {bad.subject for bad in isolated_body_return.check.judge(study) if isinstance(bad, Bad)}
    for body in isolated:
        earths = bonded_twice(study, body)
        case, current = _through(study, earths)
        if body.id in returns or not earths or current < NOTHING:
            yield Content(body.id, "carries no part of a return that has a conductor of its own")
            continue
        bonds = [e.subject for earth in earths for e, _ in study.network.around(earth) if e.kind == "conductor"]
        yield Bad(
            subject=body.id,
            message=f"{body.id} is isolated, but bonded to one negative at {listed(earths)}: "
            f"it carries {amps(current)} in {case}",
            at=mark(body, "state", "must not carry current"),
            related=tuple(dict.fromkeys((*earths, *bonds))),
            marks=tuple(at_name(study.job.conductors[id], "a bond") for id in dict.fromkeys(bonds)),
            case=case,
            severity="warning",
            reason="joints, hinges and bearings carry current beside the conductor, and corrode",
            remedy=f"leave one bond of {body.id} and take the others off",
            values={"earths": ", ".join(earths), "current_a": current},
            through=body.through,
        )


def _through(study: Study, earths: tuple[str, ...]) -> tuple[str, float]:
    """The case in which most current goes into the body at one of its earths, and how much. [A]"""
    worst = ("", 0.0)
    for case in study.cases:
        for earth in earths:
            current = abs(brought(study, case, earth))
            if clearly_more(current, worst[1]):
                worst = case.name, current
    return worst


def _too_thin(plug: Around, over: Overload) -> Bad:
    carries, bears = apart(over.current, over.ampacity)
    conductor = over.conductor
    return Bad(
        subject=conductor.id,
        message=f"when {plug.a} opens, {conductor.id} carries {carries} A in {over.case}, but bears {bears} A",
        at=mark(conductor, "size", f"bears {bears} A"),
        related=tuple(dict.fromkeys((plug.part.id, plug.a, *plug.ids))),
        marks=(at_name(plug.part, "a pin that corrodes, a plug half in"),),
        case=over.case,
        reason="a return has no fuse: it burns through its insulation, and what lies beside it",
        remedy=f"bond at one end only, so that {conductor.id} leads around nothing, or size it for {carries} A",
        values={"current_a": over.current, "ampacity_a": over.ampacity, "opens": plug.a},
        through=conductor.through,
    )
