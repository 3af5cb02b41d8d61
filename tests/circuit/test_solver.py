"""The solver against worked circuits in print, and against what breaks solvers."""

from __future__ import annotations

import pytest

from wiregen.circuit.assemble import Circuit
from wiregen.circuit.cases import State
from wiregen.circuit.devices import CurrentLoad, PowerLoad
from wiregen.circuit.solve import solve
from wiregen.circuit.sparse import Plan, SingularError


def circuit(text: str, *, ground: str = "0") -> Circuit:
    """`name a b ohm volts` a line: a resistance with a source in series, current from a to b."""
    made = Circuit(State("test", ""))
    made.references.append(ground)
    for line in text.strip().splitlines():
        name, a, b, ohm, *volts = line.split()
        for t in (a, b):
            if t not in made.terminals:
                made.terminals.append(t)
        made.add((name,), a, b, float(ohm), float(volts[0]) if volts else 0.0)
    return made


def currents(text: str, **more: str) -> dict[str, float]:
    solution, troubles = solve(circuit(text, **more))
    assert solution is not None, troubles
    return {key[0]: amps for key, amps in solution.currents.items()}


def test_s1_two_loops_of_a_government_handbook():
    # DOE-HDBK-1011 vol. 1, pp. 51-52: 8 V with 50 ohm, 40 V with 100 ohm, 10 V with the shared 200 ohm;
    # I1 0.2686, I2 0.3458, I3 = I2 - I1 = 0.0772 A (exactly 0.26857, 0.34571, 0.07714)
    found = currents("i1 0 n 50 -8\ni3 0 n 200 -10\ni2 n 0 100 -40")
    assert [found["i1"], found["i2"], found["i3"]] == pytest.approx([0.2686, 0.3458, 0.0772], abs=1.1e-4)


def test_s2_opposing_sources():
    # same handbook, p. 45: 50 - 30 I - 70 - 10 I = 0, I = -0.5 A
    assert currents("r 0 a 30 -50\nq a 0 10 70")["r"] == pytest.approx(-0.5, abs=1e-9)


@pytest.mark.parametrize("extra, amps, volts", [(0.0, 200, 10.0), (0.09, 80, 4.0)])
def test_s3_s4_starter_and_its_corroded_joints(extra, amps, volts):
    # OpenStax College Physics, DC circuits: 12 V behind 10 mohm, motor 50 mohm; 90 mohm of corroded joints
    text = f"battery p 0 0.01 12\njoint p m {extra}\nmotor m 0 0.05"
    solution, _ = solve(circuit(text))
    assert solution.currents["motor",] == pytest.approx(amps, abs=1e-9)
    assert solution.voltages["m"] == pytest.approx(volts, abs=1e-9)
    assert solution.currents["joint",] == pytest.approx(amps, abs=1e-6)


def test_s5_jump_start():
    # university physics text: 12 V / 10 mohm and 10 V / 1 ohm feed a starter of 60 mohm: 171 A, 0.283 A charging
    found = currents("good n 0 0.01 12\nflat n 0 1 10\nstarter n 0 0.06")
    assert found["starter"] == pytest.approx(171.388, abs=1e-3)
    assert found["flat"] == pytest.approx(0.2833, abs=1e-4)
    assert found["good"] == pytest.approx(-171.67, abs=5e-3)


def test_s6_kirchhoffs_rules():
    # open physics text, example 34.56: I1 1/22, I2 6/22, I3 7/22 A
    found = currents("i1 n 0 10 10\ni2 n 0 20 15\ni3 n 0 30")
    assert [-found["i1"], -found["i2"], found["i3"]] == pytest.approx([1 / 22, 6 / 22, 7 / 22], abs=1e-9)


def test_s7_two_nodes():
    # textbook example 1.14: V1 9.25 V, V2 11 V; 5.75, 9.25, 3.5, 5.5, 9 A
    text = "a n1 0 1 15\nb n1 0 1\nc n2 n1 0.5\nd n2 0 2\ne n2 0 1 20"
    solution, _ = solve(circuit(text))
    assert [solution.voltages["n1"], solution.voltages["n2"]] == pytest.approx([9.25, 11.0], abs=1e-9)
    found = {key[0]: amps for key, amps in solution.currents.items()}
    assert [-found["a"], found["b"], found["c"], found["d"], -found["e"]] == pytest.approx([5.75, 9.25, 3.5, 5.5, 9.0])


@pytest.mark.parametrize("inner, answers", [(0, (0.03020, 0.13250, 0.10230)), (1, (0.03085, 0.13172, 0.10087))])
def test_s8_two_batteries_and_one_resistor(inner, answers):
    # homework solution; with 1 ohm in each source its printed i3 of 0.108 A breaks Kirchhoff's law, 0.10087 A is right
    found = currents(f"i1 n 0 {26 + inner} 9\ni3 n 0 {37 + inner} 12\ni2 n 0 62")
    assert [-found["i1"], found["i2"], -found["i3"]] == pytest.approx(answers, abs=5e-5)


