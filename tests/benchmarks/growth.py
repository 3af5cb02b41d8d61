"""How time and memory grow with the size of a job: `python tests/benchmarks/growth.py`.

    python tests/benchmarks/growth.py                   check, study and draw of 100, 1,000 and 10,000 parts
    python tests/benchmarks/growth.py draw 250 500 1000 2000

Jobs as a workshop would wire them (`tests/layout/realistic.py`), each run in a process of its own. Processor seconds,
the interpreter and its imports included; exponents are those of what is beyond the time that a job of 10 parts takes.
Ends with 1 where the exponent from the smallest to the largest, or the memory, is above its limit.
"""

from __future__ import annotations

import os
import sys
import tempfile
from math import log
from pathlib import Path
from typing import NamedTuple

TESTS = Path(__file__).resolve().parent.parent
ROOT = TESTS.parent
sys.path[:0] = [str(TESTS / "layout")]

COMMANDS = ("check", "study", "draw")
SIZES = (100, 1000, 10_000)
LEAST = 10  # parts of the job whose time is taken off
EXPONENT = 1.5  # of time, at most
MEMORY = 0.1  # for each part beyond what an empty job takes, at most [MB]
EMPTY = 100.0  # what an empty job may take [MB]


class Cost(NamedTuple):
    """Of one run: processor seconds, and the most memory at one time [MB]."""

    seconds: float
    memory: float


def cost(command: str, parts: int, room: Path) -> Cost:
    """One command on a job of that size, made new."""
    from realistic import realistic_netlist

    netlist, out = room / f"made-{parts}.wnet", room / f"{command}-{parts}"
    netlist.write_text(realistic_netlist(1, parts), encoding="utf-8")
    out.mkdir(exist_ok=True)
    words = [sys.executable, "-m", "wiregen", command, str(netlist)]
    words += ["-o", str(out / "drawn.svg" if parts < 40 else out) if command == "draw" else str(out / "said")]
    child = os.fork()
    if child == 0:
        os.chdir(ROOT)
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, 1), os.dup2(null, 2)
        os.execv(sys.executable, words)
    _, status, usage = os.wait4(child, 0)
    if os.waitstatus_to_exitcode(status) not in (0, 1):  # 1: there are findings
        raise RuntimeError(f"wiregen {command} of {parts} parts ended with {os.waitstatus_to_exitcode(status)}")
    return Cost(usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def grown(command: str, sizes: tuple[int, ...], room: Path) -> tuple[float, list[Cost]]:
    """The exponent of growth, and the cost of each size; the rows are printed as they come."""
    base = cost(command, LEAST, room)
    costs: list[Cost] = []
    beyond: list[float] = []  # what takes no time in the least job

    def power(first: int) -> float:
        return log(beyond[-1] / beyond[first]) / log(sizes[len(costs) - 1] / sizes[first])

    for parts in sizes:
        costs.append(cost(command, parts, room))
        beyond.append(max(costs[-1].seconds - base.seconds, 1e-3))
        told = f", n^{power(len(costs) - 2):.2f} from the size before" if len(costs) > 1 else ""
        print(f"{command} {parts:6}: {costs[-1].seconds:8.2f} s, {costs[-1].memory:5.0f} MB{told}", flush=True)
    whole = power(0)
    print(f"{command} grows as n^{whole:.2f} from {sizes[0]} to {sizes[-1]} parts", flush=True)
    return whole, costs


def main() -> int:
    """Measure, print, say whether the limits hold."""
    words = sys.argv[1:]
    commands = [word for word in words if word in COMMANDS] or list(COMMANDS)
    sizes = tuple(sorted(int(word) for word in words if word.isdigit())) or SIZES
    above = 0
    with tempfile.TemporaryDirectory() as name:
        for command in commands:
            power, costs = grown(command, sizes, Path(name))
            above += power > EXPONENT or costs[-1].memory > EMPTY + MEMORY * sizes[-1]
    return 1 if above else 0


if __name__ == "__main__":
    sys.exit(main())
