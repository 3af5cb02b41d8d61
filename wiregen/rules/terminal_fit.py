"""terminal-fit: a conductor does not fit the terminal that it ends on, or too many lugs share one post.

Hazard
    Strands that do not go in are cut off, a thin conductor in a large barrel or clamp comes loose, and a lug high up in
    a stack presses on lugs instead of on the post: each is a joint that gets hot.
Test
    Each conductor against what its terminal takes, where the part or its type says so with `fits`; all conductors in
    one clamp or cavity together. More than four lugs on one terminal. Where a `stack` gives the order of the lugs on a
    post: the one that carries most lies at the post (a tenth more does not count).
Basis
    What the maker of the terminal states. At most four lugs on a post, the largest current at the post: boat practice
    (read in a reprint).
Bad
    connector X1 50 A, poles + -, volts 60 V, fits 2.5..6 mm2
    start.+ -- F2 --[W1 red 10 mm2 1 m]-- X1.+ --[W2 red 6 mm2 1 m]-- pump.+
    start.- --[W3 black 6 mm2 1 m]-- X1.- --[W4 black 6 mm2 1 m]-- pump.-
Good
    connector X1 50 A, poles + -, volts 60 V, fits 2.5..10 mm2
    start.+ -- F2 --[W1 red 10 mm2 1 m]-- X1.+ --[W2 red 6 mm2 1 m]-- pump.+
    start.- --[W3 black 6 mm2 1 m]-- X1.- --[W4 black 6 mm2 1 m]-- pump.-
Limits
    Without `fits` a terminal is not judged, without `stack` the order of lugs is not. Leads that came with a part are
    taken to fit it. What is too thin for its current or its fuse as well is for the rule for that. Lugs on posts and
    studs are not added up: each has a hole of its own.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.study import Study
from wiregen.circuit.wires import copper_area, size_range
from wiregen.model.job import Conductor, Fact, Part
from wiregen.rules.currents import unsure
from wiregen.rules.fixes import put
from wiregen.rules.returns import too_thin_already
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule
from wiregen.rules.words import amps, beyond, clearly_more, figure, listed

SLACK = 0.01
"""Of an area: 13.3 mm2 and 6 AWG are one size. A choice of ours, common practice, no source."""
MOST_LUGS = 4
"""Lugs on one post (read in a reprint)."""
MORE = 1.1
"""How much more another lug has to carry than the one at the post. A choice of ours, common practice, no source."""
POSTS = frozenset({"battery", "busbar", "isolator", "shunt", "fuse", "breaker", "earth", "starter", "alternator"})
"""Kinds that lugs are bolted to."""
HOLES = frozenset(
    {"charger", "mains-charger", "solar-controller", "connector", "plug", "socket", "relay", "load", "lamp", "sensor"}
    | {"panel", "voltage-relay", "low-voltage-disconnect"}
)
"""Kinds whose terminals, where they say what they take, are clamps or crimped cavities: what shares one is added up."""


@rule("terminal-fit", severity="warning", basis="what the maker of the terminal states")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each conductor that does not fit, for each crowded terminal, for each stack in a wrong order."""
    job = study.job
    landing: dict[str, list[Conductor]] = {}
    for conductor in job.conductors.values():
        for terminal in dict.fromkeys((conductor.from_, conductor.to)):
            landing.setdefault(terminal, []).append(conductor)
    misfits: dict[tuple[object, ...], list[Bad]] = {}  # of one size and one part: one mistake
    for terminal, conductors in landing.items():
        part = job.part_of(terminal)
        fact = _takes(part, job.terminals[terminal].name) if part is not None else None
        if part is None or fact is None or fact.measure is None:
            continue
        for verdict in _fits(part, terminal, fact, conductors):
            if not isinstance(verdict, Bad):
                yield verdict
            elif verdict.values["too_thin"] and verdict.subject in too_thin_already(study):
                yield Content(verdict.subject, "too thin for its current or its fuse, which is said already")
            else:
                misfits.setdefault((part.id, verdict.values["area_mm2"], verdict.values["limit_mm2"]), []).append(
                    verdict
                )
    for first, *others in misfits.values():
        ids = [bad.subject for bad in others if bad.subject != first.subject]
        yield first._replace(
            message=first.message + (f" (so too {listed(ids)})" if ids else ""),
            related=(*first.related, *ids),
            fix=tuple(dict.fromkeys(edit for bad in (first, *others) for edit in bad.fix)),
        )
    bolted: dict[str, list[str]] = {}
    for link in job.links:
        if link.why == "joined":
            for here, there in ((link.a, link.b), (link.b, link.a)):
                bolted.setdefault(here, []).append(job.terminals[there].part)
    for terminal, conductors in landing.items():
        lugs = [*(conductor.id for conductor in conductors), *bolted.get(terminal, ())]
        part = job.part_of(terminal)
        if part is not None and part.kind in POSTS and len(lugs) > MOST_LUGS:
            yield _crowded(terminal, lugs, conductors[-1])
    if not unsure(study):  # else the currents say nothing
        for post, members in job.stacks.items():
            yield from _stack(study, post, members)


def _takes(part: Part, name: str) -> Fact | None:
    """What a part says of the sizes that one of its terminals takes; a pole's two sides are meant by its name."""
    side, _, pole = name.partition(".")
    names = [name, *([pole] if side in ("a", "b") and pole else [])]
    said = (part.fact(f"fits {each.lower()}") for each in names)
    return next((fact for fact in said if fact is not None), part.fact("fits"))


