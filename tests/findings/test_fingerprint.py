"""A finding is known again when lines move, and is another one when its own line says something else."""

from hypothesis import given
from hypothesis import strategies as st

from wiregen.findings import Finding, Mark, Source, Span
from wiregen.findings.fingerprint import fingerprint, numbered


def at(text: str, word: str, **more: str) -> Finding:
    start = text.index(word)
    return Finding("a-rule", "danger", "m", Mark(Span(Source("a.wnet", text), start, start + len(word))), "R1", **more)


LINE = "start.+ --[R1 red 4 m]-- F1\n"


def test_lines_above_and_blanks_within_do_not_matter() -> None:
    moved = "# one\n\n   " + LINE.replace(" red ", "   red\t")
    assert fingerprint(at(moved, "R1")) == fingerprint(at(LINE, "R1"))


def test_a_line_that_says_something_else_is_another_finding() -> None:
    assert fingerprint(at(LINE.replace("4 m", "9 m"), "R1")) != fingerprint(at(LINE, "R1"))


def test_without_a_text_the_message_stands_in() -> None:
    one, other = Finding("a-rule", "danger", "m"), Finding("a-rule", "danger", "n")
    assert fingerprint(one) == fingerprint(Finding("a-rule", "advice", "m")) != fingerprint(other)


def test_like_findings_are_told_apart_in_any_order() -> None:
    text = LINE + LINE
    found = [at(text, "R1"), Finding("a-rule", "danger", "m", Mark(Span(Source("a.wnet", text), 30, 32)), "R1")]
    marks = [mark for _, mark in numbered(found)]
    assert marks == [mark for _, mark in numbered(reversed(found))]
    assert marks[1] == f"{marks[0]}:2"


@given(st.text(), st.text())
def test_any_text_has_a_fingerprint(message: str, subject: str) -> None:
    mark = fingerprint(Finding("r", "danger", message, subject=subject))
    assert len(mark) == 16 and int(mark, 16) >= 0
