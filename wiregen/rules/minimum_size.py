"""minimum-size: a conductor is thinner than the limits allow, whatever it carries.

Hazard
    A thin conductor bears its current and breaks all the same: at the crimp, where it is pulled, where it shakes.
Test
    The copper area of each conductor against the least that the job's `limits` allow: less inside a sheath, nothing
    for short leads, for leads that came with a part, and for sensing and control.
Basis
    ISO 10133, 7.7: over 200 mm at least 1 mm2, in a sheath 0.75 mm2. 33 CFR 183.425: 16 AWG, in a multi-conductor
    sheath 18 AWG. For AS/NZS 3001.2 no figure was found: that of ISO stands in. Sense, trigger and coil leads and
    indicator lamps go thinner by common practice, no source.
Bad
    start.+ -- F3 --[W1 red 0.75 mm2 3 m]-- lamp1.+
    lamp1.- --[W2 black 1 mm2 3 m]-- start.-
Good
    start.+ -- F3 --[W1 red 1 mm2 3 m]-- lamp1.+
    lamp1.- --[W2 black 1 mm2 3 m]-- start.-
Limits
    A conductor that is too thin for its current or its fuse is for undersized-conductor and oversized-fuse. Without a
    length a conductor is not judged. Advice only where the job names no limits.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.catalogue.tables import Row
from wiregen.circuit.questions import signal_lead
from wiregen.circuit.study import Study
from wiregen.circuit.wires import copper_area
from wiregen.model.job import Conductor, Job
from wiregen.rules.fixes import put
from wiregen.rules.limits import basis, chosen, named
from wiregen.rules.returns import too_thin_already
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import beyond, figure, listed, metres

SLACK = 0.01
"""Of an area: 1.3 mm2 is 16 AWG, rounded. A choice of ours, common practice, no source."""


@rule("minimum-size", severity="warning", basis="the least size of the job's limits")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each size as it is written once: conductors that have it from one `each` or cable are related."""
    job = study.job
    limits = chosen(job)
    thin = [c for c in job.conductors.values() if _below(limits, c)]
    if not thin:
        yield Content("job", "no conductor is thinner than {} mm2, in a sheath {} mm2",
                      (figure(limits["minimum_mm2"]), figure(limits["minimum_sheathed_mm2"])))  # fmt: skip
        return
    spoken = too_thin_already(study)
    found: dict[object, list[Conductor]] = {}
    for conductor in thin:
        if conductor.id in spoken:
            yield Content(conductor.id, "too thin for its current or its fuse, which is said already")
        elif signal_lead(study, conductor):
            yield Content(conductor.id, "a lead for sensing or control")
        else:
            found.setdefault(conductor.where("size"), []).append(conductor)
    for alike in found.values():
        yield _bad(job, limits, alike)


def least_area(study: Study, conductor: Conductor) -> float:
    """The copper area that the limits ask of a conductor [mm2], 0 where they ask for nothing."""
    limits = chosen(study.job)
    length = conductor.number("length")
    if length is None or conductor.has("supplied") or not beyond(length, limits["minimum_over_m"]):
        return 0.0
    return 0.0 if signal_lead(study, conductor) else _least(limits, conductor) / (1 + SLACK)


def _below(limits: Row, conductor: Conductor) -> bool:
    area, length = copper_area(conductor), conductor.number("length")
    if area is None or length is None or conductor.has("supplied") or not beyond(length, limits["minimum_over_m"]):
        return False
    if conductor.cable is not None and conductor.id == f"{conductor.cable}.screen":
        return False
    return beyond(_least(limits, conductor), area * (1 + SLACK))


def _sheathed(conductor: Conductor) -> bool:
    """Whether it is a core of a cable, or runs in a sheath (its bundle's is its own)."""
    return conductor.cable is not None or conductor.word("in") == "sheath"


def _least(limits: Row, conductor: Conductor) -> float:
    return float(limits["minimum_sheathed_mm2" if _sheathed(conductor) else "minimum_mm2"])


def _written(limits: Row, conductor: Conductor) -> str:
    """The least size as it is sold, in the conductor's own units."""
    sheathed = _sheathed(conductor)
    measure = conductor.measure("size")
    if measure is not None and measure.dimension == "gauge":
        return "18 AWG" if sheathed else "16 AWG"
    if limits["table"] == "cfr":
        return "1 mm2" if sheathed else "1.5 mm2"
    if measure is not None and measure.dimension == "auto-size":
        return "3 auto-mm"
    return "0.75 mm2" if sheathed else "1 mm2"


def _bad(job: Job, limits: Row, alike: list[Conductor]) -> Bad:
    conductor = alike[0]
    names = [each.id for each in alike]
    area, least = copper_area(conductor) or 0.0, _least(limits, conductor)
    size, where = conductor.word("size"), " in a sheath" if _sheathed(conductor) else ""
    own = f"{size} ({figure(area)} mm2)" if (m := conductor.measure("size")) and m.dimension != "area" else size
    enough = _written(limits, conductor)
    return Bad(
        subject=conductor.id,
        message=(
            f"{listed(names)} {'have' if names[1:] else 'has'} {own}; over {metres(limits['minimum_over_m'])} long"
            f"{where}, {figure(least)} mm2 is the least"
        ),
        at=mark(conductor, "size", f"below {figure(least)} mm2"),
        related=tuple(names[1:]),
        reason="it bears its current, but breaks where it is crimped, pulled or shaken",
        remedy=f"size {listed(names)} at {enough} or more",
        values={
            "area_mm2": area,
            "limit_mm2": least,
            "length_m": conductor.number("length"),
            "size_that_passes": enough,
        },
        through=conductor.through,
        basis=basis(job, limits, "minimum_source"),
        severity=None if named(job) else "advice",
        fix=put(alike, "size", enough),
    )
