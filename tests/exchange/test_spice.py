"""The study against ngspice as the reference solver, on random jobs and on the examples, non-linear parts included."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest
from by_ngspice import needs_ngspice, run
from jobs import random_netlist

from wiregen.circuit.cases import operating_cases
from wiregen.circuit.fault_study import Net
from wiregen.circuit.figures import Figures
from wiregen.circuit.joints import Merged
from wiregen.circuit.settle import settle
from wiregen.exchange.spice import OPTIONS, circuit_deck, node_names, spice_deck
from wiregen.model import read
from wiregen.model.job import Job

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.wnet"))
pytestmark = needs_ngspice


def compare(job: Job, name: str) -> tuple[int, int]:
    """How many cases of a job were compared, and how many ngspice could not answer. Fails where a voltage differs."""
    figures = Figures(job)
    compared = failed = 0
    for state in operating_cases(job):
        rest = settle(job, figures, state)
        if rest.solution is None:
            continue
        solution = rest.solution
        found = run(circuit_deck(rest.circuit, solution.references, name, solution.voltages))
        if not found:
            failed += 1
            continue
        compared += 1
        for terminal, node in node_names(rest.circuit, Merged(rest.circuit)).items():
            ours = solution.voltages.get(terminal)
            if ours is not None and node in found:
                assert ours == pytest.approx(found[node], rel=1e-6, abs=1e-6), (name, state.name, terminal)
    return compared, failed


def random_jobs(seeds: range) -> Iterator[tuple[str, Job]]:
    for seed in seeds:
        job, _ = read("random.wnet", text=random_netlist(seed, 4 + seed % 17))
        assert job is not None
        yield f"seed {seed}", job


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_case_of_the_examples_agrees(path):
    job, _ = read(str(path))
    compared, failed = compare(job, path.stem)
    assert compared > 0
    assert failed == 0


def test_random_jobs_agree():
    counts = [compare(job, name) for name, job in random_jobs(range(12))]
    assert sum(compared for compared, _ in counts) >= 12


@pytest.mark.long
def test_three_hundred_random_jobs_agree():
    counts = [compare(job, name) for name, job in random_jobs(range(1000, 1360))]
    assert sum(compared > 0 for compared, _ in counts) >= 300
    # ngspice itself does not always converge; never on more than 2 % of the cases
    assert sum(failed for _, failed in counts) <= 0.02 * sum(compared for compared, _ in counts)


def shorted(net: Net, terminal: str, minus: str) -> str:
    """The deck of a fault network with a bolted fault: a source of 0 V between the two terminals."""
    names = node_names(net.circuit, Merged(net.circuit))
    deck = circuit_deck(net.circuit, net.solver.references, "fault")
    return deck.replace(OPTIONS, f"VFAULT {names[terminal]} {names[minus]} 0\n{OPTIONS}")


def compare_faults(job: Job, name: str, chosen: Random) -> int:
    count = 0
    for weak in (False, True):
        net = Net(job, Figures(job), weak=weak)
        ends = sorted({t for c in job.conductors.values() for t in (c.from_, c.to)})
        for terminal in chosen.sample(ends, min(3, len(ends))):
            fault = net.fault(terminal)
            if fault is None or fault.amps is None:
                continue
            found = run(shorted(net, terminal, fault.minus))
            assert fault.amps == pytest.approx(found["vfault#branch"], rel=1e-6, abs=1e-6), (name, terminal, weak)
            count += 1
    return count


def test_faults_of_random_jobs_agree():
    assert sum(compare_faults(job, name, Random(name)) for name, job in random_jobs(range(100, 108))) >= 10


@pytest.mark.long
def test_faults_of_three_hundred_random_jobs_agree():
    assert sum(compare_faults(job, name, Random(name)) for name, job in random_jobs(range(2000, 2300))) >= 500


def test_the_deck_of_a_named_case_is_complete():
    job, _ = read(str(EXAMPLES[0]))
    names = [state.name for state in operating_cases(job)]
    deck = spice_deck(job, names[-1])
    assert deck.startswith("* ")
    assert deck.endswith(".end\n")
    assert run(deck)
    assert deck == spice_deck(job, names[-1])


def test_a_case_that_the_job_does_not_have_is_refused():
    job, _ = read(str(EXAMPLES[0]))
    with pytest.raises(KeyError):
        spice_deck(job, "no-such-case")
