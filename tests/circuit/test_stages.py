"""What is there at a stage, what is live, and that what the rule proposes puts a stage right."""

from __future__ import annotations

from wiregen.circuit.network import build
from wiregen.circuit.stages import arrivals, bare_ends, live
from wiregen.model import read
from wiregen.model.job import Job

WIRING = """job "Pump" { system 12 V }
battery start 70 Ah flooded, resistance 6 mohm
fuse F1 20 A cartridge
load pump 5 A
start.+ --[W1 red 2.5 mm2 150 mm]-- F1 --[W3 red 2.5 mm2 1 m]-- pump.+
start.- --[W2 black 2.5 mm2 1 m]-- pump.-
"""


def job(stages: str, wiring: str = WIRING) -> Job:
    read_, mistakes = read("job.wnet", text=wiring + stages)
    assert read_ is not None and not mistakes, mistakes
    return read_


def ends(stages: str) -> list[tuple[int, str, str, int]]:
    made = job(stages)
    return [(e.at, e.conductor, e.terminal, e.lands) for e in bare_ends(made, build(made), arrivals(made))]


def test_things_come_with_the_first_stage_that_names_them_and_a_link_goes_in_with_the_last() -> None:
    when = arrivals(job("stage 1, start F1\nstage 2, W1 F1\nstage 3, pump F1\n"))
    assert [when.comes[id] for id in ("start", "F1", "W1", "pump", "W2")] == [0, 0, 1, 2, 3]
    assert dict(when.closes) == {"F1": 2}


def test_rest_is_what_no_stage_names() -> None:
    when = arrivals(job("stage 1, rest\nstage 2, pump W3\n"))
    assert [when.comes[id] for id in ("start", "W1", "W2", "W3", "pump")] == [0, 0, 0, 1, 1]


def test_what_a_stage_names_by_itself_does_not_come_before_with_its_circuit() -> None:
    circuit = WIRING.replace("start.+ --", 'circuit feed "Feed" {\nstart.+ --').rstrip() + "\n}\n"
    when = arrivals(job("stage 1, feed\nstage 2, start F1\n", circuit))
    assert [when.comes[id] for id in ("W1", "W2", "pump", "F1", "start")] == [0, 0, 0, 0, 1]
    assert when.closes["F1"] == 1
    assert arrivals(job("stage 1, start\nstage 2, feed\n", circuit)).comes["start"] == 0
    assert arrivals(job("stage 1, start\nstage 2, start\n", circuit)).comes["start"] == 0


def test_stages_stand_in_the_order_of_their_numbers() -> None:
    assert [s.number for s in arrivals(job("stage 10, pump\nstage 9, start\n")).order] == ["9", "10"]


def test_a_way_of_a_fuse_block_comes_with_its_block() -> None:
    block = WIRING + (
        "fuse-block FB1 30 A, blade, wire red black {\n    1: 5 A --[P1 N1 1.5 mm2 2 m]-- lamp D1 10 W\n}\n"
        "pump.+ --[W4 red 2.5 mm2 1 m]-- FB1.in\nFB1.- --[W5 black 2.5 mm2 1 m]-- pump.-\n"
    )
    made = job("stage 1, start W1 F1 W2 W3 pump W4 W5 FB1\nstage 2, rest\n", block)
    when = arrivals(made)
    (way,) = [part.id for part in made.parts.values() if part.block]
    assert when.comes[way] == 0 and when.comes["P1"] == when.comes["D1"] == 1
    assert "FB1.1" in live(made, build(made), when, 0)


def test_what_is_live_says_by_which_post_and_through_which_fuse() -> None:
    made = job("stage 1, start W1 W2 F1 W3\nstage 2, pump F1\n")
    when = arrivals(made)
    before, after = live(made, build(made), when, 0), live(made, build(made), when, 1)
    assert set(before) == {"start.+", "F1.in"}
    assert set(after) == {"start.+", "F1.in", "F1.out", "pump.+"}
    assert (after["pump.+"].source, after["pump.+"].fuse) == ("start.+", "F1")
    assert (after["F1.in"].source, after["F1.in"].fuse) == ("start.+", "")


def test_nothing_is_live_while_the_negative_is_off() -> None:
    made = job("stage 1, start W1 F1 W3 pump\nstage 2, W2\n")
    when = arrivals(made)
    assert live(made, build(made), when, 0) == {}
    assert set(live(made, build(made), when, 1)) == {"start.+", "F1.in", "F1.out", "pump.+"}


def test_an_end_is_named_once_at_the_first_stage_that_has_it_live() -> None:
    assert ends("stage 1, W1 W3 F1\nstage 2, start W2\nstage 3, W2\nstage 4, pump\n") == [(1, "W3", "pump.+", 3)]


def test_both_ways_of_putting_it_right_do_so() -> None:
    assert ends("stage 1, start W1 W2 W3 F1\nstage 2, pump\n") == [(0, "W3", "pump.+", 1)]
    assert ends("stage 1, start W1 W2 F1\nstage 2, pump W3\n") == []
    assert ends("stage 1, start W1 W2 W3 F1\nstage 2, pump F1\n") == []


def test_a_diode_hands_on_one_way_only() -> None:
    text = WIRING.replace("F1 --[W3", "F1 -- D --[W3").replace("load pump", "diode D 20 A\nload pump")
    made = job("stage 1, rest\n", text)
    assert "pump.+" in live(made, build(made), arrivals(made), 0)
    back = job("stage 1, rest\n", text.replace("F1 -- D --[W3", "F1 -- D.out\nD.in --[W3"))
    assert "pump.+" not in live(back, build(back), arrivals(back), 0)
