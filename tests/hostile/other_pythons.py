"""Whether other versions of Python give the same bytes: `python tests/hostile/other_pythons.py PYTHON ...`, by hand.

Each PYTHON is an interpreter, 3.11 or later; it gets a virtual environment of its own with the package in it, and
fingerprints.py runs there. What differs from the Python that runs this is printed; exit code 1 where anything does.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent


def fingerprints(python: str, folder: Path) -> list[str]:
    """What fingerprints.py says under that Python."""
    folder.mkdir()
    shutil.copytree(ROOT / "examples", folder / "examples")
    command = [python, str(HERE / "fingerprints.py")]
    return subprocess.run(command, cwd=folder, check=True, capture_output=True, text=True).stdout.splitlines()


def main() -> int:
    """Compare, and say what differs."""
    different = 0
    with tempfile.TemporaryDirectory() as name:
        room = Path(name)
        own = fingerprints(sys.executable, room / "own")
        for number, python in enumerate(sys.argv[1:]):
            place = room / f"venv{number}"
            subprocess.run([python, "-m", "venv", str(place)], check=True)
            inside = str(place / "bin" / "python")
            subprocess.run([inside, "-m", "pip", "install", "-q", str(ROOT)], check=True)
            version = subprocess.run([inside, "--version"], check=True, capture_output=True, text=True).stdout.strip()
            theirs = fingerprints(inside, room / f"work{number}")
            unlike = sorted(set(own) ^ set(theirs))
            print(f"{version}: {len(theirs)} outputs, {len(unlike)} lines differ", *unlike, sep="\n  ")
            different += len(unlike)
    return 1 if different else 0


if __name__ == "__main__":
    sys.exit(main())
