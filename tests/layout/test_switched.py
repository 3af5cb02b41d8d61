"""Contacts are drawn as they are in the case of the drawing, and as they are built where there is none."""

from __future__ import annotations

import re

from wiregen.circuit.run import study
from wiregen.drawing import draw
from wiregen.layout import Options, lay_out
from wiregen.layout.geometry import Geometry
from wiregen.model import read

NETLIST = """
battery start 70 Ah flooded
isolator Q1 50 A
switch S1 10 A, open
relay K1 30 A
load lamps 5 A
start.+ --[R1 red 4 mm2 1 m]-- Q1 --[R2 red 4 mm2 1 m]-- K1.30
K1.87 --[R3 red 4 mm2 1 m]-- lamps --[B1 black 4 mm2 1 m]-- start.-
start.+ --[G1 blue 1 mm2 1 m]-- S1 --[G2 blue 1 mm2 1 m]-- K1.86
K1.85 --[G3 black 1 mm2 1 m]-- start.-
case lit "Lit", closed S1 K1
case stored "Stored", open Q1 S1
"""


def laid(case: str | None) -> Geometry:
    job, found = read("switched.wnet", text=NETLIST)
    assert job is not None and job.complete, found
    return lay_out(study(job)[0], (), Options(case=case, show=("number",)))[0]


def closed(case: str | None) -> dict[str, tuple[str, ...]]:
    parts = [part for sheet in laid(case).sheets for part in sheet.parts]
    return {part.id: part.shape.closed for part in parts if part.id in ("Q1", "S1", "K1")}


def test_without_a_case_contacts_are_as_built() -> None:
    assert closed(None) == {"Q1": ("",), "S1": (), "K1": ("87a",)}


def test_in_a_case_they_are_as_it_has_them() -> None:
    assert closed("lit")["S1"] == ("",)
    assert "87" in closed("lit")["K1"]
    assert closed("stored")["Q1"] == () and closed("stored")["S1"] == ()
    assert "87" not in closed("stored")["K1"]


def test_only_the_strokes_of_the_symbols_are_other() -> None:
    """Where nothing of the case is printed nothing moves from one to the next."""
    one, other = (laid(case) for case in ("lit", "stored"))
    a, b = (next(line for line in draw(g)[0].splitlines() if 'data-part="Q1"' in line) for g in (one, other))
    assert a != b and a.split('<g class="symbol"')[0] == b.split('<g class="symbol"')[0]


def test_of_two_alike_one_is_drawn_open_and_one_closed() -> None:
    """A symbol that comes again is not drawn again, unless it is switched."""
    text = "battery b 7 Ah agm\nswitch S1 5 A\nswitch S2 5 A, open\nb.+ --[W1 1 mm2 1 m]-- S1 --[W2 1 mm2 1 m]-- S2\n"
    job, _ = read("alike.wnet", text=text)
    assert job is not None
    svg = draw(lay_out(study(job)[0])[0])[0]
    one, other = (re.search(rf'data-part="{name}".*?<g class="symbol"[^>]*>(.*?)</g>', svg) for name in ("S1", "S2"))
    assert one and other and one[1] != other[1]
