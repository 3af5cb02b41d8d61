"""misplaced-sense-lead: the sense lead of a charger ends where it measures the wrong thing.

Hazard
    On the wrong battery the charger regulates one battery by the state of another: it overcharges or never fills.
    Behind a fuse, a switch or a shunt it measures their drop too. A temperature lead on a positive post brings the
    battery's full current to a lead that was never fused for it.
Test
    Where the sense lead ends: it has to be a post of a battery that the charger's output is connected to. A
    temperature sense lead belongs on the negative post, a voltage sense lead on the positive one, behind a fuse of its
    own of at most 5 A at the post, which feeds nothing else. Nothing but connectors, splices and that fuse may lie on
    the way.
Basis
    common practice; the maker says where the lead ends
Bad
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    dcdc.sense --[S1 grey 0.5 mm2 1 m]-- start.-
Good
    start.+ -- F2 --[R1 red 10 mm2 1 m]-- dcdc.in.+
    start.- --[B1 black 10 mm2 1 m]-- dcdc.in.-
    dcdc.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
    dcdc.out.- --[B2 black 10 mm2 1 m]-- aux.-
    dcdc.sense --[S1 grey 0.5 mm2 1 m]-- aux.-
Limits
    A charger that does not say how it senses may end its lead on either post. 5 A is common practice, no source. A
    separate `sensor` part on the lead is taken as right. Whether the lead ends at all is for unterminated-sense-lead; a
    voltage sense lead on the right post without any fuse is for unfused-positive.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.leads import Lead, ends_of_lead
from wiregen.circuit.questions import CARRIES_ON, Rails, rails
from wiregen.circuit.study import Study
from wiregen.findings import Mark
from wiregen.model.job import Conductor, Part
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, beyond, listed

SMALL_FUSE = 5.0
"""The largest fuse of a voltage sense lead [A]: common practice, no source."""

TAKES = frozenset({"load", "lamp", "inverter", "starter"})
"""What draws current through a fuse, and so makes it lose voltage."""


@rule("misplaced-sense-lead", severity="danger", basis="common practice; the maker says where the lead ends")
def check(study: Study) -> Iterator[Verdict]:
    """Each sense lead that ends somewhere, and there measures the wrong thing."""
    lines = rails(study)
    for part, ends in _leads(study):
        yield _judged(study, lines, part, ends)


def misplaced(study: Study) -> frozenset[str]:
    """The conductors of sense leads that end where they should not: what else is wrong with them follows from that."""
    lines = rails(study)
    return frozenset(
        edge.subject
        for part, ends in _leads(study)
        if isinstance(_judged(study, lines, part, ends), Bad)
        for lead in ends
        for edge in lead.path
        if edge.kind == "conductor"
    )


def _leads(study: Study) -> Iterator[tuple[Part, list[Lead]]]:
    """Each charger whose sense lead arrives somewhere, with where."""
    for part in study.job.parts.values():
        terminal = f"{part.id}.sense"
        if terminal in part.terminals:
            ends = [lead for lead in ends_of_lead(study, terminal) if _is_device(study, lead)]
            if ends:
                yield part, ends


def _is_device(study: Study, lead: Lead) -> bool:
    """Whether a lead ends on more than a relay's coil, which leads nowhere (unterminated-sense-lead)."""
    part = study.job.part_of(lead.terminal)
    return part is not None and part.kind not in CARRIES_ON - {"fuse-block"}


