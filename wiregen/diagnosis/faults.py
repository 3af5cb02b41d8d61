"""Every single fault of a job as data: what it is in words, what puts it right, how common it is, how it is planted.

How common one is beside the others, and how much a poor joint resists, are common practice and have no source; nobody
has counted, so that the weights are kept near to each other.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import inf
from typing import Literal, NamedTuple

from wiregen.circuit.assemble import Key
from wiregen.circuit.cases import CHARGERS, LOADS, State
from wiregen.circuit.figures import Figures
from wiregen.circuit.questions import ports
from wiregen.findings import Source, Span
from wiregen.language.tree import Measure, Value
from wiregen.model.alter import altered
from wiregen.model.job import Conductor, Contact, Fact, Job, Part, Step

Kind = Literal["open", "joint", "swapped", "wrong post", "dead", "set wrong"]
Plan = Literal["step", "joint", "unlink", "contact", "off"]

OPEN_OHM = inf  # what an open joint at a terminal resists where it has to be planted as a joint [ohm]
LEAST_OHM, MOST_OHM = 5e-3, 2.0  # a poor joint (common practice, no source) [ohm]
FLAT = 0.15  # state of charge of a flat battery (common practice, no source)

WEIGHTS: Mapping[str, float] = {  # how common, beside each other: common practice, no source
    "fuse open": 2.0,
    "fuse joint": 1.4,
    "breaker open": 1.7,
    "breaker joint": 1.0,
    "pole open": 1.4,
    "pole joint": 2.0,
    "switch open": 1.0,
    "switch joint": 1.0,
    "relay open": 1.2,
    "relay joint": 1.2,
    "shunt open": 0.7,
    "shunt joint": 0.7,
    "diode open": 0.8,
    "conductor open": 1.2,
    "conductor joint": 1.4,
    "link open": 0.8,
    "link joint": 1.2,
    "landing open": 0.8,
    "landing joint": 1.4,
    "earth open": 1.2,
    "earth joint": 2.0,
    "swapped": 0.6,
    "wrong post": 0.5,
    "battery flat": 2.0,
    "battery cell": 1.0,
    "battery cut off": 1.0,
    "alternator dead": 1.0,
    "charger dead": 1.0,
    "panel dead": 1.0,
    "panel regulated": 0.6,
    "profile": 0.8,
    "feed dead": 1.4,
    "load dead": 1.2,
}


class Plant(NamedTuple):
    """How a fault is put into a job: a step of `wiregen.model.alter`, or what that has no word for."""

    plan: Plan
    step: Step | None = None
    targets: tuple[str, ...] = ()


class Fault(NamedTuple):
    """One single fault. `words` is a sentence without its stop, `remedy` another; `at` is the branch or, after
    `landing`, the terminal whose joint has failed: the circuit is then the sound one with a resistance there. After
    `load` it is the load that draws nothing."""

    id: str
    kind: Kind
    subject: str
    words: str
    remedy: str
    weight: float
    plants: tuple[Plant, ...]
    at: Key | None = None


def faults(job: Job, figures: Figures) -> tuple[Fault, ...]:
    """All single faults that are tried, in the order of the file: conductors, parts, joints between them, the rest."""
    found: list[Fault] = []
    for conductor in job.conductors.values():
        found += _conductor(job, conductor)
    for part in job.parts.values():
        for contact in part.contacts:
            found += _contact(part, contact)
        found += _part(job, figures, part)
    found += _links(job)
    found += _landings(job)
    for body in job.bodies.values():
        if len(body.earths) > 1:
            for earth in body.earths:
                found += _earth(body.id, earth)
    return tuple({fault.id: fault for fault in found}.values())


def planted(job: Job, state: State, fault: Fault, ohm: float | None = None) -> tuple[Job, State]:
    """The job and the case with a fault in them; a poor joint with `ohm` ohms."""
    for plant in fault.plants:
        if plant.plan == "off":
            gone = frozenset(plant.targets)
            held = {id: volts for id, volts in state.held.items() if id not in gone}
            state = replace(state, on=state.on - gone, off=state.off | gone, held=held)
        elif plant.plan == "unlink":
            a, b = plant.targets
            job = replace(job, links=tuple(link for link in job.links if (link.a, link.b) != (a, b)))
        elif plant.plan == "contact":
            id, name = plant.targets
            others = tuple(contact for contact in job.parts[id].contacts if contact.name != name)
            job = replace(job, parts={**job.parts, id: replace(job.parts[id], contacts=others)})
        elif plant.plan == "joint":
            job = replace(job, joints={**job.joints, plant.targets[0]: OPEN_OHM if ohm is None else ohm})
        elif plant.step is not None:
            job, _ = altered(job, (plant.step,))
            id = plant.step.targets[0]
            if plant.step.verb == "break" and id in job.parts:  # whatever the case would have it
                state = replace(state, on=state.on - {id}, closed={**state.closed, id: False})
            if "open-circuit" in plant.step.facts and job.own_figures and id in job.own_figures.voltages:
                left = {part: volts for part, volts in job.own_figures.voltages.items() if part != id}
                job = replace(job, own_figures=job.own_figures._replace(voltages=left))
    return job, state


# ---------------------------------------------------------------- joints


def _joint_pair(
    what: str, id: str, at: Key, opens: tuple[Plant, ...], resists: tuple[Plant, ...], words: tuple[str, str],
    remedies: tuple[str, str],
) -> list[Fault]:  # fmt: skip
    kinds: tuple[tuple[Kind, tuple[Plant, ...]], ...] = (("open", opens), ("joint", resists))
    return [
        Fault(f"{kind} {id}", kind, id, said, remedy, WEIGHTS[f"{what} {kind}"], plants, at)
        for (kind, plants), said, remedy in zip(kinds, words, remedies, strict=True)
    ]


def _conductor(job: Job, conductor: Conductor) -> list[Fault]:
    id, one, other = conductor.id, conductor.from_, conductor.to
    if any(end.startswith(("loose:", "capped:")) for end in (one, other)):
        return []
    ends = f"{one} or {other}"
    return _joint_pair(
        "conductor",
        id,
        ("conductor", id),
        (_step("break", id),),
        (_ohm(id),),
        (f"{id} is open: broken, or off at {ends}", f"A poor joint or broken strands in {id}, at {ends}"),
        (
            f"find where {id} is off or broken between {one} and {other}, and make it again",
            f"make the joints of {id} at {one} and {other} again: clean, crimp, tighten; renew it if its strands are"
            " broken or green",
        ),
    )


def _contact(part: Part, contact: Contact) -> list[Fault]:
    kind = contact.kind
    if kind == "solid":
        return []
    key = ("contact", part.id, contact.name)
    if kind == "pole":
        pole = f"{part.id}.{contact.name}"
        return _joint_pair(
            "pole",
            pole,
            key,
            (_ohm(pole),),
            (_ohm(pole),),
            (
                f"Pole {contact.name} of {part.id} makes no contact",
                f"Pole {contact.name} of {part.id} makes poor contact",
            ),
            (
                f"unplug {part.id}: look for a pin pushed back, bent or burnt, renew it, seat it until it locks",
                f"unplug {part.id}: clean or renew the contact of its {contact.name} pole, and its crimp; renew both"
                " halves where they are browned",
            ),
        )
    if kind == "diode":
        words = f"Diode {part.id} has failed open"
        return [Fault(f"open {part.id}", "open", part.id, words, f"renew {part.id}", WEIGHTS["diode open"],
                      (_step("break", part.id),))]  # fmt: skip
    what = {"fuse": "fuse", "breaker": "breaker", "relay": "relay", "shunt": "shunt"}.get(kind, "switch")
    opened = {
        "fuse": (
            f"Fuse {part.id} is open",
            f"find why {part.id} opened before you renew it with one of the same rating",
        ),
        "breaker": (f"Breaker {part.id} has opened", f"find why {part.id} opened before you close it"),
        "relay": (f"The contact of {part.id} does not close", f"check the coil of {part.id}, then renew it"),
        "shunt": (f"Shunt {part.id} is open", f"renew {part.id}"),
    }.get(what, (f"{part.id} is open or makes no contact", f"close {part.id}; renew it if it stays open"))
    worn = f"{part.id} makes poor contact, in itself, its holder or its studs"
    again = f"clean and tighten the contacts of {part.id}; renew what is browned or has lost its spring"
    several = sum(c.kind != "solid" for c in part.contacts) > 1
    id = f"{part.id} {contact.name}" if several else part.id
    pair = _joint_pair(
        what, id, key, (Plant("contact", targets=(part.id, contact.name)) if several else _step("break", part.id),),
        (_ohm(f"{part.id}.{contact.name}"),),
        (opened[0], worn), (opened[1], again),
    )  # fmt: skip
    return pair[:1] if f"{part.id}.{contact.name}" in part.terminals else pair


def _links(job: Job) -> Iterator[Fault]:
    count = _landing_on(job)
    for link in job.links:
        if link.why in ("stud", "way", "dissolved"):
            continue
        alone = next((end for end in (link.b, link.a) if len(count[end]) == 1), None)
        pair = f"{link.a} and {link.b}"
        both = _joint_pair(
            "link",
            f"{link.a} = {link.b}",
            ("link", link.a, link.b),
            (Plant("unlink", targets=(link.a, link.b)),),
            (_ohm(alone or link.b),),
            (f"{pair} do not touch", f"A poor joint between {pair}"),
            (f"clean and tighten the joint of {pair}",) * 2,
        )
        yield from both if alone else both[:1]


def _landing_on(job: Job) -> dict[str, list[str]]:
    """Terminal -> names of the conductors that land on it, and terminals that are bolted to it or mated with it."""
    landing: dict[str, list[str]] = {}
    for conductor in job.conductors.values():
        for end in (conductor.from_, conductor.to):
            landing.setdefault(end, []).append(conductor.id)
    for link in job.links:
        if link.why in ("joined", "mounted", "mated"):
            landing.setdefault(link.a, []).append(link.b)
            landing.setdefault(link.b, []).append(link.a)
    return landing


def _landings(job: Job) -> Iterator[Fault]:
    """Posts and studs where several leads land: what they have in common is the post's own joint."""
    for terminal, leads in _landing_on(job).items():
        part = job.part_of(terminal)
        if len(leads) < 2 or part is None or part.kind in ("splice", "plug", "socket"):
            continue
        said = f"{', '.join(leads[:-1])} and {leads[-1]}"
        yield from _joint_pair(
            "landing",
            terminal,
            ("landing", terminal),
            (_ohm(terminal),),
            (_ohm(terminal),),
            (f"All that lands on {terminal} ({said}) has come off", f"A poor joint at {terminal}, where {said} land"),
            (f"put the leads back on {terminal} and tighten the nut", f"clean and tighten the joint at {terminal}"),
        )


