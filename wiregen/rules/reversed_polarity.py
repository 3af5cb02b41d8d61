"""reversed-polarity: positive and negative change places on the way to a terminal.

Hazard
    A charger, inverter or electronic load is destroyed in the moment it is connected; a battery put in backwards
    drives the sum of two batteries through the wiring.
Test
    Polarity is carried from every source through conductors, fuses, switches, connectors and splices, whatever their
    state, to every terminal marked + or -. Where both meet in one net, the fewest conductors that would have to move
    are the crossing: one finding there, with the terminals that suffer. The colour of a conductor decides nothing. A
    diode that turns its blocking side to the only source of what lies behind it. A panel or battery in the middle of a
    chain whose posts meet only the like posts of its neighbours.
Basis
    common practice; polarity is tested before anything is connected
Bad
    start.+ --[red 6 mm2 100 mm]-- F1 --[W2 red 2.5 mm2 3 m]-- pump.-
    pump.+ --[W3 black 2.5 mm2 3 m]-- start.-
Good
    start.+ --[red 6 mm2 100 mm]-- F1 --[W2 red 2.5 mm2 3 m]-- pump.+
    pump.- --[W3 black 2.5 mm2 3 m]-- start.-
Limits
    Positive run straight into negative is for short-circuit. A motor that is reversed on purpose by a changeover relay
    is judged as the relay is built. A load that does not mind (a heater, a filament lamp) is reported all the same.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.backwards import Backwards, against, backwards
from wiregen.circuit.crossing import Crossing, Joint, crossings
from wiregen.circuit.polarity import sign
from wiregen.circuit.study import Study
from wiregen.findings import Edit, Mark
from wiregen.model.job import Conductor, Job, Part
from wiregen.rules.crossed import name, place, subjects, through
from wiregen.rules.fixes import change_places
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule
from wiregen.rules.words import listed

REASON = "what is connected backwards is destroyed in the moment it is connected, or shorts the battery through itself"


@rule("reversed-polarity", severity="danger", basis="common practice; polarity is tested before anything is connected")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each crossing."""
    job = study.job
    found = crossings(job, study.network)
    for crossing in found:
        if crossing.kind == "reversed":
            yield _reversed(job, crossing)
        elif crossing.kind == "marks":
            yield _marks(job, crossing)
    if not found:  # else what gives a polarity is not sure
        for diode in backwards(job, study.network):
            yield _diode(job, diode)
        for id in against(job, study.network):
            yield _against(job.parts[id])
    wrong = {terminal for crossing in found for terminal in crossing.sufferers}
    for terminal in job.terminals.values():
        if terminal.used and terminal.id not in wrong and sign(job, terminal.id):
            yield Content(terminal.id, "gets its own polarity")


def _against(part: Part) -> Bad:
    """A panel or battery that works against its neighbours in a chain."""
    return Bad(
        subject=part.id,
        message=f"{part.id} is the wrong way round in its chain: each of its posts meets the like post of the next",
        at=at_name(part, "against its neighbours"),
        related=(f"{part.id}.+", f"{part.id}.-"),
        reason=f"{part.id} takes its voltage from the others instead of adding to it, and is driven backwards",
        remedy=f"let what lands on {part.id}.+ and {part.id}.- change places",
        values={"crossed_at": part.id, "source": None},
        through=part.through,
    )


def _backwards(job: Job, crossing: Crossing) -> Bad:
    """A part that is the wrong way round as a whole: more than one conductor on a terminal says so."""
    part = job.parts[crossing.part]
    lands = [f"{t} has {'the negative' if t.endswith('+') else 'the positive'} on it" for t in crossing.sufferers]
    many = len(crossing.sufferers) > 1
    return Bad(
        subject=part.id,
        message=f"{part.id} is connected the wrong way round: {listed(lands)}",
        at=at_name(part, "the wrong way round" if many else "gets the wrong polarity"),
        related=(*crossing.sufferers, *dict.fromkeys(edge.subject for edge in crossing.edges if edge.subject)),
        reason=REASON,
        remedy=f"let what lands on {listed(crossing.sufferers)} change places"
        if many
        else f"move what lands on {crossing.sufferers[0]} to the other polarity",
        values={"crossed_at": part.id, "source": None},
        through=part.through,
    )


