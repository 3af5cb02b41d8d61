"""The plain layout: it never changes what a text says, keeps every comment, and is its own fixed point."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from strategies import damaged_texts, netlist_texts

from wiregen.findings import Source
from wiregen.language import format_text, parse
from wiregen.language.shape import shape

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").rglob("*.wnet"))


def plain(text: str) -> str:
    """The text in the plain layout; it must be wholly understood."""
    result, findings = format_text(Source("t.wnet", text))
    assert not [f for f in findings if f.lost], findings
    return result


@pytest.mark.parametrize(
    "text, wanted",
    [
        ("fuse F1 40A\n", "fuse F1 40 A\n"),
        ("a 8 mm² 2 mΩ 20 °C 5%", "a 8 mm2 2 mohm 20 degC 5 %\n"),
        ("a AWG 6 AWG2/0 3/8inch", "a 6 AWG 2/0 AWG 3/8 inch\n"),
        ("a 9 .. 16V 5 m ± 3 mm", "a 9..16 V 5 m +- 3 mm\n"),
        ("a −5 °C", "a -5 degC\n"),
        ("note “say so”", 'note "say so"\n'),
        ('note "a \\"b\\" \\\\ c"', 'note "a \\"b\\" \\\\ c"\n'),
        ("a--b --[ W1  red ,8 mm2 ] -- c", "a -- b --[W1 red, 8 mm2]-- c\n"),
        ("a {}\nb{c}\n", "a {}\nb { c }\n"),
        ("a{b\nc}", "a {\n    b\n    c\n}\n"),
        ("a { b { c\n } }, d", "a {\n    b {\n        c\n    }\n}, d\n"),
        ("1:10 A\n", "1: 10 A\n"),
        ("a,\n  b,\n", "a,\n    b\n"),
        ("a\n\n\n\nb", "a\n\nb\n"),
        ("\n\na {\n\n  b\n\n}\n\n", "a {\n    b\n}\n"),
        ("a # one\n   # two\nb", "a  # one\n# two\nb\n"),
        ("a.+ # why\n  --[W1]-- b\n # and\n --[W2]-- c", "a.+  # why\n    --[W1]-- b\n    # and\n    --[W2]-- c\n"),
        ("a {  # why\n b\n # last\n}", "a {  # why\n    b\n    # last\n}\n"),
        ("fuse F1   40A   strip\nfuse F100 40 A  strip\n", "fuse F1   40 A  strip\nfuse F100 40 A  strip\n"),
        ("a\r\nb\r", "a\nb\n"),
        ("", ""),
        ("# only", "# only\n"),
    ],
)
def test_the_plain_layout(text: str, wanted: str) -> None:
    assert plain(text) == wanted


@pytest.mark.parametrize(
    "text, wanted",
    [
        ("start.+ — [W1 red] — F1", "start.+ --[W1 red]-- F1\n"),
        ("a --- b", "a -- b\n"),
        ("a = 5 V; b (6 A)", "a 5 V\nb 6 A\n"),
        ("a 8 = mm2", "a 8 mm2\n"),
        ("a 0,3 m .5 m 9–16 V", "a 0.3 m 0.5 m 9..16 V\n"),
        ("note 'x'", 'note "x"\n'),
        ("x { 6 mm2: 50 A 10 mm2: 70 A }", "x { 6 mm2: 50 A, 10 mm2: 70 A }\n"),
    ],
)
def test_what_was_repaired_is_written_back_as_it_was_read(text: str, wanted: str) -> None:
    assert plain(text) == wanted


def test_a_text_that_was_not_wholly_understood_is_left_alone() -> None:
    text = "a  {\n b   c\n--[W1\n"
    result, findings = format_text(Source("t.wnet", text))
    assert result == text
    assert any(f.lost for f in findings)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_the_examples_stand_in_the_plain_layout(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert plain(text) == text


@given(netlist_texts())
def test_formatting_changes_nothing_of_what_a_sound_text_says(text: str) -> None:
    before, findings = parse(Source("t.wnet", text))
    assert not findings
    result = plain(text)
    after, findings = parse(Source("t.wnet", result))
    assert not findings
    assert shape(after) == shape(before)
    assert plain(result) == result


@given(netlist_texts())
def test_every_comment_is_kept_in_its_order(text: str) -> None:
    def comments(text: str) -> list[str]:
        quoted = r'"(?:[^"\\\n]|\\.)*"|[“„][^”]*”'
        return [found.rstrip() for found in re.findall(rf"{quoted}|(#[^\r\n]*)", text) if found]

    assert comments(plain(text)) == comments(text)


@settings(max_examples=300)
@given(damaged_texts())
def test_a_damaged_text_is_repaired_for_good_or_left_alone(text: str) -> None:
    result, findings = format_text(Source("t.wnet", text))
    if any(f.lost for f in findings):
        assert result == text
    else:
        again, findings = format_text(Source("t.wnet", result))
        assert (again, findings) == (result, ())
