"""The vocabulary table agrees with itself: every word that it leans on is there."""

from __future__ import annotations

from itertools import chain

from wiregen.language.quantities import WORKING_UNITS
from wiregen.model.vocabulary import (
    COLOURS,
    KINDS,
    MEANS,
    OTHER_COLOURS,
    RANGES,
    STATEMENTS,
    VOCABULARY,
    conductor_table,
    kind_table,
    statement_table,
    type_table,
)

SHAPES = {"count", "word", "name", "end", "text", "colour", "date", "any", "legs"}


def all_tables() -> list:  # type: ignore[type-arg]
    """Every table that a statement is read against."""
    kinds = [table(kind) for kind in KINDS for table in (kind_table, type_table)]
    return [*kinds, *(statement_table(word) for word in STATEMENTS), conductor_table()]


def test_every_option_of_a_shape_is_a_dimension_a_word_or_a_known_shape() -> None:
    for table in all_tables():
        for name, items in table.facts.items():
            for option in chain.from_iterable(item.options for item in items):
                assert option.startswith("=") or option in WORKING_UNITS or option in SHAPES or option == "conductor", (
                    name
                )
                assert option.startswith("=") or option in MEANS or option == "conductor", option


def test_no_bare_word_has_two_meanings_and_no_dimension_two_bare_facts() -> None:
    for kind in KINDS:
        row = KINDS[kind]
        words = [w for text in row["bare"].values() for w in options(text) if w.startswith("=")]
        dimensions = [w for text in row["bare"].values() for w in options(text) if not w.startswith("=")]
        assert len(words) == len(set(words)), kind
        assert len(dimensions) == len(set(dimensions)), kind


def options(shape: str) -> list[str]:
    """The options of a one-value shape, shared shapes spread out."""
    return [o for part in shape.split("|") for o in VOCABULARY["shapes"].get(part, part).split("|")]


def test_a_kinds_ends_hold_those_it_passes_and_its_contacts() -> None:
    for kind, row in KINDS.items():
        ends = set(row.get("ends", ()))
        assert set(row.get("pass", ())) <= ends, kind
        assert set(row.get("needs", ())) <= ends, kind
        for contact in row.get("contacts", ()):
            assert set(contact.split()[1:3]) <= ends, kind


def test_ranges_are_of_facts_that_exist() -> None:
    known = {name for table in all_tables() for name in table.facts}
    assert set(RANGES) <= known


def test_other_colours_lead_to_colours() -> None:
    assert set(OTHER_COLOURS.values()) <= COLOURS and not set(OTHER_COLOURS) & COLOURS


def test_groups_are_made_of_kinds() -> None:
    assert all(kind in KINDS for kinds in VOCABULARY["groups"].values() for kind in kinds)
