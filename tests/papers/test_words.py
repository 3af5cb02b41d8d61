"""What the papers say: order of commissioning, ends of conductors, the story; and every word from the catalogue."""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping
from itertools import pairwise
from pathlib import Path

import pytest

from tests.papers.test_folder import EXAMPLES, OFFICE, SHEET, every_example, from_text, made, paper, studied
from wiregen.circuit.study_json import as_json
from wiregen.papers import folder, texts
from wiregen.papers.document import Facts, Heading, Points, Table, Text
from wiregen.papers.texts import Texts
from wiregen.rules import check

DUAL = next(path for path in EXAMPLES if path.stem == "dual-battery")


def steps(path: Path) -> list[tuple[str, str]]:
    """What to do and what to expect, of all tables with numbered steps."""
    found = (block for block in paper(made(path), "commissioning").blocks if isinstance(block, Table))
    numbered = (table for table in found if table.columns[0].title == texts().say("commissioning.step"))
    return [(row[1].text, row[2].text) for table in numbered for row in table.rows]


def test_the_second_battery_comes_first_and_each_side_is_closed_outward() -> None:
    tick = texts().say("commissioning.no-spark")
    assert steps(DUAL) == [
        ("Put the positive leads on aux.+", ""),
        ("Put the negative leads on aux.-, last of all on this battery", ""),
        ("Measure at the posts: aux.+ to aux.-", "12.85 V"),
        ("Put in F2", tick),
        ("Put in F3", tick),
        ("Close Q1", ""),
        ("X2, still apart: measure at its live half, X2.a.+ to X2.a.-", "12.85 V"),
        ("Mate X2", ""),
        ("Put the positive leads on start.+", ""),
        ("Put the negative leads on start.-, last of all on this battery", ""),
        ("Measure at the posts: start.+ to start.-", "12.65 V"),
        ("Put in F1", tick),
        ("X1, still apart: measure at its live half, X1.a.+ to X1.a.-", "12.65 V"),
        ("Mate X1", ""),
        ("Set dcdc to the battery type", "agm"),
    ]


@every_example
def test_every_connector_is_measured_before_it_is_mated_and_every_fuse_goes_in_once(path: Path) -> None:
    job = studied(path).job
    said = [words for words, _ in steps(path)]
    for part in job.parts.values():
        if part.kind in ("connector", "plug", "socket"):
            (mated,) = (
                at for at, words in enumerate(said) if re.search(rf"^Mate .*(?<![\w.]){part.id}(?![\w.])", words)
            )
            assert "still apart: measure" in said[mated - 1]
        if part.kind in ("fuse", "breaker"):
            words = f"Close {part.id}" if part.kind == "breaker" else f"Put in {part.id}"
            words = f"Put in the fuses of {part.block}, one by one" if part.block else words
            assert said.count(words) == 1, part.id


@every_example
def test_a_battery_is_expected_at_the_open_circuit_voltage_that_the_study_takes(path: Path) -> None:
    """While leads go on nothing is drawn, whatever the operating cases have switched on."""
    assumed = {
        entry["subject"]: entry["value"]
        for entry in as_json(studied(path))["assumptions"]
        if entry["quantity"] == "open-circuit voltage at 100% charge"
    }
    found = dict(steps(path))
    batteries = [part.id for part in studied(path).job.parts.values() if part.kind == "battery"]
    assert batteries
    for id in batteries:
        volts = float(found[f"Measure at the posts: {id}.+ to {id}.-"].removesuffix(" V"))
        assert volts == pytest.approx(assumed[id], abs=0.0051)


@every_example
def test_engine_and_sun_come_after_the_batteries(path: Path) -> None:
    heads = [block.text for block in paper(made(path), "commissioning").blocks if isinstance(block, Heading)]
    order = [word for head in heads for word in ("Engine off", "Engine running", "Sun", "Taking") if word in head]
    assert order == sorted(order, key=("Engine off", "Engine running", "Sun", "Taking").index)
    assert [int(head.split()[0]) for head in heads] == list(range(4, 4 + len(heads)))


