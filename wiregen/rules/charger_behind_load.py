"""charger-behind-load: a charger shares the fuse of its feed with loads, or hangs on a circuit too small for it.

Hazard
    The circuit was laid for the load: with the charger on it the voltage falls and the fuse ages until it opens, and
    then the second battery goes flat without a sign. A short in the load stops the charging too.
Test
    The fuse or breaker nearest to each charger's input: the loads that lose their supply when it opens draw together
    more than a tenth of what the charger takes; or the charger takes more from an existing circuit than that is fused
    at. Its output must not reach the battery through a way of a fuse block.
Basis
    common practice, no source: a charger has a circuit of its own from the battery
Bad
    splice J1
    fuse F9 60 A strip, volts 58 V, breaks 10 kA
    start.+ -- F9 --[R1 red 16 mm2 1 m]-- J1 --[R2 red 16 mm2 1 m]-- dcdc.in.+
    J1 --[R3 red 16 mm2 1 m]-- heater --[B3 black 16 mm2 1 m]-- start.-
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R4 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
Good
    start.+ -- F2 --[R2 red 10 mm2 1 m]-- dcdc.in.+
    start.+ -- F1 --[R3 red 4 mm2 1 m]-- heater --[B3 black 4 mm2 1 m]-- start.-
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    fuse F4 20 A cartridge, volts 58 V, breaks 10 kA
    dcdc.out.+ --[R4 red 10 mm2 1 m]-- F4 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
Limits
    A main fuse ahead of a bar is no shared fuse where the charger has one of its own behind it. Sensors are no loads
    here.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.figures import Figures
from wiregen.circuit.isolation import Reach, fed
from wiregen.circuit.network import Network
from wiregen.circuit.protection import feeds
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import live_posts
from wiregen.model.job import Part
from wiregen.rules.currents import taken
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule
from wiregen.rules.words import amps, apart, beyond, listed

SHARE = 0.1
"""Part of the charger's current that loads on its fuse may draw: a lamp or a meter; no source."""

LOADS = ("load", "lamp", "inverter")
CHARGERS = ("charger", "solar-controller", "mains-charger")


@rule("charger-behind-load", severity="warning", basis="common practice, no source")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each charger that has no circuit of its own."""
    job = study.job
    chargers = [part for part in job.parts.values() if part.kind in CHARGERS]
    if not chargers:
        return
    figures = Figures(job)
    network = without(study.network, crossings(job, study.network))
    for part in chargers:
        found = _input(study, figures, network, part) if f"{part.id}.in.+" in part.terminals else None
        if not isinstance(found, Bad):
            found = _output(study, network, part) or found
        if found is not None:
            yield found


def _source(study: Study, network: Network, terminal: str) -> tuple[str, Reach] | None:
    """The battery or feed nearest to a positive terminal by steps, and the way to it."""
    for there, way in fed(network, (terminal,)).items():
        at = study.job.part_of(there)
        if at is not None and (at.kind == "feed" or (at.kind == "battery" and there.endswith(".+"))):
            return at.id, way
    return None


def _input(study: Study, figures: Figures, network: Network, part: Part) -> Verdict | None:
    job = study.job
    met = _source(study, network, f"{part.id}.in.+")
    if met is None:
        return None
    source, way = met
    takes = max((taken(case, part.id, "input_current_a") for case in study.cases), default=0.0)
    takes = takes or part.number("input-max") or part.number("rating") or 0.0
    fuses = [id for id in way.path if id in job.parts and job.parts[id].kind in ("fuse", "breaker")]
    if not fuses:
        fused = job.parts[source].number("fused")
        if job.parts[source].kind == "feed" and fused is not None and beyond(takes, fused):
            return _on_feed(part, job.parts[source], takes, fused)
        return None
    nearest = job.parts[fuses[0]]
    sources = (*live_posts(job, network), *feeds(job))
    left = fed(network, sources, lambda contact: contact.part == nearest.id)
    lost = fed(network, sources).keys() - left.keys()
    loads = [p for p in job.parts.values() if p.kind in LOADS and any(t in lost for t in p.terminals)]
    draws = sum(figures.amps(load) for load in loads)
    if not beyond(draws, SHARE * takes):
        return Content(part.id, "has {} for itself", (nearest.id,))
    return Bad(
        subject=part.id,
        message=f"{part.id} is fed through {nearest.id} together with {listed(p.id for p in loads)}:"
        f" {amps(takes)} and {amps(draws)}",
        at=at_name(part, f"shares {nearest.id}"),
        related=(nearest.id, *(p.id for p in loads), source),
        marks=(mark(nearest, "rating", "one fuse for all"), *(mark(p, "draws", "beside it") for p in loads[:2])),
        reason=f"when {nearest.id} opens for one of them all stop, and nobody sees that {part.id} no longer charges",
        remedy=f"feed {part.id} from {source} by a circuit of its own, fused for {amps(takes)} or more",
        values={"takes_a": takes, "loads_a": draws, "limit_a": SHARE * takes, "path": " ".join(way.path)},
        through=part.through,
    )


def _on_feed(part: Part, feed: Part, takes: float, fused: float) -> Bad:
    took, most = apart(takes, fused)
    return Bad(
        subject=part.id,
        message=f"{part.id} takes {took} A from the existing circuit {feed.id}, which is fused at {most} A",
        at=mark(part, "rating", f"takes {took} A"),
        related=(feed.id,),
        marks=(mark(feed, "fused", "laid for something else"),),
        reason=f"the fuse of {feed.id} opens, or ages until it does, and its cable was laid for less",
        remedy=f"feed {part.id} from the battery by a circuit of its own, fused for {took} A or more",
        values={"takes_a": takes, "limit_a": fused},
        through=part.through,
    )


def _output(study: Study, network: Network, part: Part) -> Verdict | None:
    job = study.job
    out = f"{part.id}.out.+"
    if out not in part.terminals:
        return None
    met = _source(study, network, out)
    ways = [job.parts[id] for id in met[1].path if id in job.parts and job.parts[id].block] if met else []
    if met is None or not ways:
        return None
    block = ways[0].block or ""
    return Bad(
        subject=part.id,
        message=f"{part.id} charges {met[0]} through {ways[0].id}, a way of the fuse block {block}",
        at=at_name(part, f"through {block}"),
        related=(ways[0].id, block, met[0]),
        marks=(mark(ways[0], "rating", "carries the charge"),),
        reason=f"the block's feed was laid for loads: the fuse between {block} and {met[0]} carries both ways",
        remedy=f"lead {out} to {met[0]} by a circuit of its own, fused beside the post",
        values={"way": ways[0].id, "path": " ".join(met[1].path)},
        through=part.through,
        severity="advice",
    )
