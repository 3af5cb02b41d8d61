"""profile-mismatch: a charger charges a battery by the profile of another chemistry.

Hazard
    Too high a voltage boils a lead-acid battery dry or makes a lithium battery switch itself off; too low a voltage
    never fills it.
Test
    The `profile` of each charger, solar controller and mains charger against the chemistry of every battery on its
    output.
Basis
    charge voltages of battery education pages (read in reprints); lithium from memory
Bad
    charger dcdc 18 A, profile lifepo4, efficiency 90 %, negative common
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
Good
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
Limits
    A profile with a voltage of its own is taken as set by someone who knows. Between lead-acid batteries whose charge
    voltages are the same a mismatch is only a warning.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.catalogue import catalogue
from wiregen.circuit.figures import Figures
from wiregen.circuit.questions import in_use
from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.rules.fixes import put
from wiregen.rules.mixed_voltage import alike
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, at_name, mark, rule
from wiregen.rules.words import figure

KINDS = ("charger", "solar-controller", "mains-charger")


@rule("profile-mismatch", severity="danger", basis="charge voltages of battery education pages (read in reprints)")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each charger and battery that do not match."""
    job = study.job
    lines = in_use(study)
    figures = Figures(job)
    for part in job.parts.values():
        output = f"{part.id}.out.+"
        if part.kind not in KINDS or output not in lines.net:
            continue
        fact = part.fact("profile")
        for name in lines.batteries(job, output, "+"):
            battery = job.parts[name]
            if not _same_system(figures, part, battery):
                yield Content(part.id, "is for another voltage than {}: see mixed-voltage", (battery.id,))
            elif fact is None:
                yield _missing(part, "charge profile", "profile agm")
            elif not battery.has("chemistry"):
                yield _missing(battery, "chemistry", "agm")
            elif any(value.measure for value in fact.values):
                yield Content(part.id, "has a charge voltage of its own")
            elif fact.word == battery.word("chemistry"):
                yield Content(part.id, "charges {} by its own chemistry", (battery.id,))
            else:
                yield _bad(part, battery)


def _same_system(figures: Figures, part: Part, battery: Part) -> bool:
    """Whether a charger's output, as far as it says one, is for the voltage of a battery that stands alone."""
    gives = part.number("output-system")
    return (
        gives is None
        or battery.number("volts") is None
        or alike(gives, figures.battery(battery).nominal)
        or (figures.battery(battery).nominal < gives)
    )


def _missing(part: Part, words: str, example: str) -> Unjudged:
    return Unjudged(
        part.id,
        f"the {words} of {part.id}",
        f"write it, as in `{example}`",
        at_name(part, f"no {words}"),
        part.through,
    )


def _bad(part: Part, battery: Part) -> Bad:
    profile, chemistry = part.word("profile"), battery.word("chemistry")
    gives, wants = (catalogue().row("chemistry", name) for name in (profile, chemistry))
    volts = ""
    same = False
    if gives and wants:
        volts = f" ({figure(gives['absorption_v'])} V where {figure(wants['absorption_v'])} V is wanted, at 12 V)"
        lithium = "compensation_v_per_k"
        same = gives["absorption_v"] == wants["absorption_v"] and bool(gives[lithium]) == bool(wants[lithium])
    return Bad(
        subject=part.id,
        message=f"{part.id} charges {battery.id}, which is {chemistry}, by the profile {profile}{volts}",
        at=mark(part, "profile", f"for {profile}"),
        related=(battery.id,),
        marks=(mark(battery, "chemistry", chemistry),),
        reason="too high a voltage damages the battery, too low a voltage never fills it",
        remedy=f"set {part.id} to {chemistry}",
        values={"profile": profile, "chemistry": chemistry},
        through=part.through,
        fix=put((part,), "profile", chemistry),
        severity="warning" if same else None,
    )
