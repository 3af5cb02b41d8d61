"""The same netlist gives the same bytes, wherever and whenever: fingerprints.py is run in unlike surroundings.

Other versions of Python: `python tests/hostile/other_pythons.py`, by hand.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
PLACES = [
    {"PYTHONHASHSEED": "0", "LC_ALL": "C.UTF-8", "TZ": "UTC"},
    {"PYTHONHASHSEED": "1", "LC_ALL": "C", "TZ": "Pacific/Kiritimati", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
    {"PYTHONHASHSEED": "4294967295", "LC_ALL": "tr_TR.UTF-8", "LANG": "ar_EG", "TZ": "America/St_Johns",
     "COLUMNS": "40"},
    {"PYTHONHASHSEED": "random", "LC_ALL": "POSIX", "TZ": ":nonsense", "PYTHONOPTIMIZE": "2", "HOME": "/nonexistent"},
]  # fmt: skip


def fingerprints(folder: Path, more: dict[str, str], *words: str) -> list[str]:
    """What fingerprints.py says there."""
    folder.mkdir(parents=True)
    shutil.copytree(ROOT / "examples", folder / "examples")
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("LC_", "LANG", "PYTHON"))}
    command = [sys.executable, str(HERE / "fingerprints.py"), *words]
    environment = {**kept, "PYTHONDONTWRITEBYTECODE": "1", **more}
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    return done.stdout.splitlines()


def test_two_netlists_in_unlike_surroundings(tmp_path: Path) -> None:
    first = fingerprints(tmp_path / "a", PLACES[0], "--short")
    assert len(first) > 20
    assert fingerprints(tmp_path / "é ü" / "much" / "deeper", PLACES[1], "--short") == first


@pytest.mark.long
@pytest.mark.parametrize("more", PLACES[1:], ids=str)
def test_every_output_in_unlike_surroundings(tmp_path: Path, more: dict[str, str]) -> None:
    first = fingerprints(tmp_path / "a", PLACES[0], "--pictures")
    assert len(first) > 100
    assert fingerprints(tmp_path / "b c" / "d", more, "--pictures") == first


def test_where_the_netlist_lies_does_not_show_in_its_drawing(tmp_path: Path) -> None:
    """The same netlist by a relative, an absolute and a longer path, and on standard input."""
    path = ROOT / "examples" / "dual-battery.wnet"
    run = [sys.executable, "-m", "wiregen", "draw"]
    ways = [[str(path)], ["dual-battery.wnet"], ["../examples/dual-battery.wnet"], ["-"]]
    drawn = set()
    for way in ways:
        done = subprocess.run([*run, *way, "-o", "-"], cwd=path.parent, input=path.read_bytes(), capture_output=True)
        assert done.returncode == 0 and str(ROOT).encode() not in done.stdout
        drawn.add(done.stdout)
    assert len(drawn) == 1
