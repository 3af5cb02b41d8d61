"""A small change of the netlist is a small change of the drawing: where parts stand, and the lines of the SVG.

How much stays is measured; run with `-s` to see it. Columns are as wide as their lettering, so what is added in one
moves those to its right: parts keep their order rather than their millimetre.
"""

from __future__ import annotations

import re
from functools import cache
from itertools import combinations
from pathlib import Path
from statistics import mean

import pytest

from wiregen.circuit.run import study
from wiregen.drawing import draw
from wiregen.layout import lay_out
from wiregen.layout.geometry import Geometry
from wiregen.model import read

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.wnet"))
LOADS = 3  # of each example, where another one is added


@cache
def laid(path: Path, text: str) -> Geometry:
    job, found = read(str(path), text=text)
    assert job is not None and job.complete, found
    return lay_out(study(job)[0])[0]


def with_a_load(path: Path, text: str) -> list[str]:
    """The netlist with another load, at the terminals of each of the first loads."""
    job, _ = read(str(path), text=text)
    assert job is not None
    loads = [p for p in job.parts.values() if p.kind in ("load", "lamp") and len(p.terminals) == 2]
    return [
        f"{text}\nload extra 1 A\n{plus} --[XA red 1 mm2 1 m]-- extra.+\nextra.- --[XB black 1 mm2 1 m]-- {minus}\n"
        for plus, minus in (load.terminals for load in loads[:LOADS])
    ]


def places(geometry: Geometry) -> dict[str, tuple[int, float, float]]:
    return {part.id: (s.number, part.box.x, part.box.y) for s in geometry.sheets for part in s.parts}


def order_kept(old: Geometry, new: Geometry) -> float:
    """The share of pairs of parts of one sheet that stand left and right, above and below, as they did."""
    a, b = places(old), places(new)
    kept = every = 0
    for one, other in combinations([part for part in a if part in b], 2):
        if a[one][0] != a[other][0]:
            continue
        for axis in (1, 2):
            if (before := a[one][axis] - a[other][axis]) != 0:
                every += 1
                kept += before * (b[one][axis] - b[other][axis]) > 0
    return kept / every


def lines_kept(old: Geometry, new: Geometry) -> float:
    """The share of lines of the SVG that are in the new one as well."""
    before, after = ([line for svg in draw(g) for line in svg.splitlines()] for g in (old, new))
    there = set(after)
    return sum(line in there for line in before) / len(before)


def test_another_load_leaves_the_others_in_their_order() -> None:
    shares = []
    for path in EXAMPLES:
        text = path.read_text(encoding="utf-8")
        old = laid(path, text)
        for more in with_a_load(path, text):
            new = laid(path, more)
            shares.append(order_kept(old, new))
            stay = mean(places(new).get(part) == place for part, place in places(old).items())
            print(f"{path.stem:14} order {shares[-1]:.2f}  place {stay:.2f}  lines {lines_kept(old, new):.2f}")
    assert mean(shares) >= 0.9
    assert min(shares) >= 0.7


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_another_value_changes_the_lines_that_print_it(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    job, _ = read(str(path))
    assert job is not None
    plain = [c for c in job.conductors.values() if c.named and not c.route and not c.through and c.has("length")]
    span = plain[0].facts["length"].values[0].span
    number = re.match(r"[\d.]*\d", text[span.start : span.end])
    assert number
    at = span.start + number.end() - 1
    other = f"{text[:at]}{(int(text[at]) + 1) % 10}{text[at + 1 :]}"
    old, new = laid(path, text), laid(path, other)
    assert places(old) == places(new)
    before, after = ([line for svg in draw(g) for line in svg.splitlines()] for g in (old, new))
    changed = [(a, b) for a, b in zip(before, after, strict=True) if a != b]
    assert len(changed) <= 1 + len(old.sheets), changed  # the label, and the description of its sheet
    assert all("<desc" in a or 'class="label"' in a for a, _ in changed)


def test_remarks_and_facts_that_are_not_printed_change_nothing() -> None:
    path = EXAMPLES[2]
    text = path.read_text(encoding="utf-8")
    assert draw(laid(path, text)) == draw(laid(path, f"# another remark\n{text}"))
