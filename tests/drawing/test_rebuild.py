"""The netlist out of SVG text that no program of ours wrote: cut conductors, and text of any kind."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st
from samples import small

from wiregen.drawing import draw, rebuild

GOOD = draw(small())[0]


def sheet(number: int, content: str) -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" data-sheet="{number}" data-sheets="2">{content}</svg>'


def part(name: str, kind: str, terminal: str, x: float, y: float) -> str:
    return (
        f'<g class="part" data-part="{name}" data-kind="{kind}" data-box="0 0 1 1">'
        f'<circle class="terminal" data-terminal="{terminal}" cx="{x}" cy="{y}"/></g>'
    )


def wire(name: str, a: str, b: str, course: str) -> str:
    ends = f'data-from="{a}" data-to="{b}"'
    return f'<g class="conductor" data-conductor="{name}" {ends}><path class="run" d="{course}"/></g>'


def cut(name: str, x: float, y: float, to: int) -> str:
    return f'<circle class="continuation" data-conductor="{name}" data-sheet="{to}" data-zone="B2" cx="{x}" cy="{y}"/>'


FIRST = (
    part("start", "battery", "start.+", 10, 10)
    + wire("W1", "start.+", "F1.in", "M 10 10 L 90 10")
    + cut("W1", 90, 10, 2)
)
SECOND = cut("W1", 5, 10, 1) + wire("W1", "start.+", "F1.in", "M 5 10 L 40 10") + part("F1", "fuse", "F1.in", 40, 10)


def test_a_conductor_cut_over_two_sheets_is_one() -> None:
    drawn = rebuild((sheet(1, FIRST), sheet(2, SECOND)))
    assert drawn.troubles == ()
    assert drawn.conductors == {"W1": ("start.+", "F1.in")}


def test_a_cut_conductor_that_does_not_go_on_is_noticed() -> None:
    drawn = rebuild((sheet(1, FIRST), sheet(2, part("F1", "fuse", "F1.in", 40, 10))))
    assert any("W1" in trouble for trouble in drawn.troubles)
    assert "W1" not in drawn.conductors


def test_a_cut_that_names_the_wrong_sheet_is_noticed() -> None:
    wrong = FIRST.replace('data-sheet="2"', 'data-sheet="3"')
    assert rebuild((sheet(1, wrong), sheet(2, SECOND))).troubles == ("W1 goes on to sheet 3, where it is not drawn",)


def test_a_part_drawn_as_two_kinds_is_noticed() -> None:
    other = part("start", "panel", "start.-", 60, 60)
    assert any("battery and as panel" in t for t in rebuild((sheet(1, FIRST + other), sheet(2, SECOND))).troubles)


def test_two_runs_of_one_net_may_lie_together_up_to_a_junction() -> None:
    content = (
        part("A", "battery", "A.+", 10, 10) + part("B", "fuse", "B.in", 50, 10) + part("C", "fuse", "C.in", 30, 40)
    )
    content += wire("W1", "A.+", "B.in", "M 10 10 L 50 10") + wire("W2", "A.+", "C.in", "M 10 10 L 30 10 L 30 40")
    assert rebuild((sheet(1, content),)).troubles == ("W2 forks at 30.0 10.0 without a junction",)
    content += '<circle class="junction" cx="30" cy="10"/>'
    assert rebuild((sheet(1, content),)).troubles == ()


@given(st.text())
def test_any_text_is_read_without_an_error(words: str) -> None:
    rebuild((words,))


@given(at=st.integers(0, len(GOOD)), gone=st.integers(0, 40), words=st.text(max_size=8))
def test_any_damage_is_read_without_an_error(at: int, gone: int, words: str) -> None:
    rebuild((GOOD[:at] + words + GOOD[at + gone :],))
