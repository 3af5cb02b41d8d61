"""The folder takes at most twice what importing its libraries and drawing the sheets take."""

from __future__ import annotations

import statistics
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
BESIDE = (
    "import time; t = time.perf_counter()\n"
    "import sys, typst, openpyxl, matplotlib.figure, matplotlib.backends.backend_svg, base64, tomllib, json\n"
    "from wiregen.cli import main\n"
    "main(['draw', sys.argv[1], '-o', sys.argv[2] + '/d.svg'])\n"
    "print(time.perf_counter() - t)"
)
OURS = (
    "import time; t = time.perf_counter()\n"
    "import sys\n"
    "from wiregen.cli import main\n"
    "main(['folder', sys.argv[1], '-o', sys.argv[2]])\n"
    "print(time.perf_counter() - t)"
)


@pytest.mark.benchmark
@pytest.mark.parametrize("name", ["dual-battery", "truck-24v", "camper-van"])
def test_a_folder_takes_at_most_twice_its_libraries_and_its_sheets(name: str, tmp_path: Path) -> None:
    times: dict[str, list[float]] = {BESIDE: [], OURS: []}
    for _ in range(5):
        for program, taken in times.items():
            words = [sys.executable, "-c", program, str(EXAMPLES / f"{name}.wnet"), str(tmp_path)]
            ran = subprocess.run(words, capture_output=True, text=True, check=True)
            taken.append(float(ran.stdout.splitlines()[-1]))
    beside, ours = (statistics.median(taken) for taken in times.values())
    print(f"{name}: {ours:.3f} s beside {beside:.3f} s, {ours / beside:.2f} times")
    assert ours <= 2.0 * beside
