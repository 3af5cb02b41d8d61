"""Layout and drawing of a middling job take at most one and a half times importing what they are made with.

What `wiregen draw` loads of others is lark and schemdraw, this without matplotlib, which schemdraw would load where it
is (`wiregen/drawing/alone.py`). With matplotlib the import alone takes longer than the whole command does.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
from time import process_time

import pytest
from realistic import realistic_netlist

from wiregen.circuit import study
from wiregen.drawing import Options, draw_job
from wiregen.model import read
from wiregen.rules import check

LIBRARIES = """
import sys, time
sys.modules["matplotlib"] = None
start = time.process_time()
import lark, schemdraw, xml.etree.ElementTree
print(time.process_time() - start)
"""


@pytest.mark.benchmark
def test_jobs_of_forty_parts_are_laid_out_and_drawn_within_one_and_a_half_imports(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Processor time of layout, SVG and the reading back of it; the middle of nine jobs, three times each."""
    ratios = []
    for seed in range(9):
        job, _ = read("made.wnet", text=realistic_netlist(seed, 40))
        assert job is not None
        studied, _ = study(job)
        findings = check(studied)
        ours, theirs = [], []
        for _ in range(3):
            words = [sys.executable, "-c", LIBRARIES]
            theirs.append(float(subprocess.run(words, capture_output=True, text=True, check=True).stdout))
            start = process_time()
            assert draw_job(studied, findings, Options())[0]
            ours.append(process_time() - start)
        ratios.append(statistics.median(ours) / statistics.median(theirs))
    with capsys.disabled():
        print(f"\n40 parts laid out and drawn: {statistics.median(ratios):.2f} times ({min(ratios):.2f} to", end=" ")
        print(f"{max(ratios):.2f}) importing lark and schemdraw")
    assert statistics.median(ratios) <= 1.5
