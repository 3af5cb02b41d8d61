"""Readable by everyone: on a dark page, in grey print, by a screen reader; and the changes between two revisions."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from contract import breaches
from samples import small
from test_sheets import contrast

from wiregen.circuit.run import study
from wiregen.drawing import Options, draw, draw_job, rebuild, with_changes
from wiregen.drawing.colours import PRINT, UNKNOWN, light
from wiregen.drawing.dark import INK, PAPER, SWAPPED
from wiregen.drawing.furniture import BADGES
from wiregen.drawing.sheet import draw_run
from wiregen.layout.geometry import Run
from wiregen.layout.words import LETTERS
from wiregen.model import read
from wiregen.model.compare import compare

EXAMPLES = Path(__file__).parents[2] / "examples"
VET = (EXAMPLES / "dual-battery.wnet").read_text(encoding="utf-8")


def test_lettering_on_a_dark_page_stands_out() -> None:
    svg = draw(small(), "dark")[0]
    assert f'<svg fill="{INK}" ' in svg
    assert re.findall(r'<rect class="paper"[^>]*fill="(#\w+)"', svg) == [PAPER]
    badges = {SWAPPED.get(digits, digits) for _, _, digits in BADGES.values()}
    fills = set(re.findall(r'<text[^>]* fill="(#\w+)"', svg)) - badges
    for ink in fills | {INK}:
        assert contrast(ink, PAPER) >= 7, ink  # WCAG 2.1, 1.4.6
    for severity, (fill, edge, digits) in BADGES.items():
        assert contrast(SWAPPED.get(fill, fill), SWAPPED.get(digits, digits)) >= 4.5, severity  # WCAG 2.1, 1.4.3
        assert contrast(SWAPPED.get(edge, edge), PAPER) >= 3, severity  # WCAG 2.1, 1.4.11


def test_every_insulation_colour_is_seen_on_either_page() -> None:
    # the colour itself or its edge, WCAG 2.1, 1.4.11: black on a dark page as well as white on paper
    for page, edge in (("#ffffff", "#222222"), (PAPER, SWAPPED["#222"])):
        for name, colour in {**PRINT, "": UNKNOWN}.items():
            assert max(contrast(colour, page), contrast(edge, page)) >= 3, (name, page)
    svg = draw(small(), "dark")[0]
    assert set(re.findall(r'<polyline class="edge"[^>]*stroke="(#\w+)"', svg)) == {SWAPPED["#222"]}
    assert PRINT["black"] in svg  # insulation keeps its colour


def test_light_insulation_has_a_bolder_edge() -> None:
    """So that it is seen in grey print, where it is hardly darker than the paper."""
    assert [name for name in PRINT if light(PRINT[name])] == ["yellow", "light-blue", "white", "pink", "silver"]
    ends = (0.0, 0.0), (9.0, 0.0)
    widths = {}
    for colour in ("white", "black"):
        geometry = small()._replace(colours={"W": (colour,)})
        found = re.findall(r'stroke-width="([\d.]+)"', draw_run(geometry, Run("conductor", "W", "a", "b", ends)))
        widths[colour] = float(found[0]) - float(found[1])
    assert (
        widths["white"] >= 0.5 > widths["black"]
    )  # both edges; thin lines are 0.25 mm at least (ISO 128, from memory)


def test_a_dark_page_says_the_same() -> None:
    white, black = draw(small()), draw(small(), "dark")
    assert rebuild(white) == rebuild(black)
    assert breaches(black[0]) == []
    assert set(SWAPPED).isdisjoint(re.findall(r'(?:fill|stroke)="(#\w+)"', black[0]))


def test_colour_is_never_alone() -> None:
    """Every colour that can be drawn has letters, so that grey print loses nothing."""
    assert {name for name in PRINT if name not in LETTERS} == set()


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.wnet")), ids=lambda path: path.stem)
def test_a_screen_reader_is_told_each_thing_by_name(path: Path) -> None:
    job, _ = read(str(path))
    assert job is not None
    svgs, _ = draw_job(study(job)[0], (), Options())
    for svg in svgs or ():
        root = ElementTree.fromstring(svg)
        named = {node.get("id"): node.text or "" for node in root if node.get("id")}
        title, description = root.get("aria-labelledby", "").split()
        assert root.get("role") == "img"
        assert named[title] and len(named[description]) > 100
        for group in root.iter("{http://www.w3.org/2000/svg}g"):
            if group.get("class") in ("part", "conductor", "link", "end", "finding", "place", "goes-on"):
                assert group[0].tag.endswith("title") and group[0].text, group.attrib


def test_changes_are_marked_and_told() -> None:
    new = VET.replace("fuse F3 15 A", "fuse F3 20 A").replace("R2 red 3.3 m", "R2 orange 3.3 m")
    new = re.sub(r"(?m)^ *dcdc\.sense.*\n|^note S1.*\n", "", new)
    old_job, new_job = (read("van.wnet", text=text)[0] for text in (VET, new))
    assert old_job is not None and new_job is not None
    changes = compare(old_job, new_job)
    svgs, _ = draw_job(study(new_job)[0], (), with_changes(Options(), changes, "revision A"))
    assert svgs is not None
    assert breaches(svgs[0]) == []
    marks = re.findall(r'class="finding" data-rule="(\w+)" data-for="(\w+)"', svgs[0])
    assert sorted(marks) == [("changed", "F3"), ("changed", "R2"), ("removed", "dcdc")]
    words = re.findall(r">([^<]*)</text>", svgs[0])
    for line in (
        "Changes", "revision A", "was RD", "was 15 A", "changed: fuse F3: rating 20 A, was 15 A",
        "removed: conductor S1 grey 0.5 mm² 500 mm, dcdc.sense to aux.-",
    ):  # fmt: skip
        assert line in words


def test_kinds_of_change_are_told_apart_in_grey() -> None:
    # dark, light with a bold edge, white with a thin one; the list names each in words as well
    fills = [BADGES[kind][0] for kind in ("added", "changed", "removed")]
    assert contrast(fills[0], fills[1]) >= 4 and contrast(fills[0], "#fff") >= 7
