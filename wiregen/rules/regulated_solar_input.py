"""regulated-solar-input: a regulated source feeds a solar input that expects a bare panel.

Hazard
    A solar input hunts for the panel's best voltage by loading it; a regulator before it fights back, or is destroyed,
    and the battery never fills.
Test
    What is connected to the solar port of every charger and solar controller: no panel that says `regulated`, and no
    output of another charger or controller.
Basis
    common practice; the makers' instructions ask for unregulated panels
Bad
    panel p1 100 W regulated, voc 22 V, vmp 18 V, isc 6 A, imp 5.5 A
    solar-controller sc 15 A, profile agm
    p1.+ --[S1 red 4 mm2 1 m]-- sc.solar.+
    p1.- --[S2 black 4 mm2 1 m]-- sc.solar.-
    sc.out.+ --[S3 red 6 mm2 1 m]-- F1 -- aux.+
    sc.out.- --[S4 black 6 mm2 1 m]-- aux.-
Good
    panel p1 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.5 A
    solar-controller sc 15 A, profile agm
    p1.+ --[S1 red 4 mm2 1 m]-- sc.solar.+
    p1.- --[S2 black 4 mm2 1 m]-- sc.solar.-
    sc.out.+ --[S3 red 6 mm2 1 m]-- F1 -- aux.+
    sc.out.- --[S4 black 6 mm2 1 m]-- aux.-
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.questions import Rails, rails
from wiregen.circuit.study import Study
from wiregen.model.job import Job
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule


@rule("regulated-solar-input", severity="danger", basis="common practice; makers ask for unregulated panels")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each regulated source on a solar port."""
    job = study.job
    lines = rails(study)
    for part in job.parts.values():
        port = f"{part.id}.solar.+"
        if port not in part.terminals or not job.terminals[port].used:
            continue
        sources = [job.parts[name] for name in _string(job, lines, port) if name != part.id]
        for source in sources:
            if source.kind == "panel" and not source.has("regulated"):
                yield Content(source.id, "is a bare panel on {}", (port,))
            elif source.kind in ("panel", "charger", "solar-controller", "mains-charger"):
                what = "a regulated panel" if source.kind == "panel" else "the output of a regulator"
                yield Bad(
                    subject=source.id,
                    message=f"{source.id} feeds {port}, which expects a bare panel, but is {what}",
                    at=mark(source, "regulated", "regulates already"),
                    related=(part.id, port),
                    marks=(at_name(part, "regulates too"),),
                    reason="two regulators in a row fight each other",
                    remedy=f"take out the regulator at the panel, or lead {source.id} straight to the battery"
                    if source.kind == "panel"
                    else f"lead the panel to {port} and the output of {source.id} to the battery",
                    values={"port": port},
                    through=source.through,
                )


def _string(job: Job, lines: Rails, port: str) -> list[str]:
    """What feeds a port, with the panels in series behind its panels."""
    names = list(lines.sources(port, "+"))
    for name in names:
        minus = f"{name}.-"
        if job.parts[name].kind == "panel" and minus in lines.net:
            behind = lines.sources(minus, "+")
            names += [each for each in behind if job.parts[each].kind == "panel" and each not in names]
    return names