def _reversed(job: Job, crossing: Crossing) -> Bad:
    if not crossing.joints:
        return _backwards(job, crossing)
    first, *others = crossing.joints
    of = f" of {crossing.source}" if crossing.source else ""
    what = f"{name(first)} brings the positive{of} to {first.minus}"
    if others:
        what += ", and " + listed(f"{name(one)} the negative to {one.plus}" for one in others)
    names = subjects(job, crossing)
    subject = names[0]
    if first.edge.kind == "contact":
        remedy = f"join each pole of {subject} to the pole of its own mark"
    elif len(names) > 1:
        remedy = f"let {listed(names)} change places{f' at {crossing.part}' if crossing.part else ''}"
    else:
        remedy = f"move {subject} from {first.minus} to a positive terminal"
        if sign(job, first.plus) == "+":
            remedy += f", or from {first.plus} to a negative one: whichever end it was that slipped"
    hurt = [t for t in crossing.sufferers if t not in (first.minus, *(one.plus for one in others))]
    return Bad(
        subject=subject,
        message=f"{crossing.part} is connected the wrong way round: {what}" if crossing.part else f"crossed: {what}",
        at=place(job, first, "gets the positive"),
        related=tuple(dict.fromkeys((*names[1:], *crossing.sufferers))),
        marks=tuple(place(job, one, "gets the negative", positive=False) for one in others),
        reason=REASON + (f"; {listed(hurt)} suffer{'' if hurt[1:] else 's'} too" if hurt else ""),
        remedy=remedy,
        values={"crossed_at": crossing.part or None, "source": crossing.source or None},
        through=through(first),
        fix=_swap(job, crossing.part, first, others[0]) if len(others) == 1 else (),
    )


def _swap(job: Job, part: str, first: Joint, other: Joint) -> tuple[Edit, ...]:
    """The two conductors of a crossing change places, at the part at which they cross."""
    one, two = first.edge.item, other.edge.item
    if not (isinstance(one, Conductor) and isinstance(two, Conductor)) or through(first) or through(other):
        return ()
    if not part:
        places = place(job, first, ""), place(job, other, "", positive=False)
    else:
        ends = [c.to_span if job.terminals[c.to].part == part else c.from_span for c in (one, two)]
        places = Mark(ends[0] or one.span), Mark(ends[1] or two.span)
    named = [span for c in job.conductors.values() for span in (c.from_span, c.to_span)]
    return change_places(*places) if all(named.count(each.span) == 1 for each in places) else ()


def _diode(job: Job, diode: Backwards) -> Bad:
    part, contact = job.parts[diode.contact.part], diode.contact
    landing = [
        Mark(span)
        for end in (contact.a, contact.b)
        for c in job.conductors.values()
        if (span := c.from_span if c.from_ == end else c.to_span if c.to == end else None)
    ]
    return Bad(
        subject=part.id,
        message=f"{part.id} is the wrong way round: nothing passes between {diode.source} and {listed(diode.behind)}",
        at=at_name(part, f"conducts from {contact.a} to {contact.b} only"),
        related=(diode.source, *diode.behind, contact.a, contact.b),
        reason="a diode conducts from its anode to its cathode only: what lies behind it gets no current",
        remedy=f"let what lands on {contact.a} and on {contact.b} change places",
        values={"crossed_at": part.id, "source": diode.source},
        through=part.through,
        severity="warning",
        fix=change_places(*landing) if len(landing) == 2 and not part.through else (),
    )


def _marks(job: Job, crossing: Crossing) -> Bad:
    part = job.parts[crossing.part]
    return Bad(
        subject=part.id,
        message=f"{part.id} is wired against its marks: the other polarity is on {listed(crossing.sufferers)}",
        at=mark(part, "poles", "the marks"),
        related=crossing.sufferers,
        reason="everything works until another half is mated, which then gets its polarity the wrong way round",
        remedy=f"swap the two conductors on both sides of {part.id}",
        severity="warning",
        through=part.through,
    )
