"""A finding as the user sees it (style guide)."""

import time

from hypothesis import given
from hypothesis import strategies as st

from wiregen.findings import NOTICE, Acceptance, Finding, Mark, Source, Span, Use, mistake
from wiregen.findings.cells import cells
from wiregen.findings.text import Style, findings_text, report_text, summary

PUMP = Source(
    "pump.wnet",
    'job "Pump"\n\n\nfuse F1 30 A\nstart.+ --[red 6 mm2 150 mm]-- F1 --[W2 red 1.5 mm2 4 m]-- pump.+\n',
)


def span(source: Source, words: str) -> Span:
    start = source.text.index(words)
    return Span(source, start, start + len(words))


OVERSIZED = Finding(
    "oversized-fuse",
    "danger",
    "F1 lets 30 A into W2, which can carry 18 A",
    at=Mark(span(PUMP, "1.5 mm2"), "carries 18 A"),
    subject="W2",
    marks=(Mark(span(PUMP, "30 A"), "does not open below this"),),
    reason="an overload between 18 A and 30 A heats W2 while F1 stays closed",
    remedy="fit F1 at 15 A or less, or size W2 for 30 A",
    basis="IEC 60364-4-43:2008, 433.1 (In <= Iz)",
)

AS_SEEN = """\
pump.wnet 5:45  danger  oversized-fuse
  F1 lets 30 A into W2, which can carry 18 A
    5   start.+ --[red 6 mm2 150 mm]-- F1 --[W2 red 1.5 mm2 4 m]-- pump.+
                                                    ^~~~~~~ carries 18 A
    4   fuse F1 30 A
                ~~~~ does not open below this
  why    an overload between 18 A and 30 A heats W2 while F1 stays closed
  fix    fit F1 at 15 A or less, or size W2 for 30 A
  basis  IEC 60364-4-43:2008, 433.1 (In <= Iz)

"""


def test_a_finding_shows_place_message_both_excerpts_and_why() -> None:
    assert findings_text([OVERSIZED]) == AS_SEEN


def test_two_marks_on_one_line_share_its_excerpt() -> None:
    both = Finding("r", "danger", "m", Mark(span(PUMP, "W2"), "here"), marks=(Mark(span(PUMP, "F1 --["), "and here"),))
    assert findings_text([both]).count("start.+ --[") == 1
    assert findings_text([both]).count("~") == 1 + len("F1 --[")


def test_carets_stand_under_wide_letters_after_tabs_and_accents() -> None:
    source = Source("a.wnet", "\t電池 e\u0301 bad\n")
    text = findings_text([mistake("m", span(source, "bad"))])
    line, carets = text.split("\n")[2:4]
    assert cells(line[: line.index("bad")]) == carets.index("^")
    assert carets.strip() == "^~~"


def test_a_long_line_is_cut_around_its_mark() -> None:
    source = Source("a.wnet", "x" * 500 + " bad " + "y" * 500)
    text = findings_text([mistake("m", span(source, "bad"))], Style(60))
    line, carets = text.split("\n")[2:4]
    assert cells(line) <= 60
    assert line[carets.index("^") :].startswith("bad")
    assert line.strip().split("   ")[1].startswith("...x") and line.endswith("...")


def test_a_mark_over_several_lines_ends_with_its_first() -> None:
    source = Source("a.wnet", "one {\n two\n}\n")
    assert "\n            ^\n" in findings_text([mistake("m", Span(source, 4, 13))])


def test_a_mark_at_the_very_end_of_a_text_has_a_caret_too() -> None:
    source = Source("a.wnet", "one {")
    assert "\n             ^ here\n" in findings_text([mistake("m", Span(source, 5, 5), words="here")])


def test_words_that_do_not_fit_beside_the_caret_stand_below_it() -> None:
    text = findings_text([mistake("m", span(PUMP, "pump.+"), words="word " * 20)], Style(60))
    assert all(cells(line) <= 60 for line in text.split("\n"))
    assert "^~~~~~\n        word word" in text


