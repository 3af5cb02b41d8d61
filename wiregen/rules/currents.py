"""What conductors carry over all operating cases, for the rules that compare it with what they bear."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from wiregen.circuit.crossing import crossings
from wiregen.circuit.network import Network, once
from wiregen.circuit.parallel import shares
from wiregen.circuit.study import CaseResult, Study
from wiregen.circuit.ways_back import adrift
from wiregen.model.job import Conductor, Job, Part
from wiregen.rules.words import beyond, clearly_more


class Strain(NamedTuple):
    """A conductor's current and ampacity [A] in the case that strains it most."""

    case: str
    current: float
    ampacity: float

    @property
    def too_much(self) -> bool:
        """Whether it carries more than it bears."""
        return beyond(self.current, self.ampacity)


def starter_turns(study: Study, case: CaseResult) -> bool:
    """Whether a starter turns in the case: its current lasts seconds."""
    return case.name in turning(study)


@once
def _starters(job: Job, network: Network) -> tuple[str, ...]:
    return tuple(part.id for part in job.parts.values() if part.kind == "starter")


def lasting(study: Study) -> Iterator[CaseResult]:
    """The solved cases in which no starter turns: their currents last."""
    return (case for case in study.cases if case.solved and not starter_turns(study, case))


def taken(case: CaseResult, part: str, name: str = "current_a") -> float:
    """A current of a part in a case [A], what it gives negative; 0 where it has none."""
    return (case.parts.get(part) or {}).get(name) or 0.0


def brought(study: Study, case: CaseResult, terminal: str) -> float:
    """What the conductors at a terminal bring to it together in a solved case [A]."""
    total = 0.0
    for edge, _ in study.network.around(terminal):
        flow = case.flows.get(edge.subject)
        if flow is not None and flow.current_a is not None:
            total += flow.current_a if edge.b == terminal else -flow.current_a
    return total


def turning(study: Study) -> frozenset[str]:
    """The cases in which a starter turns."""
    starters = _starters(study.job, study.network)
    return frozenset(case.name for case in study.cases if any(taken(case, starter) for starter in starters))


def contact_strain(study: Study, part: Part) -> tuple[str, float] | None:
    """The case in which most current flows through any of a part's contacts while no starter turns, and how much."""
    worst: tuple[str, float] | None = None
    for case in lasting(study):
        for contact in part.contacts:
            current = abs(case.contacts.get((part.id, contact.name)) or 0.0)
            if worst is None or clearly_more(current, worst[1]):
                worst = case.name, current
    return worst


def unsure(study: Study) -> str:
    """Why no current or voltage of the study is as it is meant, in words; `` where nothing stands against them."""
    if crossings(study.job, study.network):
        return "positive meets negative somewhere"
    part = adrift(study.job, study.network)
    return f"{part} is not joined to the others at its negative" if part else ""


def lossy(study: Study) -> Mapping[tuple[str, str], float]:
    """(case, id) -> the drop ratio of the worst supply that loses more than is allowed, for all that lies on its way.

    What follows from a supply that sags (a part that cannot hold up, a constant-power load that draws more) is said by
    the rule for the sagging supply.
    """
    found: dict[tuple[str, str], float] = {}
    for supply in study.supplies:
        drop, most = supply.drop_ratio, supply.limit_ratio
        if drop is not None and most is not None and beyond(drop, most):
            for name in (supply.taker, *supply.path):
                found[supply.case, name] = max(found.get((supply.case, name), 0.0), drop)
    return found


def only_by_sag(sag: Mapping[tuple[str, str], float], case: str, part: str, current: float, most: float) -> bool:
    """Whether a current is beyond its limit only because a sagging supply makes constant power draw more."""
    drop = sag.get((case, part), 0.0)
    return drop > 0 and not beyond(current * max(1.0 - drop, 0.0), most)


def highest_voltage(study: Study, part: Part) -> tuple[str, float] | None:
    """The case in which any terminal of a part is highest above the reference of its island, and by how much [V]."""
    worst: tuple[str, float] | None = None
    for case in study.cases:
        for terminal in part.terminals:
            volts = case.voltages.get(terminal)
            if volts is not None and (worst is None or clearly_more(abs(volts), worst[1])):
                worst = case.name, abs(volts)
    return worst


def too_thin(study: Study) -> frozenset[str]:
    """Conductors that carry more than they bear in some case: what follows from that is not said again."""
    return frozenset(c.id for c in study.job.conductors.values() if (s := strain(study, c)) and s.too_much)


def strain(study: Study, conductor: Conductor) -> Strain | None:
    """The worst of the cases in which no starter turns; None where none tells, or the conductor's size is not given."""
    worst: Strain | None = None
    starting = turning(study)
    for case in study.cases:
        flow = case.flows.get(conductor.id)
        if flow is None or flow.current_a is None or not flow.ampacity_a or case.name in starting:
            continue
        found = Strain(case.name, abs(flow.current_a), flow.ampacity_a)
        if worst is None or clearly_more(found.current * worst.ampacity, worst.current * found.ampacity):
            worst = found
    return worst


UNEVEN = 0.10
"""Shares of parallel conductors that differ by more than this part of an even share are unequal: IEC 60364-4-43, 433.4
(from memory, not read)."""


def uneven(study: Study) -> Mapping[str, tuple[str, ...]]:
    """Conductors that carry too much only because those beside them take less -> their group of parallel conductors."""
    found: dict[str, tuple[str, ...]] = {}
    shared = shares(study)
    spread = {each.ids: [shared[id].share for id in each.ids] for each in shared.values()}
    for ids, parts in spread.items():
        if not beyond((max(parts) - min(parts)) * len(ids), UNEVEN):
            continue
        strains = {id: strain(study, study.job.conductors[id]) for id in ids}
        told = [each for each in strains.values() if each is not None]
        if len(told) == len(ids) and not beyond(sum(s.current for s in told), sum(s.ampacity for s in told)):
            found |= {id: ids for id, each in strains.items() if each is not None and each.too_much}
    return found
