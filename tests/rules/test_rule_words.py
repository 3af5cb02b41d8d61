"""Numbers, names and remedies as rules write them, and the pages that `explain` and the reference show."""

from __future__ import annotations

import re
from functools import cache
from importlib import import_module
from pathlib import Path

import pytest
from rule_cases import standard, studied

from wiregen.findings import NOTICE, Mark, Source, Span
from wiregen.rules import explain, pages, reference
from wiregen.rules.explain import SECTIONS, severity, unknown
from wiregen.rules.fixes import change_places, put
from wiregen.rules.ratings import number_below
from wiregen.rules.register import JUDGING, NAMES, close_names, module_name
from wiregen.rules.unnamed import name_in, spoken
from wiregen.rules.words import amps, apart, apart_metres, beyond, clearly_more, figure, listed, metres, percent, volts

PAGES = Path(__file__).resolve().parents[2] / "examples" / "rules"


# ---------------------------------------------------------------- numbers


@pytest.mark.parametrize(
    ("value", "words"),
    [(0, "0"), (float("nan"), "?"), (0.2, "0.2"), (27.44, "27.4"), (999.4, "999"), (999.6, "1000"), (1000, "1000"),
     (1234.5, "1234"), (-1000, "-1000"), (-27.44, "-27.4"), (0.00001234, "0.000012"), (0.0001, "0.0001"),
     (-1e-9, "0"), (0.4e-6, "0"), (0.6e-6, "0.000001")],
)  # fmt: skip
def test_a_figure_has_three_digits_and_no_exponent(value: float, words: str) -> None:
    assert figure(value) == words


def test_units_are_those_that_the_trade_would_use() -> None:
    assert (amps(27.44), volts(0.0999), volts(0.1), volts(-0.05)) == ("27.4 A", "99.9 mV", "0.1 V", "-50 mV")
    assert (metres(0.999), metres(1), metres(-0.5), percent(0.0333)) == ("999 mm", "1 m", "-500 mm", "3.33 %")


def test_two_numbers_get_as_many_digits_as_it_takes_to_tell_them_apart() -> None:
    assert apart(12.34, 56.78) == ("12.3", "56.8")
    assert apart(12.31, 12.34) == ("12.31", "12.34")
    assert apart(1234.0, 5678.0) == ("1234", "5678")
    assert apart(1.00000001, 1.0) == ("1.00000001", "1")
    assert apart(5.0, 5.0) == ("5", "5")


def test_two_lengths_too() -> None:
    assert apart_metres(0.15, 0.2) == ("150 mm", "200 mm")
    assert apart_metres(0.20004, 0.2) == ("200.04 mm", "200 mm")
    assert apart_metres(0.99996, 1.0) == ("1000 mm", "1 m")
    assert apart_metres(1.2004, 1.2) == ("1.2004 m", "1.2 m")
    assert apart_metres(1.0004, 1.0) == ("1.0004 m", "1 m")


def test_lists_read_as_sentences() -> None:
    assert [listed(""), listed("a"), listed("ab"), listed("abc", "or")] == ["", "a", "a and b", "a, b or c"]


def test_exactly_at_a_limit_is_within_it_and_noise_does_not_decide() -> None:
    assert not beyond(3.0, 3.0)
    assert not beyond(3.0 * (1 + 5e-10), 3.0)
    assert beyond(3.0 * (1 + 2e-9), 3.0)
    assert not clearly_more(1 + 5e-7, 1.0) and clearly_more(1 + 2e-6, 1.0) and clearly_more(-1.0, -1.1)


# ---------------------------------------------------------------- names and edits

TEXT = """
fuse F9 20 A cartridge, volts 58 V, breaks 10 kA
type quick is fuse cartridge, volts 58 V, breaks 10 kA, 10 A
quick F8
cable C1 twin 2.5 mm2 3 m, cores red black
circuit leads "Leads", each 4 mm2 {
    start.+ -- F9 --[W1 red 2 m]-- pump --[black 2 m]-- start.-
    pump.- --[black 3 m]-- start.-
    F9.out -- F8 --[W2 red 1.5 mm2 2 m]-- lamp1.+
    F8.out --[W3 red]-- lamp1.+
}
lamp1.- --[C1.black]-- start.-
"""
JOB = studied(standard(TEXT)).job


def test_a_conductor_without_a_name_is_spoken_of_by_its_ends() -> None:
    one, other = [c for c in JOB.conductors.values() if not c.named]
    assert [spoken(one), spoken(other), spoken(JOB.conductors["W1"])] == [
        "pump.- to start.-",
        "pump.- to start.- 2",
        "W1",
    ]
    assert [name_in(one), name_in(JOB.conductors["W1"])] == ["", "W1 "]


