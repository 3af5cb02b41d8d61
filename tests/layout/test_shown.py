"""What is printed beside conductors and parts by choice: all of it has room, none of it is printed unasked."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from wiregen.circuit.run import study
from wiregen.circuit.study import Study
from wiregen.layout import Options, invariants, lay_out
from wiregen.layout.geometry import Geometry
from wiregen.layout.shown import OF_NETLIST, SHOWN, figure
from wiregen.model import read

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.wnet"))


@cache
def studied(path: Path) -> Study:
    job, _ = read(str(path))
    assert job is not None
    return study(job)[0]


def lettering(geometry: Geometry) -> dict[str, tuple[str, ...]]:
    """All but the places of parts."""
    lines = [(label.for_, label.lines) for sheet in geometry.sheets for label in sheet.labels]
    return {subject: said for subject, said in lines if not said[0].startswith("(")}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_everything_shown_overlaps_nothing(path: Path) -> None:
    of = studied(path)
    geometry, said = lay_out(of, (), Options(case=of.cases[0].name, show=SHOWN))
    assert [finding.message for finding in said if finding.rule == "drawing-failure"] == []
    assert list(invariants.broken(geometry)) == []


def test_each_word_brings_its_own_lettering() -> None:
    of = studied(EXAMPLES[2])
    case = next(c for c in of.cases if c.name == "driving")

    def of_r2(*show: str) -> tuple[str, ...]:
        return lettering(lay_out(of, (), Options(case=case.name, show=show))[0])["R2"]

    flow = case.flows["R2"]
    assert flow.current_a is not None and flow.drop_v is not None
    assert of_r2("number") == ("R2",)
    assert of_r2("colour") == ("RD",)
    assert of_r2("size") == ("10 mm²",)
    assert of_r2("length") == ("3.3 m",)
    assert of_r2("current") == (f"{abs(flow.current_a):.3g} A",)
    assert of_r2("drop") == (f"{abs(flow.drop_v) * 1000:.3g} mV",)
    a, b = case.voltages["F1.out"], case.voltages["X1.a.+"]
    assert of_r2("voltage") == (f"{a:.2f} to {b:.2f} V",)
    ends = [f for f in of.faults if f.conductor == "R2"]
    least = min(f.min_current_a for f in ends if f.min_current_a is not None)
    assert of_r2("fault")[0].startswith(f"fault {figure(least, 'A')} to ")
    assert not any(of_r2())
    assert of_r2("number", "fault")[0] == "R2"


def test_terminals_by_din_72552_where_they_apply() -> None:
    of = studied(EXAMPLES[-1])  # the truck: starter, alternator, relay, switched feed, second battery
    shown = lettering(lay_out(of, (), Options(show=("terminal",)))[0])
    assert shown["start"][-1] == "+ 30, − 31"
    assert shown["sm"][-1] == "+ 30, − 31"
    assert shown["alt"][-1] == "+ B+, − B−"
    assert shown["ign"][-1] == "15"
    assert not any("30" in line.split() for line in shown["bunk-bat"])  # 30a has another meaning
    plain = lettering(lay_out(of, (), Options(show=OF_NETLIST))[0])
    assert "+ 30, − 31" not in plain["start"]


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [(0.0, "V", "0 V"), (0.063, "V", "63 mV"), (-12.44, "A", "12.4 A"), (1690, "A", "1.69 kA"), (4e-6, "V", "0 V"),
     (0.005, "A", "5 mA"), (0.0005, "A", "0 A")],
)  # fmt: skip
def test_figures_are_short(value: float, unit: str, words: str) -> None:
    assert figure(value, unit) == words
