"""overcharge-current: all chargers together give a battery more than it may be charged with.

Hazard
    The battery heats up and gasses; a lithium battery's protection switches it off under load.
Test
    What all that charges a battery gives together, against its `max-charge`: the ratings of chargers, solar controllers
    and mains chargers whose output is on its posts, panels straight on it at their best current, and on a lithium
    battery an alternator, which it does not slow down. Where cases of the job turn the mains charger on, what runs
    together is what runs in one case. Batteries that a switch or relay parts are judged alone as well.
Basis
    the maker's figure; where none is given 0.2 A per Ah for lead-acid (read in a reprint), 0.5 for lithium (from
    memory)
Bad
    battery aux 100 Ah agm, max-charge 15 A
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
    An alternator straight on a lead-acid battery regulates by voltage and is not counted, nor one on batteries of
    different kinds: mixed-batteries speaks of these. Batteries in parallel share; they are judged by the sum of their
    limits. The alternator is counted only where `max-charge` is given.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from wiregen.catalogue import catalogue
from wiregen.circuit.cases import State, operating_cases
from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.figures import Figures
from wiregen.circuit.isolation import fed, none_open
from wiregen.circuit.panel import panel_figures
from wiregen.circuit.questions import lithium
from wiregen.circuit.study import Study
from wiregen.model.job import Contact, Job, Part
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, apart, beyond, listed

KINDS = ("charger", "solar-controller", "mains-charger")


class Bank(NamedTuple):
    """Batteries on one positive, and what charges them: each part with the current it can give [A]."""

    batteries: tuple[Part, ...]
    givers: tuple[tuple[Part, float], ...]


@rule("overcharge-current", severity="warning", basis="the battery maker's figure")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each bank that its chargers together give too much."""
    said: set[str] = set()
    for bank in _banks(study):
        most = _most(bank)
        if most is None or not bank.givers or said.intersection(battery.id for battery in bank.batteries):
            continue
        case, givers = _together(study, bank.givers)
        gives = sum(each for _, each in givers)
        first = bank.batteries[0]
        if not beyond(gives, most):
            yield Content(first.id, "takes {}, its chargers give {}", (amps(most), amps(gives)))
            continue
        said.update(battery.id for battery in bank.batteries)
        yield _bad(bank, [part for part, _ in givers], gives, most, case)


def _banks(study: Study) -> Iterator[Bank]:
    """Every bank with the contacts that open left open, then with all closed."""
    job = study.job
    network = without(study.network, crossings(job, study.network))
    openings: tuple[Callable[[Contact], bool], ...] = (
        lambda contact: contact.kind in ("switch", "relay", "diode"),
        none_open,
    )
    met: set[tuple[tuple[str, ...], tuple[str, ...]]] = set()
    for opened in openings:
        for battery in job.parts.values():
            plus = f"{battery.id}.+"
            if battery.kind != "battery" or plus not in job.terminals:
                continue
            at = fed(network, (plus,), opened)
            bank = _bank(job, [part for part in job.parts.values() if _charges(part) in at])
            key = tuple(b.id for b in bank.batteries), tuple(part.id for part, _ in bank.givers)
            if key not in met:
                met.add(key)
                yield bank


def _charges(part: Part) -> str:
    """The terminal by which a part may charge a battery."""
    return f"{part.id}.out.+" if part.kind in KINDS else f"{part.id}.+"


def _bank(job: Job, parts: list[Part]) -> Bank:
    batteries = tuple(part for part in parts if part.kind == "battery")
    alike = len({battery.word("chemistry") for battery in batteries}) == 1
    takes_all = alike and all(lithium(battery) and battery.number("max-charge") for battery in batteries)
    givers: list[tuple[Part, float]] = []
    for part in parts:
        rating = part.number("rating")
        if part.kind == "panel":
            givers.append((part, panel_figures(Figures(job), part)[3]))
        elif rating and (part.kind in KINDS or (part.kind == "alternator" and takes_all)):
            givers.append((part, rating))
    return Bank(batteries, tuple(givers))


