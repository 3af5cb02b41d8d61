"""The choice of sizes against trying every combination."""

from __future__ import annotations

from itertools import product
from random import Random

import pytest

from wiregen.circuit.least_copper import Limit, Option, choose


def exhaustive(options, limits):
    best = None
    ids = list(options)
    for picks in product(*(range(len(options[id])) for id in ids)):
        picked = dict(zip(ids, picks, strict=True))
        for limit in limits:
            if sum(a * options[id][picked[id]].ohm for id, a in limit.amps.items()) > limit.volts * (1 + 1e-9) + 1e-9:
                break
        else:
            mass = sum(options[id][k].mass for id, k in picked.items())
            if best is None or mass < best:
                best = mass
    return best


def case(seed):
    random = Random(seed)
    areas = [1.5, 2.5, 4, 6, 10]
    options, limits = {}, []
    for k in range(5):
        length = random.uniform(0.3, 6)
        first = random.randrange(3)
        options[f"W{k}"] = [Option(a * length, 0.0191 * length / a) for a in areas[first:]]
    for _ in range(random.randrange(1, 4)):
        ids = random.sample(list(options), random.randrange(1, 5))
        limits.append(Limit({id: random.choice((3.0, 8.0, 20.0)) for id in ids}, random.uniform(0.05, 1.2)))
    return options, limits


@pytest.mark.parametrize("seed", range(120))
def test_no_combination_has_less_copper(seed):
    options, limits = case(seed)
    found = choose(options, limits)
    kept = [limit for limit, met in zip(limits, found.met, strict=True) if met]
    best = exhaustive(options, kept)
    if best is None:
        return  # each limit can be kept alone, not all together: everything is as large as it comes
    assert found.exact
    assert sum(options[id][k].mass for id, k in found.picked.items()) == pytest.approx(best)
    for limit in kept:
        drop = sum(a * options[id][found.picked[id]].ohm for id, a in limit.amps.items())
        assert drop <= limit.volts * (1 + 1e-8) + 1e-8


def test_a_limit_out_of_reach_is_told():
    found = choose({"W": [Option(1, 1.0), Option(2, 0.5)]}, [Limit({"W": 1.0}, 0.1)])
    assert found.met == (False,)


def test_copper_goes_where_the_current_is():
    # one limit over a long thick run and a short one: equal currents, so equal sizes do best (S as the root of I)
    areas = [2.5, 4, 6, 10, 16]
    options = {
        "far": [Option(a * 5, 0.0191 * 5 / a) for a in areas],
        "near": [Option(a * 5, 0.0191 * 5 / a) for a in areas],
    }
    found = choose(options, [Limit({"far": 10.0, "near": 10.0}, 10 * 0.0191 * 5 / 6 * 2)])
    assert found.picked == {"far": 2, "near": 2}


def test_forty_branches_on_one_trunk_are_quick():
    random = Random(3)
    areas = [1.5, 2.5, 4, 6, 10, 16, 25, 35]
    options = {}
    limits = []
    for name in ("plus", "minus"):
        options[name] = [Option(a * 2, 0.0191 * 2 / a) for a in areas]
    for k in range(40):
        length = random.uniform(1, 6)
        for name in (f"p{k}", f"n{k}"):
            options[name] = [Option(a * length, 0.0191 * length / a) for a in areas]
        amps = random.choice((2.0, 5.0, 8.0))
        limits.append(Limit({"plus": 60.0, "minus": 60.0, f"p{k}": amps, f"n{k}": amps}, 0.6))
    found = choose(options, limits)
    assert found.exact
    assert all(found.met)