def _judged(study: Study, lines: Rails, part: Part, ends: list[Lead]) -> Verdict:
    job = study.job
    charged = lines.batteries(job, f"{part.id}.out.+", "+") if f"{part.id}.out.+" in lines.net else ()
    wanted = {"temperature": "-", "voltage": "+"}.get(part.word("sense"), "")
    way = next((w for w in ends if job.terminals[w.terminal].part in charged), ends[0])
    at = job.parts[job.terminals[way.terminal].part]
    if at.kind == "sensor":
        return Content(part.id, "senses by {}", (at.id,))
    goal = _goal(wanted, charged)
    if not charged:
        return Content(part.id, "charges no battery here; its sense lead ends at {}", (way.terminal,))
    bar = _busbar(study, way)
    if bar is not None:
        words = f"ends on {job.terminals[bar.terminal].part}, and other conductors lead on to {way.terminal}"
        return _bad(part, bar, words, goal)
    if at.kind != "battery":
        return _bad(part, way, f"ends on {way.terminal}, which is no battery's post", goal)
    if at.id not in charged:
        return _bad(part, way, f"ends on {at.id}, but {part.id} charges {listed(charged)}", goal)
    post = way.terminal[-1]
    if wanted and post != wanted:
        return _bad(part, way, f"ends on {way.terminal}", goal)
    return _on_the_way(study, part, way, goal, post, [lead for lead in ends if lead is not way])


def _goal(wanted: str, charged: tuple[str, ...]) -> str:
    which = {"-": "the negative post", "+": "the positive post"}.get(wanted, "the post (which one, the maker says)")
    return f"{which} of {listed(charged, 'or')}"


def _busbar(study: Study, way: Lead) -> Lead | None:
    """The lead as far as a busbar from which other conductors lead on; None where no busbar is on the way."""
    for index, edge in enumerate(way.path):
        part = study.job.part_of(edge.a) if edge.kind == "contact" else None
        if part is not None and part.kind == "busbar":
            before, after = way.path[:index], way.path[index:]
            if any(e.kind == "conductor" for e in before) and any(e.kind == "conductor" for e in after):
                end = before[-1]
                stud = end.a if study.job.part_of(end.a) is part else end.b
                return Lead(stud, before)
    return None


def _on_the_way(study: Study, part: Part, way: Lead, goal: str, post: str, others: list[Lead]) -> Verdict:
    """The lead ends on the right post: nothing that loses voltage may lie between."""
    parts = [study.job.parts[edge.subject] for edge in way.path if edge.kind == "contact"]
    for between in parts:
        if between.kind in ("shunt", "switch", "isolator", "relay", "diode", "voltage-relay", "low-voltage-disconnect"):
            return _bad(part, way, f"reaches {way.terminal} only through {between.id}", goal)
    fuses = [between for between in parts if between.kind in ("fuse", "breaker")]
    if post == "+" and part.word("sense") == "voltage" and fuses:
        rating = max(fuse.number("rating") or 0.0 for fuse in fuses)
        if beyond(rating, SMALL_FUSE):
            words = f"reaches {way.terminal} through {listed(f.id for f in fuses)} of {amps(rating)}"
            return _bad(part, way, words, f"{goal} through a fuse of its own of {amps(SMALL_FUSE)} or less")
        fed = [id for lead in others if study.job.parts[id := study.job.terminals[lead.terminal].part].kind in TAKES]
        if fed:
            words = f"shares {listed(fuse.id for fuse in fuses)} with {listed(dict.fromkeys(fed))}"
            return _bad(part, way, words, f"{goal} through a fuse that feeds nothing else")
    return Content(part.id, "senses at {}", (way.terminal,))


def _bad(part: Part, way: Lead, words: str, goal: str) -> Bad:
    last = next((edge for edge in reversed(way.path) if isinstance(edge.item, Conductor)), None)
    lead = last.item if last is not None and isinstance(last.item, Conductor) else None
    span = None
    if lead is not None:
        span = lead.to_span if lead.to == way.terminal else lead.from_span
    senses = f"{part.word('sense')} sense" if part.has("sense") else "sense"
    ids = [edge.subject for edge in way.path if edge.subject]
    return Bad(
        subject=lead.id if lead else part.id,
        message=f"the {senses} lead of {part.id} {words}",
        at=Mark(span or (lead.span if lead else part.span), "measured here"),
        related=tuple(dict.fromkeys((part.id, *ids, way.terminal))),
        marks=(mark(part, "sense", "senses by this lead"),),
        reason=f"{part.id} regulates by a measurement of the wrong thing",
        remedy=f"end the lead on {goal}",
        values={"ends_at": way.terminal},
        through=lead.through if lead else part.through,
    )