def test_the_classic_of_textbooks():
    # 28 V / 4 ohm and 7 V / 1 ohm on a shared 2 ohm: 5 A, 1 A into the 7 V source, 4 A at 8 V (computed by hand)
    found = currents("a n 0 4 28\nb n 0 1 7\nc n 0 2")
    assert [-found["a"], found["b"], found["c"]] == pytest.approx([5, 1, 4], abs=1e-9)


def test_a_constant_power_takes_the_upper_answer():
    # 12 V behind 20 mohm, 400 W: (12 + sqrt(144 - 32)) / 2 = 11.292 V, 35.42 A (reference values 11)
    made = circuit("source p 0 0.02 12")
    made.devices.append(PowerLoad("load", "p", "0", 400.0))
    solution, _ = solve(made)
    assert solution.voltages["p"] == pytest.approx(11.2915026, abs=1e-6)
    assert solution.ports[0][0] == pytest.approx(35.42, abs=5e-3)


@pytest.mark.parametrize("watts, holds", [(1799.0, True), (1801.0, False)])
def test_no_constant_power_beyond_the_greatest_that_the_source_can_bring(watts, holds):
    # V^2 / (4 R) = 1800 W
    made = circuit("source p 0 0.02 12")
    made.devices.append(PowerLoad("load", "p", "0", watts))
    solution, troubles = solve(made)
    assert (solution is not None and made.devices[0].holds(solution.port_volts[0])) is holds
    if not holds and solution is None:
        assert troubles[0].part == "load"


def test_an_ideal_joint_carries_its_current():
    found = currents("source p 0 0.01 12\nlink p q 0\nlink2 q s 0\nload s 0 1.19")
    assert found["link"] == pytest.approx(10.0, abs=1e-9)
    assert found["link2"] == pytest.approx(10.0, abs=1e-9)


def test_loops_of_links_and_hundreds_of_parallel_conductors():
    lines = ["source p 0 0.01 12", "load q 0 1"]
    lines += [f"w{k} p q 0.1" for k in range(300)]
    lines += ["l1 q r 0", "l2 r q 0", "l3 q q 0", "l4 r s 0", "l5 s q 0", "tail r 0 1"]
    found = currents("\n".join(lines))
    shares = [found[f"w{k}"] for k in range(300)]
    assert max(shares) - min(shares) < 1e-9
    assert sum(shares) == pytest.approx(found["load"] + found["tail"], abs=1e-9)
    assert found["l1"] - found["l2"] - found["l4"] == pytest.approx(found["tail"], abs=1e-9)


def test_two_sources_held_apart_without_resistance_are_reported():
    solution, troubles = solve(circuit("start p 0 0 12\nlink p q 0\naux q 0 0 13"))
    assert solution is None
    assert "contradicts" in troubles[0].words


def test_two_sources_held_alike_are_solved():
    found = currents("start p 0 0 12\nlink p q 0\naux q 0 0 12\nload q 0 1")
    assert found["start"] + found["aux"] == pytest.approx(-12.0, abs=1e-9)


def test_a_dead_short_is_solved():
    assert currents("source p 0 0.005 12\nshort p 0 0")["source"] == pytest.approx(-2400.0)


def test_islands_float_on_references_of_their_own():
    solution, _ = solve(circuit("source p 0 0.01 12\nload p 0 1\nother a b 0.5 3\nbulb a b 1"))
    assert solution.references == ("0", "a")
    assert solution.voltages["b"] == pytest.approx(-2.0)


def test_a_lost_return_is_solved():
    made = circuit("source p 0 0.01 12\nwire p q 0.01")
    made.terminals.append("m")
    made.devices.append(CurrentLoad("load", "q", "m", 5.0))
    solution, _ = solve(made)
    assert solution.voltages["m"] == pytest.approx(12.0, abs=1e-6)
    assert solution.currents["wire",] == pytest.approx(0.0, abs=1e-9)


def test_kirchhoff_holds_where_resistances_differ_by_a_million_million():
    lines = ["source n0 0 0.005 12.6"]
    lines += [f"r{k} n{k} n{k + 1} {10.0 ** -(k % 9)}" for k in range(40)]
    lines += ["load n40 0 0.01", "trickle n20 0 1e7"]
    solution, _ = solve(circuit("\n".join(lines)))
    assert solution.residual <= max(1e-9, 1e-9 * abs(solution.currents["source",]))


def test_a_plan_solves_what_dense_arithmetic_solves():
    import numpy as np

    rng = np.random.default_rng(7)
    size = 40
    pairs = [(int(a), int(b)) for a, b in rng.integers(0, size, (70, 2)) if a != b]
    plan = Plan(size, pairs)
    values = [0.0] * plan.length
    dense = np.zeros((size, size))
    for k in range(size):
        values[k] = dense[k, k] = 10.0 + k
    for i, j in set(pairs):
        for a, b in ((i, j), (j, i)):
            value = float(rng.normal())
            dense[a, b] = value
            values[plan.place(a, b)] = value
    right = rng.normal(size=size).tolist()
    found = plan.solve(plan.factor(values), right)
    assert found == pytest.approx(np.linalg.solve(dense, right).tolist(), rel=1e-9)


def test_a_singular_matrix_is_told():
    plan = Plan(2, [(0, 1)])
    values = [0.0] * plan.length
    with pytest.raises(SingularError):
        plan.factor(values)
