"""insulation-too-cool: a conductor runs through a place that is as hot as its insulation bears, or hotter.

Hazard
    The insulation softens and cracks, by the slightest current or without any at all.
Test
    The hottest ambient on each conductor's route against the temperature of its insulation. One finding for each place
    and kind of insulation. Exactly as hot is too hot: nothing is left for the conductor's own current.
Basis
    the temperature class of the cable (ISO 6722-1, from memory); 85 degC is taken where nothing is said
Bad
    place manifold, ambient 120 degC
    start.+ -- F3 --[W1 red 2.5 mm2 1 m, via manifold, insulation 105 degC]-- pump.+
    pump.- --[W2 black 2.5 mm2 1 m]-- start.-
Good
    place manifold, ambient 120 degC
    start.+ -- F3 --[W1 red 2.5 mm2 1 m, via manifold, insulation 125 degC]-- pump.+
    pump.- --[W2 black 2.5 mm2 1 m]-- start.-
Limits
    Cold is not judged. What the current adds is for undersized-conductor.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.figures import Figures
from wiregen.circuit.study import Study
from wiregen.findings import Mark
from wiregen.model.job import Conductor
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import beyond, figure, listed


@rule("insulation-too-cool", severity="danger", basis="the temperature class of the cable (ISO 6722-1, from memory)")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each place and kind of insulation, on the first conductor there."""
    figures = Figures(study.job)
    found: dict[tuple[str, float, float], list[Conductor]] = {}
    for conductor in study.job.conductors.values():
        wire = figures.wire(conductor)
        hottest = max(wire.stretches, key=lambda stretch: stretch.ambient)
        if not beyond(wire.insulation, hottest.ambient):  # as hot as it bears: nothing is left for a current of its own
            key = (hottest.place or "", hottest.ambient, wire.insulation)
            found.setdefault(key, []).append(conductor)
        else:
            yield Content(
                conductor.id, "bears {} degC, runs in {} degC", (figure(wire.insulation), figure(hottest.ambient))
            )
    for (place, ambient, bears), conductors in found.items():
        first = conductors[0]
        others = [c.id for c in conductors[1:]]
        where = place or "its place"
        said = "" if first.has("insulation") else " (taken, since nothing is said)"
        yield Bad(
            subject=first.id,
            message=f"{first.id} bears {figure(bears)} degC{said}, but {where} reaches {figure(ambient)} degC"
            + (f"; so too {listed(others)}" if others else ""),
            at=Mark(next((leg.span for leg in first.route if leg.place == place), first.span), "too hot for it"),
            related=(*((place,) if place else ()), *others),
            marks=(mark(study.job.places[place], "ambient", "as hot as this"),) if place in study.job.places else (),
            reason="the insulation softens and cracks, by the slightest current or without any",
            remedy=f"use insulation for more than {figure(ambient)} degC, or keep away from {where}",
            values={"insulation_c": bears, "ambient_c": ambient},
            through=first.through,
        )
