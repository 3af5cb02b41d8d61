"""missing-main-isolation: nothing that a hand can open cuts a battery off from its loads.

Hazard
    When something smokes, or someone has to work on it, the loads stay live until a tool takes a lug off the post.
Test
    From each live battery post along everything that conducts, with isolators, switches, breakers, relays and plugs
    open: the loads that are still fed, their currents at nominal voltage added up. Up to 80 A nothing is asked for.
Basis
    ABYC E-11: a battery switch in the positive of each bank above 800 cold-cranking amps; ISO 10133 and ISO 13297: in
    the positive of the bank (both from memory, not read). 80 A is common practice, no source: a
    hand can pull a plug-in fuse, and the largest one made is 80 A (ISO 8820-3, read in a reprint).
Bad
    fuse F7 150 A bolted, volts 58 V, breaks 10 kA
    inverter inv 1000 W, efficiency 90 %
    aux.+ -- F7 --[R1 red 35 mm2 0.8 m]-- inv --[B1 black 35 mm2 0.9 m]-- aux.-
Good
    fuse F7 150 A bolted, volts 58 V, breaks 10 kA
    isolator Q1 200 A
    inverter inv 1000 W, efficiency 90 %
    aux.+ -- F7 --[R1 red 35 mm2 0.4 m]-- Q1 --[R2 red 35 mm2 0.4 m]-- inv --[B1 black 35 mm2 0.9 m]-- aux.-
Limits
    Starters, chargers and loads marked `always-live` are not counted, nor a load that does not say what it draws. What
    comes through a voltage-sensing relay or a diode counts for the battery on its own side. Whether the switch is in
    reach, and rated for the current that it has to break, is not judged here.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.figures import Figures
from wiregen.circuit.isolation import Reach, fed
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import live_posts
from wiregen.model.job import Contact, Part
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule
from wiregen.rules.words import amps, apart, beyond, listed

PULLED = 80.0
"""What plug-in fuses go up to [A]: large blade, ISO 8820-3 (read in a reprint)."""

LOADS = ("load", "lamp", "sensor", "inverter")
BASIS = (
    "ABYC E-11 and ISO 10133 ask for a battery switch (from memory, not read); from which current: common practice,"
    " no source"
)


@rule("missing-main-isolation", severity="warning", basis=BASIS)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each bank whose loads nothing cuts off."""
    job = study.job
    figures = Figures(job)
    network = without(study.network, crossings(job, study.network))

    def opens(contact: Contact) -> bool:
        apart_by_itself = job.parts[contact.part].kind == "voltage-relay" or contact.kind == "diode"
        by_hand = contact.kind in ("switch", "breaker", "relay", "pole")
        return apart_by_itself or (by_hand and job.parts[contact.part].kind != "low-voltage-disconnect")

    done: set[str] = set()
    for post in live_posts(job, network):
        if post in done:
            continue
        at = fed(network, (post,), opens)
        done.update(at)
        bank = [job.parts[post.rpartition(".")[0]]]
        bank += [p for t in at if (p := job.part_of(t)) and p.kind == "battery" and p not in bank]
        loads: list[tuple[float, Part, Reach]] = []
        for part in job.parts.values():
            end = next((t for t in part.terminals if t in at), None)
            if part.kind in LOADS and end and not part.has("always-live"):
                loads.append((figures.amps(part), part, at[end]))
        total = sum(each for each, _, _ in loads)
        if not beyond(total, PULLED):
            if loads:
                yield Content(bank[0].id, "feeds {} that no hand cuts off, within {}", (amps(total), amps(PULLED)))
            else:
                yield Content(bank[0].id, "is cut off from all of its loads by hand, or has none")
            continue
        yield _bad(bank, sorted(loads, key=lambda each: -each[0]), total, post)


def _bad(bank: list[Part], loads: list[tuple[float, Part, Reach]], total: float, post: str) -> Bad:
    battery, (_, most, way) = bank[0], loads[0]
    names = [part.id for _, part, _ in loads]
    told = listed(names) if len(names) < 4 else f"{', '.join(names[:2])} and {len(names) - 2} more"
    draws, limit = apart(total, PULLED)
    together = ", together" if loads[1:] else ","
    return Bad(
        subject=battery.id,
        message=f"nothing that a hand can open cuts {battery.id} off from {told}{together} {draws} A",
        at=at_name(battery, "no isolator behind it"),
        related=(*(part.id for part in bank[1:]), *names),
        marks=(mark(most, "draws" if most.has("draws") else "rating", "always connected"),),
        reason=f"no fuse of that current can be pulled by hand: {limit} A is the largest plug-in fuse",
        remedy=(
            f"fit an isolator rated for at least {draws} A in the positive of {battery.id}, in reach, ahead of all"
            " loads but those that must stay live"
        ),
        values={"loads_a": total, "limit_a": PULLED, "source": post, "path": " ".join(way.path)},
        through=battery.through,
    )
