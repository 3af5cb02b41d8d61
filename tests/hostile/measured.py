"""A command and what it costs, measured apart from the process that asks: a child is charged its parent's memory."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

MEASURE = """
import json, os, subprocess, sys
with open("told", "w+b") as out:
    process = subprocess.Popen(sys.argv[1:], stdout=out, stderr=out)
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
print(json.dumps([process.returncode, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024]))
"""


class Measured(NamedTuple):
    """Exit code, seconds of processor time, MB of memory at most, and all that was written to either stream."""

    code: int
    seconds: float
    memory: float
    told: str


def measured(folder: Path, words: Sequence[str]) -> Measured:
    """Run `wiregen` with these words in a folder."""
    command = [sys.executable, "-c", MEASURE, sys.executable, "-m", "wiregen", *words]
    done = subprocess.run(command, cwd=folder, stdout=subprocess.PIPE, check=True)
    told = (folder / "told").read_text(encoding="utf-8")
    (folder / "told").unlink()
    return Measured(*json.loads(done.stdout), told)
