"""switched-always-live: a load that must stay live hangs behind an isolator.

Hazard
    Whoever leaves and turns the isolator off turns off the gas alarm or the bilge pump too, and nobody notices.
Test
    With all isolators open, and all switches that other loads share: each load marked `always-live` must still be
    joined to a battery.
Basis
    ABYC E-11: bilge pumps and alarms may be connected ahead of the battery switch (from memory, not read); common
    practice for what a job marks `always-live`
Bad
    isolator Q1 50 A
    fuse F4 3 A cartridge, volts 58 V, breaks 10 kA
    load alarm 0.1 A, always-live
    aux.+ -- F4 --[R1 red 1.5 mm2 0.2 m]-- Q1 --[R2 red 1.5 mm2 2 m]-- alarm --[B1 black 1.5 mm2 2 m]-- aux.-
Good
    fuse F4 3 A cartridge, volts 58 V, breaks 10 kA
    load alarm 0.1 A, always-live
    aux.+ -- F4 --[R1 red 1.5 mm2 2 m]-- alarm --[B1 black 1.5 mm2 2 m]-- aux.-
Limits
    A switch or breaker of the load's own is not judged, nor a float switch.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.isolation import fed
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import live_posts
from wiregen.model.job import Contact, Part
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule

LOADS = ("load", "lamp", "sensor", "inverter")


@rule("switched-always-live", severity="warning", basis="common practice; ABYC E-11 allows it (from memory, not read)")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each load that must stay live and does not."""
    job = study.job
    alive = [part for part in job.parts.values() if part.kind in LOADS and part.has("always-live")]
    if not alive:
        return
    network = without(study.network, crossings(job, study.network))
    posts = live_posts(job, network)
    closed = fed(network, posts)
    cut = [part for part in job.parts.values() if part.kind in ("isolator", "switch")]
    shared = {part.id for part in cut if part.kind == "isolator" or _feeds_others(study, part)}
    opened = fed(network, posts, lambda contact: contact.part in shared)
    for load in alive:
        end = next((t for t in load.terminals if t in closed), None)
        if end is None:
            continue  # fed by nothing: other rules say so
        if any(t in opened for t in load.terminals):
            yield Content(load.id, "stays live with every isolator open")
            continue
        way = closed[end]
        switch = next(job.parts[id] for id in way.path if id in shared)
        yield Bad(
            subject=load.id,
            message=f"{load.id} is marked always-live, but {switch.id} turns it off",
            at=mark(load, "always-live", f"behind {switch.id}"),
            related=(switch.id, way.source),
            marks=(at_name(switch, "turns it off"),),
            reason=f"with {switch.id} off {load.id} does not work, and nobody is warned",
            remedy=f"feed {load.id} from {way.source} ahead of {switch.id}, through a fuse of its own beside the post",
            values={"switch": switch.id, "source": way.source, "path": " ".join(way.path)},
            through=load.through,
        )


def _feeds_others(study: Study, switch: Part) -> bool:
    """Whether loads that need not stay live hang behind a switch too."""
    job = study.job
    network = without(study.network, crossings(job, study.network))
    posts = live_posts(job, network)

    def this(contact: Contact) -> bool:
        return contact.part == switch.id

    lost = fed(network, posts).keys() - fed(network, posts, this).keys()
    others = (part for part in job.parts.values() if part.kind in LOADS and not part.has("always-live"))
    return any(t in lost for part in others for t in part.terminals)
