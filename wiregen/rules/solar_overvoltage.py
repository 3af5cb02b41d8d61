"""solar-overvoltage: panels in series give more voltage in the cold than the solar input bears.

Hazard
    The input is destroyed on the first clear winter morning, before the battery takes any current.
Test
    The open-circuit voltage of the panels in series on each solar port at the coldest day, against `solar-max`.
    Voc (1 + coefficient (T - 25 degC)), the panel taken as cold as the air.
Basis
    NEC 690.7(A), by coefficient (read in reprints)
Bad
    panel p1 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.5 A, voc-coefficient -0.3 %/K, coldest -10 degC
    solar-controller sc 15 A, profile agm, solar-max 24 V
    p1.+ --[S1 red 4 mm2 1 m]-- sc.solar.+
    p1.- --[S2 black 4 mm2 1 m]-- sc.solar.-
    sc.out.+ --[S3 red 6 mm2 1 m]-- F1 -- aux.+
    sc.out.- --[S4 black 6 mm2 1 m]-- aux.-
Good
    panel p1 100 W, voc 22 V, vmp 18 V, isc 6 A, imp 5.5 A, voc-coefficient -0.3 %/K, coldest -10 degC
    solar-controller sc 15 A, profile agm, solar-max 50 V
    p1.+ --[S1 red 4 mm2 1 m]-- sc.solar.+
    p1.- --[S2 black 4 mm2 1 m]-- sc.solar.-
    sc.out.+ --[S3 red 6 mm2 1 m]-- F1 -- aux.+
    sc.out.- --[S4 black 6 mm2 1 m]-- aux.-
Limits
    The straight line is 1 to 3 % below a single-diode model in the cold: keep a margin. Where a panel gives no
    coefficient or coldest day, those of the study's assumptions are taken.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.catalogue import catalogue
from wiregen.circuit.questions import Rails, rails
from wiregen.circuit.study import Study
from wiregen.model.job import Job, Part
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, at_name, mark, rule
from wiregen.rules.words import apart, beyond, figure, listed, volts


@rule("solar-overvoltage", severity="danger", basis="NEC 690.7(A), by coefficient (read in reprints)")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each solar port with too much in series."""
    job = study.job
    lines = rails(study)
    for part in job.parts.values():
        port = f"{part.id}.solar.+"
        if port not in part.terminals or not job.terminals[port].used:
            continue
        string = highest_string(job, lines, lines.net[port], frozenset())
        if not string:
            continue
        silent = next((panel for panel in string if panel.number("voc") is None), None)
        bears = part.number("solar-max")
        if silent is not None:
            yield _unjudged(silent, "open-circuit voltage", "voc 22 V")
        if bears is None:
            yield _unjudged(part, "greatest solar input voltage", "solar-max 50 V")
        if silent is not None or bears is None:
            continue
        cold = sum(cold_voltage(panel) for panel in string)
        if not beyond(cold, bears):
            yield Content(part.id, "bears {}, its panels give {} in the cold", (volts(bears), volts(cold)))
            continue
        gives, most = apart(cold, bears)
        names = [panel.id for panel in string]
        yield Bad(
            subject=part.id,
            message=f"{listed(names)} give{'s' if len(names) == 1 else ''} {gives} V at {_coldest(string)} degC,"
            f" but {part.id} bears {most} V",
            at=mark(part, "solar-max", f"bears {most} V"),
            related=(port, *names),
            marks=tuple(mark(panel, "voc", "warm; more in the cold") for panel in string),
            reason="the input is destroyed on a clear cold morning",
            remedy=f"use a controller for {gives} V or more"
            + (", or put the panels in parallel" if len(string) > 1 else ""),
            values={"cold_v": cold, "solar_max_v": bears},
            through=part.through,
        )


def _unjudged(part: Part, fact: str, example: str) -> Unjudged:
    write = f"write what its maker states, as in `{example}`"
    return Unjudged(part.id, f"the {fact} of {part.id}", write, at_name(part, f"no {fact}"), part.through)


def cold_voltage(panel: Part) -> float:
    """Open-circuit voltage of a panel on its coldest day. [V]"""
    voc = panel.number("voc") or 0.0
    series = panel.number("series") or 1.0
    coldest = panel.number("coldest")
    degrees = (catalogue().default("panel-coldest") if coldest is None else coldest) - 25.0
    slope = panel.measure("voc-coefficient")
    if slope is not None and slope.dimension == "voltage-slope":
        return (voc + slope.value * degrees) * series
    ratio = slope.value if slope is not None else catalogue().default("panel-coefficient")
    return voc * (1 + ratio * degrees) * series


def _coldest(string: tuple[Part, ...]) -> str:
    degrees = [panel.number("coldest") for panel in string]
    said = [each for each in degrees if each is not None]
    return figure(min(said)) if said else figure(catalogue().default("panel-coldest"))


def highest_string(job: Job, lines: Rails, net: str, used: frozenset[str]) -> tuple[Part, ...]:
    """The panels in series below a net that give the most voltage together."""
    best: tuple[Part, ...] = ()
    for terminal in lines.members[net]:
        panel = job.part_of(terminal)
        if panel is None or panel.kind != "panel" or not terminal.endswith(".+") or panel.id in used:
            continue
        below = lines.net.get(f"{panel.id}.-")
        rest = highest_string(job, lines, below, used | {panel.id}) if below and below != net else ()
        if sum(map(cold_voltage, (panel, *rest))) > sum(map(cold_voltage, best)) or not best:
            best = (panel, *rest)
    return best