def test_a_netlist_cannot_send_escape_sequences_to_the_terminal() -> None:
    source = Source("a\x1b[2J.wnet", 'fuse F1 "\x1b]0;owned\x07\u202e" 30 A\n')
    bad = Finding("r", "danger", "\x1b[2J says \u202e", Mark(span(source, "30 A"), "\x1b"), reason="\x9b", remedy="\r")
    out = report_text([source.path], [bad], [source.path])
    assert not {"\x1b", "\x07", "\u202e", "\x9b", "\r"} & set(out)
    assert "<U+001B>]0;owned<U+0007><U+202E>" in out


def test_colour_is_only_for_severity_and_carets_and_only_when_asked() -> None:
    assert "\x1b" not in findings_text([OVERSIZED], Style(100, False))
    coloured = findings_text([OVERSIZED], Style(100, True))
    assert "\x1b[1;31mdanger\x1b[0m" in coloured
    assert coloured.replace("\x1b[1;31m", "").replace("\x1b[0m", "") == AS_SEEN


def test_a_kit_tells_where_it_was_used() -> None:
    kit = Source("kits/feed.wnet", "fuse F <rating> strip\n")
    use = Use(Span(PUMP, PUMP.text.index("fuse F1"), PUMP.text.index("fuse F1") + 7), "F1")
    text = findings_text([Finding("r", "warning", "m", Mark(span(kit, "<rating>")), through=(use,))])
    assert "kits/feed.wnet 1:8  warning  r\n" in text
    assert "  kit    F1, used at pump.wnet 4:1\n" in text


def test_a_mark_in_another_file_is_named() -> None:
    other = Source("b.wnet", "fuse F1 30 A\n")
    text = findings_text([Finding("r", "danger", "m", Mark(span(PUMP, "W2")), marks=(Mark(span(other, "30 A")),))])
    assert "\n    b.wnet\n    1   fuse F1 30 A\n" in text


def test_a_file_that_is_not_there_has_no_line() -> None:
    assert findings_text([mistake("there is no such file", None, path="x.wnet")]).startswith(
        "x.wnet  danger  netlist-mistake\n  there is no such file\n"
    )


def test_an_accepted_finding_gives_the_reason_and_is_not_counted_with_the_others() -> None:
    accepted = Finding("r", "danger", "m", Mark(span(PUMP, "W2")), accepted=Acceptance("tested", "JK", "2027-03-01"))
    text = report_text(["pump.wnet"], [accepted, OVERSIZED])
    assert "  because tested, by JK, until 2027-03-01\n" in text
    assert "\npump.wnet: 1 danger, 1 accepted\n" in text


def test_the_report_ends_with_the_notice_even_where_nothing_was_found() -> None:
    text = report_text(["pump.wnet"], [])
    assert text.startswith("pump.wnet: no findings\n")
    assert " ".join(text.split("\n", 1)[1].split()) == NOTICE


def test_the_report_says_that_rules_were_not_run_on_what_could_not_be_read() -> None:
    assert "could not be wholly read, so the rules were not run" in report_text(["a"], [mistake("m", None)], ["a"])


def test_the_summary_counts_in_plain_words() -> None:
    advice = Finding("r", "advice", "m")
    assert summary(["a", "b"], [OVERSIZED, OVERSIZED, advice]) == "2 files: 2 dangers, 1 piece of advice"


@given(
    st.text(max_size=200),
    st.integers(0, 200),
    st.integers(0, 200),
    st.text(max_size=30),
    st.integers(min_value=40, max_value=120),
)
def test_any_text_any_place_any_width_can_be_shown(text: str, start: int, end: int, words: str, width: int) -> None:
    start, end = min(start, len(text)), min(max(start, end), len(text))
    out = findings_text([mistake(words, Span(Source("a", text), start, end), words=words)], Style(width))
    assert "^" in out


def test_a_line_as_long_as_a_whole_text_is_shown_as_fast_as_any() -> None:
    source = Source("a", "a = " * 250_000)
    findings = [mistake("m", Span(source, at, at + 1)) for at in range(400_002, 400_802, 4)]
    start = time.process_time()
    out = findings_text(findings, Style(80))
    assert time.process_time() - start < 5
    assert out.count("^") == len(findings)