def test_an_edit_stands_where_the_value_was_said_and_nowhere_where_it_stands_for_others() -> None:
    wires, parts = JOB.conductors, JOB.parts
    edited = [(e.span.text, e.text) for e in put([wires["W2"]], "size", "6 mm2")]
    assert edited == [("1.5 mm2", "6 mm2")]
    edited = [(e.span.text, e.text) for e in put([wires["W1"], wires["W2"]], "size", "6 mm2")]
    assert edited == [("2 m", "6 mm2 2 m"), ("1.5 mm2", "6 mm2")], "what has its size from `each` gets its own"
    assert put([wires["W3"]], "size", "6 mm2") == (), "no length to write it before"
    assert put([wires["W2"], wires["W3"]], "size", "6 mm2") == (), "all or none"
    assert put([wires["C1.black"]], "size", "6 mm2") == (), "the cable's size is that of its other core too"
    assert put([wires["W2"]], "size", None) == put([wires["W2"]], "length", "") == ()
    assert put([wires["W2"]], "in", "sheath") == (), "a fact that is not said"
    assert [e.text for e in put([parts["F9"]], "rating", "15 A")] == ["15 A"]
    assert put([parts["F8"]], "rating", "15 A") == (), "a type's rating is that of all of its kind"


def test_two_words_change_places_in_one_text_only() -> None:
    source, other = Source("a", "W1 W2"), Source("b", "W1 W2")
    one, two = Mark(Span(source, 0, 2)), Mark(Span(source, 3, 5))
    assert [(e.span.start, e.text) for e in change_places(one, two)] == [(0, "W2"), (3, "W1")]
    assert change_places(one, one) == change_places(one, Mark(Span(other, 3, 5))) == ()
    nothing = Mark(Span(source, 2, 2))
    assert change_places(one, nothing) == change_places(nothing, two) == ()


def test_the_next_smaller_rating_is_one_that_is_sold() -> None:
    study = studied(standard(TEXT))
    assert number_below(study, "F9", 14.9) == 10
    assert number_below(study, "F9", 15.0) == 15


# ---------------------------------------------------------------- pages


def as_printed(rule: str) -> str:
    """A rule's docstring, laid out as `explain` prints it."""
    doc = (import_module(module_name(rule)).__doc__ or "").strip() + "\n"
    bad = f"  ({import_module(module_name(rule)).check.severity})" if rule in JUDGING else ""
    first, rest = doc.split("\n", 1)
    return first + bad + "\n" + re.sub(rf"(?m)\n*^({'|'.join(SECTIONS)})$", r"\n\n\1", rest).removeprefix("\n")


@pytest.mark.parametrize("rule", NAMES)
def test_explain_prints_the_docstring_with_its_severity(rule: str) -> None:
    assert explain(rule) == as_printed(rule)


def test_what_pages_tell_of_a_rule() -> None:
    found = {page.name: page for page in pages()}
    assert list(found) == sorted(NAMES)
    page = found["loose-end"]
    assert page.text == explain("loose-end") and page.markdown.startswith(f"# loose-end\n\n{page.short}\n\nSeverity: ")
    assert page.severity == severity("loose-end") == import_module("wiregen.rules.loose_end").check.severity
    assert [severity(name) for name in ("missing-data", "rule-failure", "stale-acceptance", "kit-changed")] == [
        "advice",
        "danger",
        "warning",
        "warning",
    ]


@cache
def made() -> dict[str, str]:
    return reference()


@pytest.mark.parametrize("name", ["README.md", *(f"{name}.md" for name in NAMES)])
def test_the_reference_beside_the_examples_is_up_to_date(name: str) -> None:
    assert (PAGES / name).read_text(encoding="utf-8") == made()[name], "python -m wiregen.build"


def test_a_page_of_the_reference_word_for_word() -> None:
    short = (import_module("wiregen.rules.rule_failure").__doc__ or "").partition("\n")[0].partition(": ")[2]
    assert reference()["rule-failure.md"] == (
        f"# rule-failure\n\n{short}\n\n"
        "## Hazard\n\nWhat the failed rule looks for has not been looked for.\n\n"
        "## Test\n\nSaid by the engine when a rule stops; the other rules go on.\n\n"
        "## Basis\n\ncommon practice: a check that did not run is not a check that passed\n\n"
        "## Bad\n\n```text\n(no netlist is meant to cause this)\n```\n\n"
        "## Good\n\n```text\n(any netlist)\n```\n\n"
        "Made by `python -m wiregen.build` from the rule modules. Do not edit. [All rules](README.md)\n"
    )
    index = reference()["README.md"]
    assert index.startswith("# The rules\n\nMade by `python -m wiregen.build` from the rule modules. Do not edit.\n\n`")
    assert f"\n\n{NOTICE}\n\n| rule | severity | what it says |\n|---|---|---|\n| [" in index


def test_a_name_that_is_no_rule() -> None:
    assert unknown("zzzz") == "there is no rule zzzz"
    assert unknown("loose-ends") == "there is no rule loose-ends; did you mean loose-end?"
    assert unknown("solar-over") == (
        "there is no rule solar-over; did you mean solar-overvoltage or solar-overcurrent?"
    )


def test_close_names() -> None:
    assert close_names(" Loose_End ") == ("loose-end",) == close_names("loose end") == close_names("LOOSE-END")
    assert len(close_names("missing")) <= 3
    assert close_names("missing-dat") == ("missing-data",)
    assert close_names("switch-overcurrent") != ()
    assert close_names("undersize") == ("undersized-conductor", "undersized-return", "undersized-fuse")
