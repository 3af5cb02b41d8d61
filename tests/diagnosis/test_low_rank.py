"""The dictionary: a low-rank answer is that of solving from scratch, and ngspice agrees with both."""

from __future__ import annotations

import time
from pathlib import Path
from random import Random

import numpy as np
import pytest
from by_ngspice import needs_ngspice, run

from wiregen.circuit.cases import operating_cases
from wiregen.circuit.figures import Figures
from wiregen.circuit.joints import Merged
from wiregen.circuit.standing import stands
from wiregen.diagnosis.dictionary import Dictionary
from wiregen.diagnosis.faults import Fault, faults, planted
from wiregen.diagnosis.points import probes
from wiregen.diagnosis.signatures import OHMS, Bench, Signature
from wiregen.exchange.spice import circuit_deck, node_names
from wiregen.model import read
from wiregen.model.job import Job

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("dual-battery", "solar-touring", "caravan", "truck-24v", "trailer-48v", "camper-van")


def job_of(name: str) -> Job:
    job, _ = read(str(EXAMPLES / f"{name}.wnet"))
    assert job is not None
    return job


def bench(name: str, case: str) -> Bench:
    job = job_of(name)
    state = next(state for state in operating_cases(job) if state.name == case)
    made = Bench(job, Figures(job), state)
    assert made.solved
    return made


def gap(one: Signature, other: Signature) -> float:
    """The largest difference of a reading between any two terminals of one island, and of any current; infinite where
    the islands are others, between which a meter reads nothing."""
    together = [s.islands[:, None] == s.islands[None] for s in (one, other)]
    if (together[0] != together[1]).any():
        return float("inf")
    islands: dict[tuple[int, int], list[int]] = {}
    for k, pair in enumerate(zip(one.islands.tolist(), other.islands.tolist(), strict=True)):
        islands.setdefault(pair, []).append(k)
    worst = float(abs(one.amps - other.amps).max())
    for members in islands.values():
        away = one.volts[members] - other.volts[members]
        worst = max(worst, float(away.max() - away.min()))
    return worst


def compared(
    made: Bench, chosen: list[tuple[Fault, float | None]]
) -> tuple[int, list[tuple[str, float | None, float]]]:
    """How many low-rank answers have one from scratch beside them, and those that differ."""
    count, wrong = 0, []
    for fault, ohm in chosen:
        low = made.signature(fault, ohm)
        if low is None or low.how != "low-rank" or low.unsteady:
            continue
        scratch = made.from_scratch(fault, ohm)
        if scratch is None or scratch.unsteady:
            continue  # the search from scratch ends in a state that goes on and off: there is nothing to compare
        count += 1
        away = gap(low, scratch)
        if away > 1e-5:
            wrong.append((fault.id, ohm, away))
    return count, wrong


def cut_faults(made: Bench) -> list[tuple[Fault, float | None]]:
    pairs: list[tuple[Fault, float | None]] = []
    for fault in faults(made.job, made.figures):
        if fault.at is not None:
            pairs += [(fault, ohm) for ohm in (OHMS if fault.kind == "joint" else (None,))]
    return pairs


@pytest.mark.parametrize(
    ("name", "case"), [("dual-battery", "driving"), ("solar-touring", "parked-dark"), ("truck-24v", "night")]
)
def test_a_low_rank_answer_is_that_from_scratch(name: str, case: str) -> None:
    made = bench(name, case)
    pairs = cut_faults(made)
    count, wrong = compared(made, Random(7).sample(pairs, 60))
    assert count >= 30
    assert not wrong


@pytest.mark.long
@pytest.mark.parametrize("name", NAMES)
def test_every_low_rank_answer_is_that_from_scratch(name: str) -> None:
    """In every case: all but one in two hundred, which have two answers, of which each search found one."""
    job = job_of(name)
    total = wrong = 0
    for state in operating_cases(job):
        made = Bench(job, Figures(job), state)
        if made.solved:
            pairs = cut_faults(made)
            count, differ = compared(made, pairs if name != "camper-van" else Random(3).sample(pairs, 150))
            total, wrong = total + count, wrong + len(differ)
    assert total > 200
    assert wrong <= total / 200


def test_the_sound_job_is_what_the_study_says() -> None:
    made = bench("truck-24v", "night")
    assert made.rest.solution is not None
    for terminal, k in made.terminals.items():
        volts = made.rest.solution.voltages[terminal]
        if volts is not None:
            assert made.sound.volts[k] == pytest.approx(volts, abs=1e-5)


