"""unregulated-panel: a solar panel charges a battery with nothing between that limits its voltage.

Hazard
    In full sun the battery is driven far beyond its charge voltage: it gasses and dries out, or its protection opens
    and what hangs on the rail gets the panel's open voltage.
Test
    Each panel that does not say `regulated` and has a battery on its positive, with no controller between: its current
    against the battery's capacity.
Basis
    common practice: up to a hundredth of its capacity in amperes a lead battery stands for good, no source
Bad
    panel sun 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.5 A
    sun.+ --[V1 red 4 mm2 1 m]-- F1 -- aux.+
    sun.- --[V2 black 4 mm2 1 m]-- aux.-
Good
    panel sun 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.5 A
    solar-controller mppt 10 A, profile agm, solar-max 50 V
    sun.+ --[V1 red 4 mm2 1 m]-- mppt.solar.+
    sun.- --[V2 black 4 mm2 1 m]-- mppt.solar.-
    mppt.out.+ --[R1 red 4 mm2 1 m]-- F1 -- aux.+
    mppt.out.- --[B1 black 4 mm2 1 m]-- aux.-
Limits
    A small panel on a lead battery may keep it full; on lithium none may. Diodes and switches between do not limit.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings
from wiregen.circuit.figures import Figures
from wiregen.circuit.panel import panel_figures
from wiregen.circuit.questions import Rails, lithium, rails
from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, rule
from wiregen.rules.words import amps, beyond, listed

SHARE = 0.01
"""Of a lead battery's capacity, as a current, that it stands for good: common practice, no source. [1/h]"""


@rule("unregulated-panel", severity="danger", basis="common practice, no source")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each battery that panels charge straight."""
    job = study.job
    panels = [part for part in job.parts.values() if part.kind == "panel" and not part.has("regulated")]
    if not panels or crossings(job, study.network):
        return
    lines = rails(study)
    found: dict[str, list[Part]] = {}
    for panel in panels:
        batteries = lines.batteries(job, f"{panel.id}.+", "+")
        if batteries:
            found.setdefault(batteries[0], []).append(panel)
        else:
            yield Content(panel.id, "has no battery on its positive")
    for battery, together in found.items():
        yield _judged(study, lines, job.parts[battery], together)


def _judged(study: Study, lines: Rails, battery: Part, panels: list[Part]) -> Verdict:
    job = study.job
    figures = Figures(job)
    gives = sum(panel_figures(figures, panel)[3] for panel in panels)
    bank = [job.parts[id] for id in lines.batteries(job, f"{battery.id}.+", "+")]
    stands = SHARE * sum((b.number("capacity") or 0.0) * (b.number("parallel") or 1.0) for b in bank)
    if not beyond(gives, stands) and not any(lithium(b) for b in bank):
        return Content(battery.id, "stands the {} of {}", (amps(gives), listed(panel.id for panel in panels)))
    first = panels[0]
    ids = [panel.id for panel in panels]
    charge = "charge" if ids[1:] else "charges"
    return Bad(
        subject=first.id,
        message=f"{listed(ids)} {charge} {battery.id} with {amps(gives)}, and nothing limits the voltage",
        at=at_name(first, "straight on a battery"),
        related=(*ids[1:], battery.id),
        marks=(at_name(battery, "has no controller before it"),),
        reason="in full sun the battery is driven far beyond its charge voltage",
        remedy=f"put a solar controller for {amps(gives)} or more between {listed(ids)} and {battery.id}",
        values={"gives_a": gives, "stands_a": stands},
        through=first.through,
    )
