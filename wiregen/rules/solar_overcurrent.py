"""solar-overcurrent: panels give more current than the solar input takes.

Hazard
    A controller that limits itself runs hot and wastes sun; one that does not is overloaded.
Test
    The short-circuit currents of all strings on each solar port, added up and times 1.25, against `solar-max-current`.
Basis
    continuous-current factor 1.25 of the NEC (read in a reprint)
Bad
    panel p1 100 W, voc 22 V, vmp 18 V, isc 12.1 A, imp 11 A
    solar-controller sc 15 A, profile agm, solar-max 50 V, solar-max-current 15 A
    p1.+ --[S1 red 4 mm2 1 m]-- sc.solar.+
    p1.- --[S2 black 4 mm2 1 m]-- sc.solar.-
    sc.out.+ --[S3 red 6 mm2 1 m]-- F1 -- aux.+
    sc.out.- --[S4 black 6 mm2 1 m]-- aux.-
Good
    panel p1 100 W, voc 22 V, vmp 18 V, isc 12 A, imp 11 A
    solar-controller sc 15 A, profile agm, solar-max 50 V, solar-max-current 15 A
    p1.+ --[S1 red 4 mm2 1 m]-- sc.solar.+
    p1.- --[S2 black 4 mm2 1 m]-- sc.solar.-
    sc.out.+ --[S3 red 6 mm2 1 m]-- F1 -- aux.+
    sc.out.- --[S4 black 6 mm2 1 m]-- aux.-
Limits
    A controller that does not say what it takes is not judged: many limit themselves.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.questions import rails
from wiregen.circuit.study import Study
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, at_name, mark, rule
from wiregen.rules.words import amps, apart, beyond, listed

FACTOR = 1.25
"""More sun than the test's 1000 W/m2: NEC 690.8 (read in a reprint)."""


@rule("solar-overcurrent", severity="warning", basis="continuous-current factor 1.25 of the NEC (read in a reprint)")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each solar port with too much in parallel."""
    job = study.job
    lines = rails(study)
    for part in job.parts.values():
        port = f"{part.id}.solar.+"
        takes = part.number("solar-max-current")
        if port not in part.terminals or not job.terminals[port].used or takes is None:
            continue
        panels = [job.parts[name] for name in lines.sources(port, "+") if job.parts[name].kind == "panel"]
        silent = next((panel for panel in panels if panel.number("isc") is None), None)
        if silent is not None:
            yield Unjudged(
                silent.id,
                f"the short-circuit current of {silent.id}",
                "write what its maker states, as in `isc 6 A`",
                at_name(silent, "no isc"),
                silent.through,
            )
            continue
        gives = FACTOR * sum((p.number("isc") or 0.0) * (p.number("parallel") or 1.0) for p in panels)
        if not beyond(gives, takes):
            yield Content(part.id, "takes {}, its panels give {}", (amps(takes), amps(gives)))
            continue
        given, taken = apart(gives, takes)
        give = "give" if panels[1:] else "gives"
        yield Bad(
            subject=part.id,
            message=f"{listed(p.id for p in panels)} {give} {given} A (1.25 times isc), but {part.id} takes {taken} A",
            at=mark(part, "solar-max-current", f"takes {taken} A"),
            related=(port, *(p.id for p in panels)),
            marks=tuple(mark(p, "isc", "gives") for p in panels),
            reason="the controller is overloaded in full sun, or throws part of it away",
            remedy=f"use a controller for {given} A, or put panels in series if its voltage allows",
            values={"gives_a": gives, "takes_a": takes},
            through=part.through,
        )