def test_what_an_open_joint_parts_reads_nothing_against_the_rest() -> None:
    made = bench("dual-battery", "night")
    fault = next(f for f in faults(made.job, made.figures) if f.id == "open B0")
    signature = made.signature(fault, None)
    assert signature is not None
    at = made.terminals
    assert signature.islands[at["E1"]] != signature.islands[at["start.+"]]
    assert made.sound.islands[at["E1"]] == made.sound.islands[at["start.+"]]


def test_a_fuse_that_a_fault_shorts_has_blown() -> None:
    made = bench("dual-battery", "night")
    fault = next(f for f in faults(made.job, made.figures) if f.id == "R5 on aux.-")
    signature = made.signature(fault, None)
    assert signature is not None
    assert not signature.blown or set(signature.blown) <= {"F1", "F2", "F3"}


# ---------------------------------------------------------------- ngspice


def by_ngspice(made: Bench, fault: Fault, ohm: float | None) -> float | None:
    """The largest difference of any reading in the fault's own circuit, solved by ngspice; None without an answer."""
    job, state = planted(made.job, made.state, fault, ohm)
    found = stands(job, Figures(job), state, made.kept, dict(made.logic))
    signature = made.signature(fault, ohm)
    if signature is None or signature.unsteady or found.solution is None or found.unsteady:
        return None
    circuit = found.solver.circuit
    deck = circuit_deck(circuit, found.solution.references, "fault", found.solution.voltages)
    values = run(deck)
    if not values:
        return None
    names = node_names(circuit, Merged(circuit))
    islands: dict[int, list[float]] = {}
    for terminal, k in made.terminals.items():
        if terminal in names and names[terminal] in values and found.solution.voltages.get(terminal) is not None:
            away = values[names[terminal]] - signature.volts[k]
            islands.setdefault(int(signature.islands[k]), []).append(float(away))
    return max((max(away) - min(away) for away in islands.values()), default=None)


@needs_ngspice
@pytest.mark.parametrize("count", [12, pytest.param(60, marks=pytest.mark.long)])
def test_ngspice_confirms_faults_drawn_at_random(count: int) -> None:
    """Of all examples and cases; those whose readings do not rest have no answer to confirm."""
    draw = Random(11)
    confirmed = 0
    made: dict[tuple[str, str], Bench] = {}
    while confirmed < count * 5 // 6:
        name = draw.choice(NAMES[:5] if count < 50 else NAMES)
        case = draw.choice(operating_cases(job_of(name))).name
        if (name, case) not in made:
            made[name, case] = bench(name, case)
        fault = draw.choice(faults(made[name, case].job, made[name, case].figures))
        ohm = draw.choice(OHMS) if fault.kind == "joint" else None
        away = by_ngspice(made[name, case], fault, ohm)
        if away is not None:
            assert away < 1e-3, (name, case, fault.id, ohm)
            confirmed += 1


# ---------------------------------------------------------------- speed


@pytest.mark.benchmark
def test_the_dictionary_of_the_large_van() -> None:
    """Low-rank answers take at most two sevenths of what solving the same faults from scratch takes."""
    made = bench("camper-van", "evening-in")
    assert len(made.job.conductors) >= 99
    start = time.process_time()
    dictionary = Dictionary(made.job, made.state)
    whole = time.process_time() - start
    chosen = Random(5).sample(cut_faults(made), 60)
    times = []
    for solve in (made.signature, made.from_scratch):
        for fault, ohm in chosen[:2]:
            solve(fault, ohm)
        start = time.process_time()
        for fault, ohm in chosen:
            solve(fault, ohm)
        times.append((time.process_time() - start) / len(chosen))
    low, scratch = times
    print(
        f"{len(dictionary.faults)} faults, {len(dictionary.rows)} rows in {whole:.2f} s;"
        f" one of a joint {low * 1e3:.2f} ms, from scratch {scratch * 1e3:.2f} ms, {scratch / low:.1f} times"
    )
    assert low <= scratch / 3.5


def test_readings_between_islands_are_nothing() -> None:
    dictionary = Dictionary(job_of("dual-battery"), next(iter(operating_cases(job_of("dual-battery")))))
    columns = dictionary.columns(probes(dictionary.job))
    assert np.isfinite(columns.means).all() and (columns.spread > 0).all()