def _fits(part: Part, terminal: str, fact: Fact, conductors: list[Conductor]) -> Iterator[Verdict]:
    assert fact.measure is not None
    low, high = size_range(fact.measure)
    areas = [(c, area) for c in conductors if not c.has("supplied") and (area := copper_area(c)) is not None]
    wrong = False
    for conductor, area in areas:
        thick = beyond(area, high * (1 + SLACK))
        if thick or (len(areas) == 1 and beyond(low, area * (1 + SLACK))):
            wrong = True
            yield _misfit(part, terminal, fact, conductor, area, thick)
    together = sum(area for _, area in areas)
    if wrong:
        return
    if len(areas) > 1 and part.kind in HOLES and beyond(together, high * (1 + SLACK)):
        yield _too_much(part, terminal, fact, [conductor for conductor, _ in areas], together, high)
        return
    for conductor, _ in areas:
        yield Content(conductor.id, "fits {}, which takes {}", (terminal, fact.word))


def _misfit(part: Part, terminal: str, fact: Fact, conductor: Conductor, area: float, thick: bool) -> Bad:
    assert fact.measure is not None
    size, takes = conductor.word("size"), fact.word
    bound = figure(size_range(fact.measure)[thick])
    if thick:
        why = "strands that do not go in are cut off, and those that are left carry all: the joint gets hot"
        remedy = (
            f"take a part for {part.id} that takes {size}, or size {conductor.id} at {bound} mm2 where that is enough"
        )
    else:
        why = "a thin conductor is not gripped: it comes loose or gets hot"
        remedy = (
            f"size {conductor.id} at {bound} mm2 or more, or use the reducing sleeve that the maker of {part.id} names"
        )
    return Bad(
        subject=conductor.id,
        message=f"{conductor.id} has {size}, {terminal} takes {takes}: too {'thick' if thick else 'thin'}",
        at=mark(conductor, "size", f"{figure(area)} mm2"),
        related=(part.id, terminal),
        marks=(mark(part, _name(part, fact), f"takes {takes}"),),
        reason=why,
        remedy=remedy,
        values={
            "area_mm2": area,
            "limit_mm2": size_range(fact.measure)[thick],
            "terminal": terminal,
            "too_thin": not thick,
        },
        through=conductor.through,
        fix=() if thick else put((conductor,), "size", f"{bound} mm2"),
    )


def _name(part: Part, fact: Fact) -> str:
    """Under which name a part holds a fact."""
    return next(name for name, each in part.facts.items() if each is fact)


def _too_much(part: Part, terminal: str, fact: Fact, conductors: list[Conductor], together: float, high: float) -> Bad:
    last = conductors[-1]
    names = [conductor.id for conductor in conductors]
    return Bad(
        subject=last.id,
        message=f"{listed(names)} share {terminal}: {figure(together)} mm2 together, it takes {fact.word}",
        at=mark(last, "size", "one too many"),
        related=(part.id, *names[:-1]),
        reason="strands that do not go in are cut off, and those that are left carry all: the joint gets hot",
        remedy=f"join them on a busbar or splice, and lead one conductor of at most {figure(high)} mm2 to {terminal}",
        values={"area_mm2": together, "limit_mm2": high, "terminal": terminal, "too_thin": False},
        through=last.through,
    )


def _crowded(terminal: str, lugs: list[str], last: Conductor) -> Bad:
    others = list(dict.fromkeys(each for each in lugs if each != last.id))
    return Bad(
        subject=last.id,
        message=f"{len(lugs)} lugs share {terminal}, {MOST_LUGS} may",
        at=at_name(last, f"the last of {len(lugs)}"),
        related=(terminal, *others),
        reason="the more lugs on a post, the less each is pressed, and the fewer threads hold: the joint gets hot",
        remedy=f"lead {len(lugs) - MOST_LUGS + 1} of them to a busbar, and one conductor from there to {terminal}",
        values={"lugs": len(lugs), "limit": MOST_LUGS, "terminal": terminal},
        through=last.through,
        severity="advice",
        basis="at most four lugs on a post (boat practice, read in a reprint)",
    )


def _stack(study: Study, post: str, members: tuple[str, ...]) -> Iterator[Verdict]:
    carried = [(most, member) for member in members if (most := _most(study, member)) is not None]
    if len(carried) < 2 or len(carried) < len(members):
        return
    inner, first = carried[0]
    most, largest = carried[0]
    for each in carried[1:]:
        if clearly_more(each[0], most):
            most, largest = each
    if not beyond(most, inner * MORE):
        yield Content(first, "carries most of the stack on {} and lies at the post", (post,))
        return
    item = study.job.conductors.get(largest) or study.job.parts[largest]
    yield Bad(
        subject=largest,
        message=f"{largest} carries {amps(most)} and lies on {first}, which carries {amps(inner)}, on {post}",
        at=at_name(item, f"carries {amps(most)}"),
        related=(post, *(member for member in members if member != largest)),
        reason="the largest current passes through the lugs below it, and each joint between them gets warm",
        remedy=f"put {largest} at the post: stack {post} {largest} {' '.join(m for m in members if m != largest)}",
        values={"current_a": most, "innermost_a": inner, "terminal": post},
        through=item.through,
        severity="advice",
        basis="the largest current at the post (boat practice, read in a reprint)",
    )


def _most(study: Study, member: str) -> float | None:
    """The most that a conductor, or a part bolted to the post, carries in any case, also while a starter turns. [A]"""
    if member in study.job.conductors:
        found = [case.flows[member].current_a for case in study.cases if member in case.flows]
    elif member in study.job.parts:
        contacts = [(member, contact.name) for contact in study.job.parts[member].contacts]
        found = [case.contacts.get(contact) for case in study.cases for contact in contacts]
    else:
        return None
    return max((abs(amps) for amps in found if amps is not None), default=None)