def _earth(body: str, earth: str) -> list[Fault]:
    remedy = f"take {earth} off, bring lug, bolt and body to bright metal, bolt it tight and seal it"
    return _joint_pair(
        "earth",
        earth,
        ("landing", earth),
        (_ohm(earth),),
        (_ohm(earth),),
        (f"Earth point {earth} has lost the body {body}", f"Earth point {earth} has a poor joint to the body {body}"),
        (remedy, remedy),
    )


# ---------------------------------------------------------------- parts


def _part(job: Job, figures: Figures, part: Part) -> Iterator[Fault]:
    id, kind = part.id, part.kind
    if kind == "battery":
        yield from _battery(figures, part)
    elif kind == "alternator":
        yield _dead(id, "alternator dead", f"{id} does not charge", f"check the drive and the regulator of {id}")
    elif kind in CHARGERS:
        remedy = f"with its supply and its trigger right and {id} still at rest, renew {id}"
        yield _dead(id, "charger dead", f"{id} does not work", remedy)
        yield from _profile(job, figures, part)
    elif kind == "panel":
        yield _dead(id, "panel dead", f"{id} gives nothing: shaded, covered or failed",
                    f"uncover and clean {id}; measure it alone, off the controller")  # fmt: skip
        if not part.has("regulated"):
            words = f"{id} has a regulator of its own and gives the controller no room"
            yield _changed(id, "panel regulated", words, f"take the regulator out of {id}", {"regulated": _word("yes")})
    elif kind == "feed":
        words = f"Nothing comes from {id}: the vehicle's own fuse or circuit"
        yield _dead(id, "feed dead", words, f"check the vehicle's own fuse and wiring behind {id}")
    elif kind in LOADS and kind != "sensor":
        dead = _dead(id, "load dead", f"{id} itself has failed, or is switched off", f"switch {id} on; test it alone")
        draw = figures.draw(part)
        yield dead._replace(at=("part" if draw.kind == "resistance" else "load", id)) if draw else dead
    if kind in ("battery", "panel", "inverter", *CHARGERS):
        for plus, minus in ports(part):
            yield from _crossed(job, part, plus, minus)
    elif kind == "connector" and len(part.contacts) > 1:
        remedy = f"move the contacts of {id} to the right cavities before anything is connected again"
        yield Fault(f"swapped {id}", "swapped", id, f"The two poles of {id} are crossed", remedy, WEIGHTS["swapped"],
                    (_step("swap", id),))  # fmt: skip


