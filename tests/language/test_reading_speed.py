"""Reading is fast, on sound text and on hostile text."""

from __future__ import annotations

import time

import pytest

from wiregen.findings import Source
from wiregen.language import format_text, parse

# Pieces that, said over and over, would make a careless pattern or recovery take time by the square of the length.
PIECES = (
    *(
        "a",
        "a ",
        "a-",
        "a.",
        "a.a.",
        "a--",
        "a..",
        "-",
        "--",
        "-- ",
        "--[",
        "[",
        "[ ",
        "]",
        "] ",
        "]--",
        "{",
        "}",
        "{}",
    ),
    *("a {\n", "a { ", "a{a}\n", ",", ", ", ",1", "1,", "1 ", "1.", "1.1.", "1e", "1..", "5 m ", "5 m\n", "5 m +- "),
    *('"', '"\\"', '\\"', "\\", '"a', '"a"', "'", "'a", "`", "«", "«a", "»", "“", "”", "„", "<", "<a", "<.", "<./"),
    *("<./>", "#", "\n", "\n\n", "\r", "\r\n", " \n", "\t\n", "\xa0\n", " #\n", "\n ", "\n--", "\n --", "\n--[a]"),
    *("—", "— ", "a—", "a‑", "a–", "‑", "−", "−1", "=", "=>", "= [", "(", ";", "; ", "a;", "$", "$a", "\0", "\ufeff"),
    *("é", "°", "5 °", "5 °C ", "5 ° C ", "AWG", "AWG ", "AWG 6 ", "1/", "1/1", "a/", "a/b", "a/b ", "+", "+-", "+ -"),
    *("± ", ":", "1:", "a:", "1: a\n", "a: ", "%", "5 %", "…", "1…", "1…2", "1–2 ", ".5 ", ".5,", "\u200b", "1\u200b"),
    *("  x", "a,\n", "a,\n--", "a --[b]-- c\n", "--[a]-- b ", "a -- -- ", "a { 1: 2 3: 4 }\n", '"]--', '"  ] ', "🚐"),
)

BEFORE = ("", "a --[")


@pytest.mark.parametrize("piece", PIECES)
def test_time_grows_with_the_length_only(piece: str) -> None:
    """10,000 characters of anything are read in a moment; what took the square of the length would take far longer."""
    for before in BEFORE:
        text = (before + piece * (10_000 // len(piece)))[:10_000]
        start = time.process_time()
        parse(Source("t.wnet", text))
        assert time.process_time() - start < 2


@pytest.mark.parametrize("piece", PIECES[::7])
def test_formatting_takes_no_longer_by_the_square(piece: str) -> None:
    text = piece * (10_000 // len(piece))
    start = time.process_time()
    format_text(Source("t.wnet", text))
    assert time.process_time() - start < 4


@pytest.mark.long
@pytest.mark.parametrize("piece", PIECES)
def test_a_megabyte_of_anything_is_read_within_ten_seconds(piece: str) -> None:
    for before in BEFORE:
        text = (before + piece * (1_000_000 // len(piece)))[:999_998] + "\n)"
        start = time.process_time()
        parse(Source("t.wnet", text))
        assert time.process_time() - start < 10, before


@pytest.mark.benchmark
def test_ten_thousand_statements_a_second() -> None:
    line = "start.+ --[W1 red 10 mm2 0.2 m, via bonnet]-- F1\nbattery aux 100 Ah agm, at tray, max-charge 20 A\n"
    text = line * 2500
    parse(Source("t.wnet", line))
    start = time.process_time()
    parse(Source("t.wnet", text))
    assert 5000 / (time.process_time() - start) > 10_000
