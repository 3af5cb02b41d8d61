"""Conductors in parallel by their true shares, and by what is left when one opens."""

from __future__ import annotations

import pytest

from wiregen.circuit import study
from wiregen.circuit.parallel import Parallel, groups, parallels
from wiregen.model import read
from wiregen.model.job import Job

TEXT = """job "Parallel" {{ system 12 V, limits iso13297 }}
battery house 400 Ah agm, open-circuit 12.8 V, resistance 1 mohm
busbar P 300 A
busbar N 300 A
load heater {draws}
{pairs}
house.- --[N1 black 50 mm2 1 m]-- N
P --[H1 red 50 mm2 1 m]-- heater --[H2 black 50 mm2 1 m]-- N
own-figures "Cold" {{ conductor-temperature 20 degC, joints 0 mohm }}
"""


def job(*pairs: str, draws: str = "60 A") -> Job:
    made, findings = read("parallel.wnet", text=TEXT.format(pairs="\n".join(pairs), draws=draws))
    assert made is not None and not findings, [f.message for f in findings]
    return made


def only(made: Job, **named: object) -> Parallel:
    (found,) = parallels(study(made)[0], **named)
    return found


def test_equal_conductors_share_equally_and_one_left_carries_all():
    found = only(job("house.+ --[A red 16 mm2 2 m]-- P", "house.+ --[B red 16 mm2 2 m]-- P"))
    assert found.shares == pytest.approx({"A": 0.5, "B": 0.5})
    assert found.current_a == pytest.approx(60.0)
    assert (found.survivor, found.survivor_current_a) == ("B", pytest.approx(60.0))
    assert found.survivor_ampacity_a == study(job("house.+ --[B red 16 mm2 2 m]-- P"))[0].ampacities["B"]


def test_shares_go_by_conductance_and_the_strongest_is_the_one_that_opens():
    # 16 mm2 over 2 m has 1.21/1000 x 2 ohm, 6 mm2 over 4 m 3.30/1000 x 4 ohm (IEC 60228, class 5)
    found = only(job("house.+ --[A red 16 mm2 2 m]-- P", "house.+ --[B red 6 mm2 4 m]-- P"))
    g = {"A": 1 / (1.21 * 2), "B": 1 / (3.30 * 4)}
    assert found.shares == pytest.approx({id: g[id] / sum(g.values()) for id in g})
    assert found.largest == found.shares["A"] and found.opened == "A"
    assert (found.survivor, found.survivor_current_a) == ("B", pytest.approx(60.0))
    assert found.survivor_current_a > found.survivor_ampacity_a


def test_of_three_the_two_left_share():
    found = only(job(*(f"house.+ --[{id} red 16 mm2 {m} m]-- P" for id, m in (("A", 1), ("B", 2), ("C", 3)))))
    assert list(found.shares) == ["A", "B", "C"] and found.opened == "A"
    assert (found.survivor, found.survivor_current_a) == ("B", pytest.approx(60.0 * 3 / 5))


def test_ends_on_one_piece_of_metal_count_as_one():
    made = job("house.+ -- S", "splice S", "house.+ --[A red 16 mm2 2 m]-- P", "S --[B red 16 mm2 2 m]-- P")
    assert groups(made) == (("A", "B"),)


def test_out_and_back_is_no_parallel_and_a_group_without_current_is_left_out():
    assert groups(job("house.+ --[A red 16 mm2 2 m]-- P")) == ()
    made = job("house.+ --[A red 16 mm2 2 m]-- P", "house.+ --[B red 16 mm2 2 m]-- P", "case off, off heater")
    assert parallels(study(made)[0], cases=["off"]) == ()


def test_a_case_without_an_answer_after_one_opens_has_no_survivor():
    # 2 kW through 16 mm2 over 2 m can be brought; through 0.5 mm2 over 30 m it cannot
    made = job("house.+ --[A red 16 mm2 2 m]-- P", "house.+ --[B red 0.5 mm2 30 m]-- P", draws="1 kW")
    found = only(made)
    assert found.opened == "A" and found.survivor is None and found.survivor_current_a is None


def test_hundreds_in_parallel():
    found = only(job(*(f"house.+ --[A{k} red 16 mm2 2 m]-- P" for k in range(200))))
    assert found.largest == pytest.approx(1 / 200)
    assert found.survivor_current_a == pytest.approx(60 / 199)