def _dead(id: str, weight: str, words: str, remedy: str) -> Fault:
    return Fault(f"dead {id}", "dead", id, words, remedy, WEIGHTS[weight], (Plant("off", targets=(id,)),))


def _changed(id: str, weight: str, words: str, remedy: str, facts: Mapping[str, Fact]) -> Fault:
    step = _step("change", id)
    assert step.step is not None
    step = step._replace(step=step.step._replace(facts=dict(facts)))
    return Fault(f"{weight} {id}", "set wrong", id, words, remedy, WEIGHTS[weight], (step,))


def _battery(figures: Figures, part: Part) -> Iterator[Fault]:
    cell = figures.battery(part)
    id = part.id
    flat = figures.battery(replace(part, facts={**_unsaid(part), "charge": _number("charge", FLAT, "ratio", "%")}))
    series = part.number("series") or 1.0
    low = _number("open-circuit", flat.volts / series, "voltage", "V")
    remedy = f"charge {id}, then find why it was flat"
    yield _changed(id, "battery flat", f"{id} is flat", remedy, {"open-circuit": low})
    if cell.lithium:
        remedy = f"charge {id} by a charger that wakes it; find what made its protection cut off"
        words = f"The protection circuit of {id} has cut it off"
        yield Fault(
            f"cut off {id}", "dead", id, words, remedy, WEIGHTS["battery cut off"], (Plant("off", targets=(id,)),)
        )
        return
    cells = round(cell.nominal / 2.0)
    lost = _number("open-circuit", cell.volts * (1.0 - 1.0 / cells) / series, "voltage", "V")
    yield _changed(id, "battery cell", f"{id} has a dead cell", f"renew {id}", {"open-circuit": lost})


