"""Each single fault planted, solved by ngspice and read with a noisy meter where the tool asks: is it found?"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from random import Random

import numpy as np
import pytest
from by_ngspice import needs_ngspice, run

from wiregen.circuit import study
from wiregen.circuit.figures import Figures
from wiregen.circuit.joints import Merged
from wiregen.circuit.standing import Stands, stands
from wiregen.diagnosis.choice import chosen
from wiregen.diagnosis.diagnose import LITTLE
from wiregen.diagnosis.dictionary import METER, Dictionary
from wiregen.diagnosis.faults import Fault, planted
from wiregen.diagnosis.likelihood import believe, same
from wiregen.diagnosis.next_reading import proposals
from wiregen.diagnosis.points import Probe, probes
from wiregen.diagnosis.readings import Reading
from wiregen.exchange.spice import circuit_deck, node_names
from wiregen.model import read

EXAMPLES = Path(__file__).parents[2] / "examples"
FIRST, FURTHER = 5, 3  # readings
ALL = 10_000  # faults
pytestmark = needs_ngspice


class Vehicle:
    """A faulty job as ngspice solves it, to be measured."""

    def __init__(self, found: Stands, nodes: dict[str, float], rng: np.random.Generator) -> None:
        self.circuit = found.solver.circuit
        names = node_names(self.circuit, Merged(self.circuit))
        self.volts = {terminal: nodes[name] for terminal, name in names.items() if name in nodes}
        self.islands = found.solver.islands()
        self.branches = {branch.key: branch for branch in self.circuit.branches}
        self.rng = rng

    def true(self, probe: Probe) -> float:
        """What an ideal meter would show."""
        if probe.kind == "A":
            branch = self.branches.get(("conductor", probe.red))
            return (self.volts[branch.a] - self.volts[branch.b] - branch.volts) / branch.ohm if branch else 0.0
        red, black = probe.red, probe.black
        if red not in self.volts or black not in self.volts or self.islands[red] != self.islands[black]:
            return 0.0
        return self.volts[red] - self.volts[black]

    def read(self, probe: Probe) -> Reading:
        """What a meter shows: 1 % of noise and a floor."""
        part, least = METER[probe.kind]
        true = self.true(probe)
        return Reading(probe, float(true * (1.0 + part * self.rng.normal()) + least * self.rng.normal()))


def by_ngspice(found: Stands) -> dict[str, float]:
    """Node voltages. ngspice starts at the answer that it is to confirm, and stays there only if that is one (a charger
    that has lost its battery may have a second, far below); where it does not get there, at a rough one."""
    assert found.solution is not None
    circuit = found.solver.circuit
    volts = found.solution.voltages
    near = {name: volts.get(terminal) for terminal, name in node_names(circuit, Merged(circuit)).items()}
    deck = circuit_deck(circuit, found.solution.references, "fault", volts)
    begun = re.sub(
        r"^\.nodeset V\((\S+)\)=.*$",
        lambda m: m[0] if near.get(m[1]) is None else f".nodeset V({m[1]})={near[m[1]]:.9g}",
        deck,
        flags=re.MULTILINE,
    )
    return run(begun) or run(deck)


def vehicles(
    dictionary: Dictionary, fault: Fault, ohm: float | None, rng: np.random.Generator
) -> list[Vehicle | None] | None:
    """The faulty job in each case, None where it does not come to rest; None in all where ngspice has no answer."""
    made: list[Vehicle | None] = []
    for bench in dictionary.benches:
        job, state = planted(dictionary.job, bench.state, fault, ohm)
        found = stands(job, Figures(job), state, bench.kept, dict(bench.logic))
        if found.solution is None:
            return None
        nodes = {} if found.unsteady else by_ngspice(found)
        if not nodes and not found.unsteady:
            return None
        made.append(Vehicle(found, nodes, rng) if nodes else None)
    return made


def searched(name: str, cases: Sequence[str], faults: int, seed: int) -> Counter[str]:
    """Of each fault: whether it shows, and whether it is first after readings at five points and at three more. Without
    cases those that the tool takes by itself. At a point the leads stay, and it is read in each case that is asked for.
    """
    job, _ = read(str(EXAMPLES / f"{name}.wnet"))
    assert job is not None
    dictionary = Dictionary(job, chosen(study(job)[0], cases))
    all_ = probes(job)
    columns = dictionary.everywhere(all_)
    sigma = np.hypot(columns.spread[0], np.linalg.norm(columns.moves, axis=1))
    names = [bench.state.name for bench in dictionary.benches]
    draw, rng = Random(seed), np.random.default_rng(seed)
    counts: Counter[str] = Counter()
    for number in draw.sample(range(len(dictionary.faults)), min(faults, len(dictionary.faults))):
        fault = dictionary.faults[number]
        ohm = 10.0 ** draw.uniform(-2.0, 0.0) if fault.kind == "joint" else None
        made = vehicles(dictionary, fault, ohm, rng)
        if made is None:
            counts["no answer of ngspice"] += 1
            continue
        taken: list[Reading] = []
        shows = False
        for point in range(1, FIRST + FURTHER + 1):
            offered = proposals(dictionary, believe(dictionary, taken), all_, columns, taken)
            for case in offered[0].cases if offered and offered[0].bits >= LITTLE else ():
                probe, vehicle = offered[0].probe, made[case]
                if vehicle is None:
                    taken.append(Reading(probe, 0.0, 0.0, names[case], True))
                    continue
                k = case * len(all_) + all_.index(probe)
                shows |= abs(vehicle.true(probe) - float(columns.means[0, k])) > 3.0 * float(sigma[k])
                taken.append(vehicle.read(probe)._replace(case=names[case]))
            if point in (FIRST, FIRST + FURTHER) and shows:
                best = believe(dictionary, taken).best()[0]
                right = best == number or same(dictionary, best, number, (columns.means, columns.spread))
                counts[f"{point} {'right' if right else 'wrong'}"] += 1
                if point > FIRST and not right:
                    print(name, names, fault.id, ohm, "is taken for", dictionary.faults[best].id)
        counts["shows" if shows else "does not show"] += 1
        counts["readings"] += len(taken)
    return counts


def shares(counts: Counter[str]) -> tuple[float, float]:
    """Shares that are right after five points and after the further ones."""
    found = []
    for count in (FIRST, FIRST + FURTHER):
        right, wrong = counts[f"{count} right"], counts[f"{count} wrong"]
        found.append(right / max(right + wrong, 1))
    return found[0], found[1]


@pytest.mark.parametrize("cases", [(), ("night",)])
def test_faults_of_the_pick_up_are_found(cases: Sequence[str]) -> None:
    """In cases of the tool's choosing, and where the user stays in one."""
    counts = searched("dual-battery", cases, 24, seed=3)
    assert counts["shows"] >= 10
    _, further = shares(counts)
    assert further >= 0.95, counts


@pytest.mark.long
@pytest.mark.parametrize("several", [True, False], ids=["several cases", "one case"])
def test_every_fault_of_every_example_is_found(several: bool) -> None:
    total: Counter[str] = Counter()
    for name, faults in (
        ("dual-battery", ALL),
        ("solar-touring", ALL),
        ("caravan", ALL),
        ("truck-24v", ALL),
        ("trailer-48v", ALL),
        ("camper-van", 60),
    ):
        counts = searched(name, () if several else ("driving",), faults, seed=17)
        print(name, dict(sorted(counts.items())), [round(share, 3) for share in shares(counts)], flush=True)
        total += counts
    first, further = shares(total)
    print(dict(sorted(total.items())), round(first, 4), round(further, 4))
    assert total["shows"] >= 300
    least_first, least_further = SHARES[several]
    assert first >= least_first and further >= least_further


# what is reached, in several cases and in one; the aim is 0.95 after five points and 0.99 after eight
SHARES = {True: (0.91, 0.97), False: (0.82, 0.97)}