def _together(
    study: Study, givers: tuple[tuple[Part, float], ...]
) -> tuple[str | None, tuple[tuple[Part, float], ...]]:
    """Those that run at the same time and give most, and the case in which they do; all, where no case tells."""
    job = study.job
    mains = [part.id for part, _ in givers if part.kind == "mains-charger"]
    states = operating_cases(job)
    alternators = [part.id for part in job.parts.values() if part.kind == "alternator"]
    told = [state for state in states if state.on.intersection(mains)]
    if not told:
        return None, _untold(states, givers, mains, alternators)
    found = [(state.name, tuple(each for each in givers if _runs(each[0], state, alternators))) for state in states]
    return max(found, key=lambda each: sum(gives for _, gives in each[1]))


def _untold(
    states: Sequence[State], givers: tuple[tuple[Part, float], ...], mains: list[str], alternators: list[str]
) -> tuple[tuple[Part, float], ...]:
    """What may run at once where no case says when a mains charger runs: all; where each case in which a charger runs
    says that it is off, the sun with the one or the other."""
    running = [s for s in states if any(part.kind == "charger" and _runs(part, s, alternators) for part, _ in givers)]
    if not mains or not running or not all(state.off.issuperset(mains) for state in running):
        return givers
    parked = tuple(each for each in givers if each[0].kind not in ("charger", "alternator"))
    driving = tuple(each for each in givers if each[0].id not in mains)
    return max(parked, driving, key=lambda group: sum(gives for _, gives in group))


def _runs(part: Part, state: State, alternators: list[str]) -> bool:
    if part.id in state.on or part.id in state.off:
        return part.id in state.on
    if part.kind in ("charger", "alternator"):
        return state.engine and not (alternators and state.off.issuperset(alternators))
    return part.kind != "mains-charger" and state.sun > 0


def _bad(bank: Bank, givers: list[Part], gives: float, most: float, case: str | None) -> Bad:
    given, taken = apart(gives, most)
    first = bank.batteries[0]
    names = [battery.id for battery in bank.batteries]
    said = first.has("max-charge")
    return Bad(
        subject=first.id,
        message=f"{listed(part.id for part in givers)} give{'' if givers[1:] else 's'} {given} A,"
        f" but {listed(names)} may take {taken} A",
        at=mark(first, "max-charge" if said else "capacity", f"takes {taken} A"),
        related=(*(part.id for part in givers), *names[1:]),
        marks=tuple(mark(part, "rating", "gives") for part in givers),
        case=case,
        reason="the battery heats up and gasses, or its protection switches it off",
        remedy=_remedy(givers, taken, first),
        values={"gives_a": gives, "takes_a": most},
        through=first.through,
        basis="the battery maker's figure" if said else _basis(first),
        severity=None if said else "advice",
    )


def _remedy(givers: list[Part], taken: str, battery: Part) -> str:
    alternator = next((part for part in givers if part.kind == "alternator"), None)
    if alternator is not None:
        return f"put a charger of at most {taken} A, all chargers together, between {alternator.id} and {battery.id}"
    return f"limit the chargers to {taken} A together"


def _most(bank: Bank) -> float | None:
    """What a bank may be charged with together [A]; None where one of its batteries does not tell."""
    limits = [_limit(battery) for battery in bank.batteries]
    return None if any(limit is None for limit in limits) else sum(limit or 0.0 for limit in limits)


def _limit(battery: Part) -> float | None:
    """What a battery may be charged with [A]; None where neither it nor its chemistry tells."""
    own = battery.number("max-charge")
    times = battery.number("parallel") or 1.0
    if own is not None:
        return own * times
    row = catalogue().row("chemistry", battery.word("chemistry"))
    capacity = battery.number("capacity")
    return float(row["charge_per_ah"]) * capacity * times if row and capacity else None


def _basis(battery: Part) -> str:
    row = catalogue().row("chemistry", battery.word("chemistry"))
    return f"{catalogue().basis(row)}, in A per Ah" if row else ""
