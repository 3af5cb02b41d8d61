"""wet-place: a part sits in a wet place, and its enclosure does not keep the water out.

Hazard
    Water between live contacts: they corrode, heat up, and track until the plastic burns, fuse or no fuse.
Test
    Each part at a place that is `wet`: the second digit of its `ingress` code, how it stands water, has to be 5 (jets
    from a hose, road spray) or more. Once one part in a wet place of the job gives its code, those with contacts inside
    that do not give theirs are asked about, once a place.
Basis
    ISO 10133 and ISO 13297: IP 55 where rain, spray or splashing reaches, IP 67 where it is under water for a while
    (from memory, not read); the code itself is IEC 60529
Bad
    place drawbar wet
    connector X1 50 A, poles + -, volts 60 V, at drawbar, ingress IP44
    start.+ -- F1 --[W1 red 4 mm2 1 m]-- X1.+ --[W2 red 4 mm2 1 m]-- pump.+
    start.- --[W3 black 4 mm2 1 m]-- X1.- --[W4 black 4 mm2 1 m]-- pump.-
Good
    place drawbar wet
    connector X1 50 A, poles + -, volts 60 V, at drawbar, ingress IP67
    start.+ -- F1 --[W1 red 4 mm2 1 m]-- X1.+ --[W2 red 4 mm2 1 m]-- pump.+
    start.- --[W3 black 4 mm2 1 m]-- X1.- --[W4 black 4 mm2 1 m]-- pump.-
Limits
    Whether a place is ever under water is not said: there IP 67 is wanted. A job that gives no code at all in its wet
    places is not asked. Batteries, loads, lamps and panels that do
    not say their code are not asked about. A plug keeps its code only while it is mated or capped.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from wiregen.circuit.study import Study
from wiregen.findings import Mark
from wiregen.model.job import Part
from wiregen.rules.together import once
from wiregen.rules.verdict import Bad, Content, Unjudged, Verdict, at_name, mark, rule
from wiregen.rules.words import listed

WANTED = 5
"""Second digit of the IP code where spray reaches: IP 55 by ISO 10133 and ISO 13297 (from memory, not read)."""
ASKED = frozenset(
    {
        "breaker",
        "busbar",
        "charger",
        "connector",
        "fuse",
        "fuse-block",
        "inverter",
        "isolator",
        "low-voltage-disconnect",
        "mains-charger",
        "plug",
        "relay",
        "socket",
        "solar-controller",
        "switch",
        "voltage-relay",
    }
)
"""Kinds with contacts or terminals inside that water reaches first."""


@rule(
    "wet-place",
    severity="warning",
    basis="ISO 10133, ISO 13297: IP 55 where spray reaches (from memory, not read); code by IEC 60529",
)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each part, or mated pair, that lets the water in; one question for each wet place."""
    return once(study, _judged(study))


def _judged(study: Study) -> Iterator[Verdict]:
    job = study.job
    wet = [place for place in job.places.values() if place.has("wet")]
    ids = {place.id for place in wet}
    told = any(part.place in ids and _against_water(part.word("ingress")) is not None for part in job.parts.values())
    for place in wet:
        unsaid: list[Part] = []
        for part in job.parts.values():
            if part.place != place.id or part.block is not None:
                continue
            digit = _against_water(part.word("ingress"))
            if digit is None:
                unsaid += [part] if part.kind in ASKED else []
            elif digit >= WANTED:
                yield Content(part.id, "is {} at {}", (part.word("ingress"), place.id))
            else:
                yield _bad(part, place.id, mark(place, "wet", "wet"))
        if told and unsaid:
            verb = "keep" if unsaid[1:] else "keeps"
            yield Unjudged(
                place.id,
                f"how well {listed(part.id for part in unsaid)} at {place.id} {verb} water out",
                f"write what the maker states, as in `ingress IP67`; IP 5{WANTED} or more belongs there",
                at_name(unsaid[0], f"{place.id} is wet"),
                unsaid[0].through,
            )


def _against_water(code: str) -> int | None:
    """The second digit of an IP code; None where it says nothing about water: 7 of IP67, 9 of IP6K9K, None of IP5X."""
    said = re.fullmatch(r"IP[- ]?(?:[0-6]K?|X)([0-9])K?[A-Z]*", code.strip(), re.IGNORECASE)
    return int(said[1]) if said else None


def _bad(part: Part, place: str, wet: Mark) -> Bad:
    code = part.word("ingress")
    return Bad(
        subject=part.id,
        message=f"{part.id} is {code}, but {place} is wet",
        at=mark(part, "ingress", f"{code}: not against jets and spray"),
        related=(place,),
        marks=(wet,),
        reason="water gets between its contacts: they corrode and track",
        remedy=f"fit one of IP 5{WANTED} or more (IP 67 where it may stand under water), or move it to a dry place",
        values={"ingress": code, "wanted": f"IP5{WANTED}"},
        through=part.through,
    )