def test_taking_it_apart_is_the_reverse() -> None:
    (away,) = (block for block in paper(made(DUAL), "commissioning").blocks if isinstance(block, Points))
    first = [re.search(r"\b(start|aux)\b", item) for item in away.items[1:]]
    assert [found[1] for found in first if found] == ["start", "start", "aux", "aux"]
    assert "F1" in away.items[1] and "F2 and F3" in away.items[3]
    assert all("negative leads off" in item for item in (away.items[2], away.items[4]))


def test_ends_are_told_by_the_kind_of_part_and_what_the_terminal_takes() -> None:
    schedule = next(block for block in paper(made(DUAL), "schedule").blocks if isinstance(block, Table))
    ends = {row[0].text: (row[7].text, row[8].text) for row in schedule.rows}
    assert ends["R3"] == ("contact in cavity +", "ferrule; takes 4..16 mm²")
    assert ends["R5"] == ("ring terminal", "ring terminal")
    assert ends["R7"] == ("to suit the fuse holder", "ring terminal")
    assert ends["B5"] == ("contact in cavity -", "butt connector")
    assert ends["S1"] == ("comes fitted", "comes fitted")


@every_example
def test_margins_and_totals_follow_from_what_stands_beside_them(path: Path) -> None:
    schedule, cuts = (block for block in paper(made(path), "schedule").blocks if isinstance(block, Table))
    for row in schedule.rows:
        current, carries, margin = (row[at].number for at in (10, 12, 13))
        if current and carries:
            assert margin and margin.value == pytest.approx(100 * (1 - current.value / carries.value))
    bought = sum(row[2].number.value for row in cuts.rows if row[2].number)
    used = sum(row[4].number.value for row in cuts.rows if row[4].number)
    told = [float(each) for each in re.findall(r"\d+(?:\.\d+)?", cuts.note)]
    assert told == pytest.approx([bought, used, 100 * (1 - used / bought)], rel=0.006)


def test_the_story_names_the_way_of_the_current() -> None:
    words = [block.text for block in paper(made(DUAL), "cover").blocks if isinstance(block, Text)]
    assert words[0] == (
        "The engine starts from the start battery (start; 74 Ah flooded; engine bay). Also on board: the second battery"
        " (aux; 100 Ah AGM; load bed, under the hard cover)."
    )
    assert words[1].startswith("The battery charger (dcdc; 18 A; load bed, under the hard cover) takes its power from")
    way = ["R1 (10 mm², 150 mm)", "fuse F1 (40 A)", "R2 (10 mm², 3.3 m)", "connector pair X1", "R3 (10 mm², 300 mm)"]
    places = [words[1].index(each) for each in way]
    assert all(one < other for one, other in pairwise(places))


def test_names_keep_their_capital() -> None:
    found = from_text('job "J" { system 12 V }\nbattery b "GPS battery" 7 Ah agm\nload l "Ann\'s lamp" 1 A\n')
    words = " ".join(block.text for block in paper(found, "cover").blocks if isinstance(block, Text))
    assert "the GPS battery (b" in words and "ann's" not in words


MARK = "\u00a4"


def marked() -> Texts:
    def turned(said: object) -> object:
        return [MARK + str(each) for each in said] if isinstance(said, list) else MARK + str(said)

    words: Mapping[str, Mapping[str, object]] = {
        section: {key: turned(said) for key, said in entries.items()} for section, entries in texts().words.items()
    }
    return Texts("en", words)


@every_example
def test_no_word_of_the_papers_stands_outside_the_catalogue(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Read with every text of the catalogue marked, each heading, paragraph, point and title of a table has a mark."""
    monkeypatch.setattr(sys.modules["wiregen.papers.folder"], "texts_of", lambda language: marked())
    computed = studied(path)
    found = folder(computed, check(computed), [SHEET], rules=1, office=OFFICE)
    said: list[str] = [each.title for each in found.papers]
    for block in (block for each in found.papers for block in each.blocks):
        if isinstance(block, Text | Heading):
            said.append(block.text)
        elif isinstance(block, Points):
            said += block.items
        elif isinstance(block, Facts):
            said += [name for name, _ in block.pairs]
        elif isinstance(block, Table):
            said += [block.name, block.heading, block.note, *(column.title for column in block.columns)]
    unmarked = [words for words in said if words and MARK not in words]
    messages = {finding.message for finding in check(computed)}  # the rules' own words
    assert set(unmarked) <= messages
