"""Drawing takes no longer than it takes to import what it is made with."""

from __future__ import annotations

import statistics
import subprocess
import sys
from time import perf_counter

import pytest
from jobs import random_netlist

from wiregen.circuit.network import build
from wiregen.circuit.study import Study
from wiregen.drawing import Options, draw, rebuild
from wiregen.layout import lay_out
from wiregen.model import read

IMPORTS = (
    "import time; t = time.perf_counter(); import schemdraw, xml.etree.ElementTree; print(time.perf_counter() - t)"
)


@pytest.mark.benchmark
def test_forty_parts_are_drawn_and_rebuilt_while_their_libraries_are_imported() -> None:
    job, _ = read("random.wnet", text=random_netlist(3, 40))
    assert job is not None
    geometry, _ = lay_out(Study(job, build(job), (), (), (), {}, ()), (), Options())
    ours, theirs = [], []
    for _ in range(9):
        said = subprocess.run([sys.executable, "-c", IMPORTS], capture_output=True, text=True, check=True).stdout
        theirs.append(float(said))
        start = perf_counter()
        rebuild(draw(geometry))
        ours.append(perf_counter() - start)
    assert statistics.median(ours) <= 1.5 * statistics.median(theirs)


def test_drawing_leaves_heavy_libraries_alone() -> None:
    program = (
        "import sys; from wiregen.drawing import draw_job;"
        "print([m for m in ('cairosvg', 'cairocffi', 'pint', 'scipy') if m in sys.modules])"
    )
    said = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
    assert said.strip() == "[]"