def _unsaid(part: Part) -> dict[str, Fact]:
    return {name: fact for name, fact in part.facts.items() if name not in ("open-circuit", "charge")}


def _profile(job: Job, figures: Figures, part: Part) -> Iterator[Fault]:
    """The profile farthest from the right one of those that chargers commonly have."""
    if f"{part.id}.out.+" not in job.terminals:
        return
    right, _ = figures.profile(part)
    rows = figures.book.rows("chemistry")
    volts = {
        row["id"]: figures.profile(replace(part, facts={**part.facts, "profile": _word(row["id"])}))[0] for row in rows
    }
    wrong = [
        (abs(v - right), id) for id, v in volts.items() if id in ("calcium", "gel", "lifepo4") and abs(v - right) > 0.05
    ]
    if wrong:
        id = max(wrong)[1]
        words = f"{part.id} is set to the wrong charge profile ({id}, say)"
        remedy = f"set the profile of {part.id} by the battery that it charges"
        yield _changed(part.id, "profile", words, remedy, {"profile": _word(id)})


def _crossed(job: Job, part: Part, plus: str, minus: str) -> Iterator[Fault]:
    leads: dict[str, list[str]] = {plus: [], minus: []}
    for conductor in job.conductors.values():
        for end in (conductor.from_, conductor.to):
            if end in leads:
                leads[end].append(conductor.id)
    if not leads[plus] or not leads[minus]:
        return
    port = plus[:-2]
    yield Fault(
        f"swapped {port}", "swapped", part.id, f"The leads on {plus} and {minus} are swapped",
        f"disconnect, and put the leads of {port} on the right posts; test what was fed backwards before you trust it",
        WEIGHTS["swapped"], (_step("swap", plus, minus),),
    )  # fmt: skip
    for here, there in ((plus, minus), (minus, plus)):
        for lead in leads[here]:
            if lead in leads[there]:
                continue
            yield Fault(
                f"{lead} on {there}", "wrong post", lead, f"{lead} lands on {there} and not on {here}",
                f"disconnect, and put {lead} on {here}; look for what the short has harmed",
                WEIGHTS["wrong post"], (_step("move", lead, here, there),),
            )  # fmt: skip


# ---------------------------------------------------------------- words of the netlist, made


NOWHERE = Span(Source("", ""), 0, 0)


def _step(verb: str, *targets: str) -> Plant:
    return Plant("step", Step(verb, (), NOWHERE, targets=targets))


def _ohm(at: str) -> Plant:
    return Plant("joint", targets=(at,))


def _number(name: str, value: float, dimension: str, unit: str) -> Fact:
    return Fact(
        name, (Value("quantity", f"{value:g} {unit}", NOWHERE, Measure(value, value, value, dimension, unit)),), NOWHERE
    )


def _word(word: str) -> Fact:
    return Fact("", (Value("name", word, NOWHERE),), NOWHERE)


__all__ = ["Fault", "faults", "planted"]
