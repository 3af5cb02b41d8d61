"""Mistakes of the text: each told once, in trade words, at its place; what can be read is read."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lark import Lark
from strategies import JUNK, damaged_texts

from wiregen.findings import Source
from wiregen.language import parse
from wiregen.language.limits import DEEPEST, LONGEST_LINE, MOST_MISTAKES
from wiregen.language.parser import OPTIONS, grammar_text
from wiregen.language.phrases import WORDS, expected
from wiregen.language.shape import shape
from wiregen.language.tree import Block, Core, File, Line, Phrase
from wiregen.model import read


def said(file: File | Block) -> str:
    """A tree in one line: `?` stands for what is missing."""
    return " | ".join(_line(line) for line in file.lines)


def _line(line: Line) -> str:
    text = f"{line.label.text}: " if line.label else ""
    for number, station in enumerate(line.path.stations if line.path else ()):
        if line.path and number:
            link = line.path.links[number - 1]
            text += f" -[{', '.join(map(_phrase, link.phrases))}]- " if isinstance(link, Core) else " -- "
        text += " ".join(value.text or "?" for value in station.values)
    return (
        ", ".join(filter(None, (text, *map(_phrase, line.phrases))))
        if line.path
        else text + ", ".join(map(_phrase, line.phrases))
    )


def _phrase(phrase: Phrase) -> str:
    text = " ".join(value.text or "?" for value in phrase.values)
    text = f"{phrase.label.text}: {text}" if phrase.label else text
    return f"{text} {{{said(phrase.block)}}}" if phrase.block else text


# text | the mistakes, `!` where something was lost, with line:column and what is told | what was kept
CASES = [
    ("start.+ --[W1 red] F1", ["1:18 ends with `]--`"], "start.+ -[W1 red]- F1"),
    ("start.+ --[W1 red]--", ["!1:18 the path stops after `]--`"], "start.+ -[W1 red]- ?"),
    ("start.+ -[W1 red]- F1", ["1:9 begins with `--[`", "1:17 ends with `]--`"], "start.+ -[W1 red]- F1"),
    ("start.+ --[W1 red]-> F1", ["1:18 ends with `]--`"], "start.+ -[W1 red]- F1"),
    ("start.+ [W1 red] F1", ["1:9 begins with `--[`", "1:16 ends with `]--`"], "start.+ -[W1 red]- F1"),
    ("start.+ --- F1", ["1:9 joined metal to metal with `--`"], "start.+ -- F1"),
    ("start.+ -> F1 --> F2", ["1:9 with `--`", "1:15 with `--`"], "start.+ -- F1 -- F2"),
    ("start.--[W4 black]-- J1.-", ["!1:8 one dash too few"], "start.- -[W4 black]- J1.-"),
    ("start. --[W4 black]-- J1.-", ["!1:6 after the dot"], "start -[W4 black]- J1.-"),
    ("a --[W1 red 5,2 m]-- b", ["1:13 decimal comma"], "a -[W1 red 5.2 m]- b"),
    ("load L 1,000 W", ["!1:8 thousands"], "load L 1.000 W"),
    ("a --[W1 red .5 m]-- b", ["1:13 read as 0.5 m"], "a -[W1 red 0.5 m]- b"),
    ("a --[W1 red = 8 mm2]-- b", ["1:13 equals sign"], "a -[W1 red 8 mm2]- b"),
    ("fuse F1 40A; fuse F2 30A", ["1:12 semicolon"], "fuse F1 40 A | fuse F2 30 A"),
    ("fuse F1 (40 A)", ["1:9 round brackets", "1:14 round brackets"], "fuse F1 40 A"),
    ('note F1 "Mount on the guard', ["!1:9 not closed on this line"], "note F1 Mount on the guard"),
    ("note F1 'Mount it'", ["1:9 double quotation marks"], "note F1 Mount it"),
    ('circuit c "Feed {\n  a -- b\n}', ["!1:11 not closed on this line"], "circuit c Feed {a -- b}"),
    ('a --[W1 "red 8 mm2]-- b', ["!1:9 not closed on this line"], "a -[W1 red 8 mm2]- b"),
    ("battery aux {\n  at tray\nfuse F1", ["!1:13 `{` is not closed"], "battery aux {at tray} | fuse F1"),
    ("a {\n  b {\n    c\n}\nd", ["!2:5 `{` is not closed"], "a {b {c}} | d"),
    ("battery aux }\nfuse F1", ["!1:13 nothing is open here"], "battery aux | fuse F1"),
    ("c {\n  a --[W1 red b\n  d -- e\n}", ["!2:5 not closed with `]--`"], "c {a -[W1 red b]- ? | d -- e}"),
    ("a --[W1 red #6 AWG]-- b", ["!1:3 not closed with `]--`"], "a -[W1 red]- ?"),
    ("a --[W1 red 8 mm2 -- b", ["1:19 `]` is missing"], "a -[W1 red 8 mm2]- b"),
    ("a --[W1 --[W2]-- b", ["!1:3 not closed with `]--`"], "a -[W1]- ? -[W2]- b"),
    ("circuit = feed {\n  a -- b\n}", ["1:9 equals sign"], "circuit feed {a -- b}"),
    ("-- F1 --[W1]-- J1.+", ["!1:1 nothing stands before `--`"], "? -- F1 -[W1]- J1.+"),
    ("a — [W1 red] — b — c", ["1:3 long dash", "1:12 long dash", "1:18 long dash"], "a -[W1 red]- b -- c"),
    ("x { 6 mm2: 50 A 10 mm2: 70 A }", ["1:17 comma is missing"], "x {6 mm2: 50 A, 10 mm2: 70 A}"),
    ("F1, W1 -- F2", ["!1:8 follows a fact"], "F1, W1 | ? -- F2"),
    ("a -- -- b", ["!1:3 a part is missing"], "a -- ? -- b"),
    ("W2 5.2 m +- m", ["!1:13 after `+-` stands a quantity"], "W2 5.2 m +- 0 m"),
    ("{ at tray }", ["!1:1 no word stands before this `{`"], "at tray"),
    ("poles +-", ["1:7 a space between them"], "poles + -"),
    ("fuse F1 {{ at tray }}", ["!1:10 no word stands before this `{`"], "fuse F1 {at tray}"),
    ("a -- b {\n c 5 V\n}\nd", ["!1:8 a path takes no braces"], "a -- b | c 5 V | d"),
    ("include <kits/feed.wnet>", ["1:9 double quotation marks"], "include kits/feed.wnet"),
    ("charger { max-charge: 20 A }", ["1:21 no colon is needed"], "charger {max-charge 20 A}"),
    ("a,, b, , c", ["1:3 a comma too many", "1:8 a comma too many"], "a, b, c"),
    ("place a { x } place b { y }", ["!1:15 on the same line"], "place a {x} | place b {y}"),
    ("1:\nfuse F1", ["!1:3 expected"], "1: ? | fuse F1"),
    ("1: --[P1]-- lamp D1", ["!1:4 nothing stands before `--[`"], "1: ? -[P1]- lamp D1"),
    ("input 9–16 V 9...16 V", ["1:7 range", "1:14 range"], "input 9..16 V 9..16 V"),
    ("ambient 45 ° C", ["1:9 read as 45 degC"], "ambient 45 degC"),
    ("max‑charge 5 A, poles + −", ["1:1 hyphen", "1:25 read as `-`"], "max-charge 5 A, poles + -"),
    ("a.– -- b", ["1:1 is a dash"], "a.- -- b"),
    (
        "a --{W1 red}-- b --(W2)-- c",
        ["1:3 with `--[`", "1:12 with `]--`", "1:18 with", "1:23 with"],
        "a -[W1 red]- b -[W2]- c",
    ),
    ("x { a } -- b", ["!1:9 follows a fact"], "x {a} | ? -- b"),
    ('stage 1: "Batteries", start', ["1:8 no colon is needed"], "stage 1 Batteries, start"),
    ('circuit x "y"\n{\n  a -- b\n}', ["2:1 a line of its own"], "circuit x y {a -- b}"),
    ("circuit x  # why\n{\n  a -- b\n}", ["!2:1 a line of its own"], "circuit x {a -- b}"),
    ("a --\n   b --[W1]--\n  c", ["!1:3 a line ends with `--`", "!2:11 a line ends with `]--`"], "a -- b -[W1]- c"),
    ("a --\nb", ["!1:3 the path stops after `--`"], "a -- ? | b"),
    ("a --[W1 red\n 8 mm2]-- b", ["!1:3 goes on in the next line"], "a -[W1 red, 8 mm2]- b"),
    ("run 5 m +/- 0.3 m", ["1:9 written with `+-`"], "run 5 m +- 0.3 m"),
    ("a // why\nb", ["!1:3 a comment begins with `#`"], "a | b"),
    ("place tray [wet], at x", ["1:12 no square brackets"], "place tray wet, at x"),
    ("a red] b", ["!1:6 nothing is open here for this `]`"], "a red b"),
    ("a --[[W1 red]]-- b", ["1:3 one bracket", "1:13 one bracket"], "a -[W1 red]- b"),
    ("start.+ == F1", ["!1:9 joined with `--`"], "start.+ -- F1"),
    ("ambient 45°", ["!1:11 degree sign"], "ambient 45"),
    ("a @@ b & c", ["!1:3 means nothing", "!1:8 means nothing"], "a b c"),
    ("a \x07 b", ["!1:3 U+0007"], "a b"),
    ("a 1e999 A", ["!1:3 too large"], "a 1e999 A"),
]


@pytest.mark.parametrize("text, told, kept", CASES, ids=[case[0] for case in CASES])
def test_every_mistake_is_told_where_it_stands_and_the_rest_is_kept(text: str, told: list[str], kept: str) -> None:
    source = Source("t.wnet", f"{text}\nfuse LAST 5 A\n")
    tree, findings = parse(source)
    found = []
    for finding, wanted in zip(findings, told, strict=True):
        assert finding.at is not None
        line, column = source.position(finding.at.span.start)
        found.append(f"{'!' if finding.lost else ''}{line}:{column} {finding.message}")
        place, _, words = wanted.partition(" ")
        assert found[-1].startswith(f"{place} ") and words in finding.message, (found[-1], wanted)
    assert said(tree) == f"{kept} | fuse LAST 5 A"
    assert tree.complete == (not any(f.lost for f in findings))


def test_all_mistakes_are_told_in_one_run() -> None:
    text = "\n".join(case[0] for case in CASES if "{" not in case[0] and not case[0].startswith("--")) + "\n"
    wanted = sum(len(case[1]) for case in CASES if "{" not in case[0] and not case[0].startswith("--"))
    _, findings = parse(Source("t.wnet", text))
    assert len(findings) == wanted


def test_findings_come_in_the_order_of_the_text() -> None:
    _, findings = parse(Source("t.wnet", "a } 5/0 m\nb = 5\n--[ @\nc {"))
    starts = [finding.at.span.start for finding in findings if finding.at]
    assert starts == sorted(starts) and len(starts) >= 5


def test_a_gauge_behind_a_hash_gets_its_remedy() -> None:
    _, (finding,) = parse(Source("t.wnet", "a --[W1 red #6 AWG]-- b"))
    assert "6 AWG" in finding.remedy and "comment" in finding.reason


def test_a_mark_for_inches_gets_its_remedy() -> None:
    _, (finding,) = parse(Source("t.wnet", 'a --[W9 red 20"]-- b'))
    assert "20 inch" in finding.remedy


@pytest.mark.parametrize("mark", ["'", "′", "’"])
def test_a_mark_for_feet_gets_its_remedy(mark: str) -> None:
    _, (finding,) = parse(Source("t.wnet", f"a --[W9 red 6.5{mark}]-- b"))
    assert finding.remedy == "for feet write `6.5 ft`"


@pytest.mark.parametrize(
    "text", ["{" * 9_000, "{\n" * 10_000, "a {\n" * 10_000, "place a {\n" * 10_000 + "}\n" * 9_000]
)
def test_ten_thousand_levels_are_one_finding_of_the_whole_reading(text: str) -> None:
    _, findings = read("t.wnet", text=text)
    assert ["nested deeper" in finding.message for finding in findings] == [True]


@pytest.mark.parametrize("deep", [DEEPEST + 1, 10_000])
@pytest.mark.parametrize("closed", [True, False])
def test_braces_nested_too_deep_are_one_finding(deep: int, closed: bool) -> None:
    text = "a {\n" * deep + ("}\n" * deep if closed else "") + ("fuse F1 40 A\n" if closed else "")
    tree, findings = parse(Source("t.wnet", text))
    (finding,) = findings
    assert finding.lost and "nested deeper" in finding.message
    assert finding.at is not None and finding.at.span.source.position(finding.at.span.start) == (DEEPEST + 1, 3)
    if closed:
        assert tree.lines[-1].span.text == "fuse F1 40 A"


def test_braces_nested_as_deep_as_allowed_are_read() -> None:
    tree, findings = parse(Source("t.wnet", "a { " * DEEPEST + "}" * DEEPEST))
    assert tree.complete and not findings


def test_no_more_mistakes_are_told_than_anyone_can_read() -> None:
    _, findings = parse(Source("t.wnet", "a = 5 V\n" * (MOST_MISTAKES * 3)))
    assert len(findings) == MOST_MISTAKES + 1
    assert "was not read" in findings[-1].message and findings[-1].lost
    _, findings = parse(Source("t.wnet", "a 5/0 m\n" * (MOST_MISTAKES * 3)))
    assert len(findings) == MOST_MISTAKES + 1
    assert "not told" in findings[-1].message and findings[-1].lost


def test_every_token_of_the_grammar_has_words() -> None:
    grammar = grammar_text()
    assert grammar is not None
    machine = Lark(grammar, **OPTIONS)
    tokens = {terminal.name for terminal in machine.terminals} - set(machine.ignore_tokens)
    assert tokens | {"$END"} == set(WORDS)


@pytest.mark.parametrize("text", [case[0] for case in CASES])
def test_no_symbol_of_the_grammar_is_told(text: str) -> None:
    names = {word.strip("_") for word in WORDS} | {"_NL", "phrase:", "__", "Token"}
    _, findings = parse(Source("t.wnet", text))
    for finding in findings:
        for piece in (finding.message, finding.reason, finding.remedy, finding.at.words if finding.at else ""):
            assert not names & set(re.findall(r"[\w$:]+", piece)), piece


def test_what_is_expected_is_told_in_words() -> None:
    assert expected(["_COMMA", "CLOSE"]) == "a comma or `]--`"
    assert expected(["$END", "_NL"]) == "the end of the line"
    assert expected([*WORDS]).startswith("a word or a quantity, ")


@settings(max_examples=300)
@given(st.one_of(damaged_texts(), st.text(max_size=60), st.lists(st.sampled_from(JUNK), max_size=30).map(" ".join)))
def test_any_text_is_read(text: str) -> None:
    tree, findings = parse(Source("t.wnet", text))
    assert tree.complete == (not any(finding.lost for finding in findings))
    for finding in findings:
        assert finding.rule == "netlist-mistake" and finding.message and finding.at
        assert 0 <= finding.at.span.start <= finding.at.span.end <= len(text)
    again, _ = parse(Source("t.wnet", text))
    assert shape(again) == shape(tree)


def test_a_line_longer_than_anybody_writes_is_refused_at_its_place() -> None:
    """One line of a megabyte once kept the reader, the formatter and the excerpts busy for minutes."""
    sound = "battery start 70 Ah\n# " + "x" * (LONGEST_LINE - 2)
    assert parse(Source("t.wnet", sound))[1] == ()
    tree, (finding,) = parse(Source("t.wnet", sound + "x\nfuse F1 40 A\n"))
    assert not tree.complete and finding.lost and finding.at is not None
    assert finding.at.span.source.position(finding.at.span.start) == (2, 1)
