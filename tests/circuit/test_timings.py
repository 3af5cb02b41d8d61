"""Speed beside a reference solver on the same circuits, and growth with size. Run with `pytest -m benchmark`."""

from __future__ import annotations

import gc
import shutil
import subprocess
import time
from collections.abc import Callable
from math import log

import pytest
from big_jobs import big_netlist

from wiregen.circuit.cases import operating_cases
from wiregen.circuit.fault_study import fault_study
from wiregen.circuit.figures import Figures
from wiregen.circuit.pause import collector_at_rest
from wiregen.circuit.settle import Rest, settle
from wiregen.exchange.spice import circuit_deck
from wiregen.model import read
from wiregen.model.job import Job

pytestmark = pytest.mark.benchmark
SIZES = (13, 130, 1600)  # loads: about 100, 1,000 and 12,000 branches, joints without resistance counted


def job_of(loads: int) -> Job:
    job, findings = read("large.wnet", text=big_netlist(loads))
    assert job is not None and not findings
    return job


def one_case(job: Job) -> Rest:
    state = next(s for s in operating_cases(job) if s.name == "parked-dark")
    with collector_at_rest():
        return settle(job, Figures(job), state)


def seconds(*works: Callable[[], object], times: int = 7) -> list[float]:
    """The least time of each, taken in turns, so that what else the machine does disturbs none more than another."""
    found: list[list[float]] = [[] for _ in works]
    for _ in range(times):
        for work, times_of in zip(works, found, strict=True):
            gc.collect()
            start = time.perf_counter()
            work()
            times_of.append(time.perf_counter() - start)
    return [min(times_of) for times_of in found]


def branches(rest: Rest) -> int:
    return len(rest.circuit.branches) + len(rest.circuit.devices) + len(rest.circuit.ideal)


@pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed (apt: ngspice)")
@pytest.mark.parametrize("loads", SIZES)
def test_one_case_beside_ngspice(loads, record_property, capsys):
    job = job_of(loads)
    rest = one_case(job)
    assert rest.solution is not None
    deck = circuit_deck(rest.circuit, rest.solution.references, "large", rest.solution.voltages)

    def reference() -> None:
        done = subprocess.run(["ngspice", "-b"], input=deck, capture_output=True, text=True, check=False)
        assert "aborted" not in done.stderr

    ours, theirs = seconds(lambda: one_case(job), reference)
    with capsys.disabled():
        print(f"\n{branches(rest)} branches: {ours * 1e3:.1f} ms, ngspice {theirs * 1e3:.1f} ms, {ours / theirs:.2f}")
    record_property("ratio", ours / theirs)
    assert ours / theirs <= 1.0


def exponent(work: Callable[[Job], object]) -> tuple[float, list[float]]:
    """The power of size by which the time grows, between the two larger sizes."""
    jobs = [job_of(loads) for loads in SIZES[1:]]
    sizes = [len(job.conductors) for job in jobs]
    times = seconds(*[lambda job=job: work(job) for job in jobs], times=5)
    return log(times[1] / times[0]) / log(sizes[1] / sizes[0]), times


def test_one_case_grows_no_faster_than_n_to_the_1_2(capsys):
    power, times = exponent(one_case)
    with capsys.disabled():
        print(f"\none case grows as n^{power:.2f} ({times[0]:.3f} s, {times[1]:.3f} s)")
    assert power <= 1.2


def test_the_fault_study_grows_no_faster_than_n_to_the_1_5(capsys):
    def faults(job: Job) -> None:
        with collector_at_rest():
            fault_study(job, Figures(job))

    power, times = exponent(faults)
    with capsys.disabled():
        print(f"\nthe fault study grows as n^{power:.2f} ({times[0]:.3f} s, {times[1]:.3f} s)")
    assert power <= 1.5
