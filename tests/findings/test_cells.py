"""What a netlist may contain never steers the terminal that shows it."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wiregen.findings.cells import cells, spread, visible, wrap

STEERS = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


@pytest.mark.parametrize(
    "raw, shown",
    [
        ("\x1b[31m", "<U+001B>[31m"),
        ("a\u202eb", "a<U+202E>b"),
        ("zero\u200bwidth", "zero<U+200B>width"),
        ("\u00a0", " "),
        ("mm²", "mm²"),
        ("\udcff", "<U+DCFF>"),
        ("line\r\nend", "line<U+000D><U+000A>end"),
    ],
)
def test_what_shows_nothing_is_spelled_out(raw: str, shown: str) -> None:
    assert visible(raw) == shown


@given(st.text())
def test_no_character_that_steers_a_terminal_survives(text: str) -> None:
    assert not STEERS & {unicodedata.category(c) for c in visible(text)}


def test_wide_letters_take_two_cells_and_accents_none() -> None:
    assert cells("電池") == 4
    assert cells("e\u0301") == 1
    assert cells("mm²") == 3


def test_a_tab_fills_up_to_the_next_stop() -> None:
    assert spread("\ta\tb") == [("    ", 4), ("a", 1), ("   ", 3), ("b", 1)]


@given(st.text(alphabet="ab 電\u0301\t\x1b"), st.integers(min_value=1, max_value=30))
def test_wrapping_loses_no_word_and_fills_no_line_too_far(text: str, width: int) -> None:
    lines = wrap(text, width, "", "")
    assert " ".join(lines).split() == visible(text).split()
    assert all(cells(line) <= width or " " not in line.strip() for line in lines)
