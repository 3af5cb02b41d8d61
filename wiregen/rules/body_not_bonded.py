"""body-not-bonded: a body carries return current, and nothing joins it to the negative that the current belongs to.

Hazard
    What is earthed there is dead, or finds a way back through a plug's shield or a bearing. A positive that chafes
    through on the body blows no fuse: the whole body is live, and nobody knows.
Test
    Each body that is not `isolated` and on which something lands, and each that is `bonded` and has an earth: the
    negative of a source has to be on it. Of each device that returns through it, the negative of every battery that
    feeds the device.
Basis
    common practice; ISO 13297 and ISO 10133 want one bond of the negative where the body is earthed (from memory)
Bad
    body shell bonded, 1.5 mohm
    earth E1 on shell
    earth E2 on shell
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 0.3 m]-- E1
    start.+ -- F3 --[W3 red 2.5 mm2 1 m]-- lamp1.+
    lamp1.- --[W4 black 2.5 mm2 0.3 m]-- E2
Good
    body shell bonded, 1.5 mohm
    earth E1 on shell
    earth E2 on shell
    start.- --[B0 black 16 mm2 0.3 m]-- E2
    start.+ -- F1 --[W1 red 2.5 mm2 1 m]-- pump.+
    pump.- --[W2 black 2.5 mm2 0.3 m]-- E1
Limits
    A body without any earth in the job is not judged. A device that has no way back by itself is for missing-return, an
    indicator lamp alone on a body for indicator-without-return.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.assemble import main_battery
from wiregen.circuit.bonding import batteries_behind, carrying, on_nothing, only_indicators, returning, stranded
from wiregen.circuit.crossing import crossings
from wiregen.circuit.questions import Rails, rails
from wiregen.circuit.study import Study
from wiregen.circuit.ways_back import lowest
from wiregen.model.job import Body
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule
from wiregen.rules.words import listed


@rule("body-not-bonded", severity="danger", basis="common practice; ISO 13297, ISO 10133 (from memory, not read)")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each body without a bond, and for each battery whose current has none."""
    job = study.job
    bodies = carrying(study)
    if not bodies:
        return
    lines = rails(study)
    said: list[Verdict] = []
    for body in bodies:
        if only_indicators(study, lines, body):
            said.append(Content(body.id, "only indicator lamps return through it"))
        elif on_nothing(study, lines, body):
            said.append(_unbonded(study, lines, body))
        else:
            said += _batteries(study, lines, body)
    if any(isinstance(each, Bad) for each in said) and crossings(job, study.network):
        said = [Content("job", "positive meets negative somewhere: what a body carries is judged when that is right")]
    yield from said


def _unbonded(study: Study, lines: Rails, body: Body) -> Bad:
    devices = list(dict.fromkeys(port.part for port in returning(study, lines, body)))
    fed = [b for port in returning(study, lines, body) for b in batteries_behind(study.job, lines, port.plus)]
    main = main_battery(study.job)
    goal = listed(dict.fromkeys(lowest(study.job, lines, b) for b in fed)) or (
        f"{main.id}.-" if main else "the negative of the source"
    )
    return Bad(
        subject=body.id,
        message=f"{listed(devices)} {'returns' if len(devices) == 1 else 'return'} through {body.id}, "
        f"but no negative of a source is joined to it"
        if devices
        else f"{body.id} is to be bonded, but no negative of a source is joined to it",
        at=mark(body, "state", "not joined to a negative"),
        related=(*devices, *body.earths),
        marks=tuple(at_name(study.job.parts[id], "returns through it") for id in devices),
        reason=f"what is earthed on {body.id} is dead, and a fault to it blows no fuse",
        remedy=f"join {goal} to {body.id} with a conductor of the size of the battery's negative lead",
        values={"devices": ", ".join(devices)},
        through=body.through,
    )


def _batteries(study: Study, lines: Rails, body: Body) -> Iterator[Verdict]:
    """Batteries whose current goes into a body that does not lead back to them."""
    job = study.job
    found = stranded(study, lines, body)
    if not found:
        yield Content(body.id, "is joined to the negative of every battery that feeds what returns through it")
    for battery, devices in found.items():
        ids = list(dict.fromkeys(devices))
        home = lowest(job, lines, battery)
        yield Bad(
            subject=battery,
            message=f"{listed(ids)}, fed from {battery}, {'returns' if len(ids) == 1 else 'return'} through {body.id}, "
            f"but {home} is not joined to {body.id}",
            at=at_name(job.parts[battery], f"its negative is not on {body.id}"),
            related=(*ids, body.id, home),
            marks=tuple(at_name(job.parts[id], f"returns through {body.id}") for id in ids),
            reason=f"the current of {battery} has no way back, and a fault to {body.id} blows none of its fuses",
            remedy=f"join {home} to {body.id}, or lead the returns back to {home} in conductors of their own",
            values={"battery": battery, "devices": ", ".join(ids)},
            through=job.parts[battery].through,
        )
