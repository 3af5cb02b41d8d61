"""How fast wiregen is, as ratios beside named yardsticks in the same run: `python tests/benchmarks/run.py`.

    python tests/benchmarks/run.py                 all of them
    python tests/benchmarks/run.py check solve     some
    python tests/benchmarks/run.py --profile draw  where the time of one goes, by module

Ours and the yardstick take turns, so that a busy machine slows both; the middle of the ratios of all turns is told.
`layout` needs node and npm, which fetches the yardstick into a temporary folder; `solve` needs ngspice.
Ends with 1 where a ratio is above its limit.
"""

from __future__ import annotations

import argparse
import compileall
import cProfile
import gc
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from statistics import median
from time import perf_counter
from typing import NamedTuple

TESTS = Path(__file__).resolve().parent.parent
ROOT = TESTS.parent
sys.path[:0] = [str(ROOT), str(TESTS), str(TESTS / "circuit"), str(TESTS / "layout")]
SMALL = ROOT / "examples" / "dual-battery.wnet"
YARDSTICK = "elkjs@0.12.1"


class Work(NamedTuple):
    """Two things that take time, and what is said of them. `limit` is the most that the ratio may be."""

    ours: Callable[[], object]
    theirs: Callable[[], object]
    limit: float
    turns: int = 9


class Row(NamedTuple):
    """What was measured: seconds of each, and the middle of the ratios."""

    ours: float
    theirs: float
    ratio: float


def measured(work: Work) -> Row:
    """Take turns; the first is not counted."""
    ours, theirs = [], []
    for turn in range(work.turns + 1):
        for each, kept in ((work.theirs, theirs), (work.ours, ours)):
            gc.collect()
            start = perf_counter()
            each()
            if turn:
                kept.append(perf_counter() - start)
    return Row(median(ours), median(theirs), median(a / b for a, b in zip(ours, theirs, strict=True)))


def process(*words: str, **environment: str) -> Callable[[], object]:
    """A process of its own, without any cache folder of the user's."""
    bare = {k: v for k, v in os.environ.items() if k not in ("HOME", "XDG_CACHE_HOME", "PYTHONDONTWRITEBYTECODE")}
    env = {**bare, **environment}
    quiet = subprocess.DEVNULL
    return lambda: subprocess.run(words, check=True, env=env, cwd=ROOT, stdout=quiet, stderr=quiet)


def wiregen(*words: str) -> Callable[[], object]:
    """The command line, cold."""
    return process(sys.executable, "-m", "wiregen", *words)


def check(room: Path) -> Work:
    """A cold `wiregen check` of the small example, beside `import lark` in a Python of its own."""
    return Work(wiregen("check", str(SMALL)), process(sys.executable, "-c", "import lark"), 3.0, 15)


def draw(room: Path) -> Work:
    """A cold `wiregen draw` of the small example, beside `import lark` in a Python of its own."""
    run = wiregen("draw", str(SMALL), "-o", str(room / "d.svg"))
    return Work(run, process(sys.executable, "-c", "import lark"), 6.0, 15)


def parse(room: Path) -> Work:
    """A netlist of 20,000 words to a tree of shapes, every token with its place, beside lark alone with the grammar."""
    from lark import Lark

    from wiregen.findings import Source
    from wiregen.language import parse as read
    from wiregen.language.parser import OPTIONS, grammar_text

    text = SMALL.read_text(encoding="utf-8") * 40
    machine = Lark(grammar_text() or "", **OPTIONS)
    return Work(lambda: read(Source("large.wnet", text)), lambda: machine.parse(text), 2.0)


def solve(room: Path) -> Work:
    """One case of a circuit of some 1,000 branches, beside ngspice on the same circuit."""
    from big_jobs import big_netlist

    from wiregen.circuit.cases import operating_cases
    from wiregen.circuit.figures import Figures
    from wiregen.circuit.pause import collector_at_rest
    from wiregen.circuit.settle import Rest, settle
    from wiregen.exchange.spice import circuit_deck
    from wiregen.model import read

    job, _ = read("large.wnet", text=big_netlist(130))
    assert job is not None
    state = next(s for s in operating_cases(job) if s.name == "parked-dark")

    def one() -> Rest:
        with collector_at_rest():
            return settle(job, Figures(job), state)

    rest = one()
    assert rest.solution is not None
    deck = circuit_deck(rest.circuit, rest.solution.references, "large", rest.solution.voltages).encode()
    return Work(one, lambda: subprocess.run(["ngspice", "-b"], input=deck, capture_output=True, check=False), 1.0)


def layout(room: Path) -> Work:
    """A job of 65 parts read and laid out on one sheet, beside a general-purpose layered layout; both cold."""
    from beside import asked
    from realistic import realistic_netlist

    from wiregen.layout.diagram import STYLES
    from wiregen.layout.folds import flat
    from wiregen.layout.graph import build
    from wiregen.layout.label import measure
    from wiregen.layout.layers import arrange
    from wiregen.layout.ranks import rank
    from wiregen.model import read

    subprocess.run(
        ["npm", "install", "--no-save", "--prefix", str(room), YARDSTICK], check=True, capture_output=True
    )  # fmt: skip
    text = realistic_netlist(0, 65)
    (room / "made.wnet").write_text(text, encoding="utf-8")
    job, _ = read("made.wnet", text=text)
    assert job is not None
    graph = build(job)
    ranks = rank(graph)
    layered = arrange(graph, ranks, flat(ranks), STYLES[0], {}, {})
    measure(layered)
    (room / "asked.json").write_text(json.dumps([asked(layered)]), encoding="utf-8")
    program = (
        "import sys; from wiregen.circuit.study import Study; from wiregen.layout import Options, lay_out;"
        "from wiregen.model import read; job, _ = read(sys.argv[1]);"
        "lay_out(Study(job, None, (), (), (), {}, ()), (), Options(one_sheet=True))"
    )
    theirs = process(
        "node", str(TESTS / "layout" / "elk" / "lay.cjs"), str(room / "asked.json"), str(room / "laid.json"),
        NODE_PATH=str(room / "node_modules"),
    )  # fmt: skip
    return Work(process(sys.executable, "-c", program, str(room / "made.wnet")), theirs, 1.0, 5)


def folder(room: Path) -> Work:
    """A cold `wiregen folder` of the small example, beside typesetting an empty document with typst, as cold."""
    (room / "empty.typ").write_text("", encoding="utf-8")
    program = "import sys, typst; typst.compile(sys.argv[1], output=sys.argv[2])"
    theirs = process(sys.executable, "-c", program, str(room / "empty.typ"), str(room / "empty.pdf"))
    return Work(wiregen("folder", str(SMALL), "-o", str(room / "out")), theirs, 25.0, 5)


WORKS: dict[str, Callable[[Path], Work]] = {
    "check": check, "draw": draw, "parse": parse, "solve": solve, "layout": layout, "folder": folder,
}  # fmt: skip


def profiled(name: str, room: Path) -> None:
    """Where the time of one goes: the modules that take most of it themselves, imports counted by what they import."""
    import pstats

    profile = cProfile.Profile()
    if name in ("parse", "solve"):
        run = WORKS[name](room).ours
        run()
        profile.runcall(run)
    else:
        words = {
            "check": ["check", str(SMALL)],
            "draw": ["draw", str(SMALL), "-o", str(room / "d.svg")],
            "layout": ["draw", str(ROOT / "examples" / "camper-van.wnet"), "-o", str(room)],
            "folder": ["folder", str(SMALL), "-o", str(room)],
        }[name]
        program = (
            "import cProfile, sys; sys.argv = ['wiregen', *sys.argv[2:]]; from importlib import import_module;"
            "p = cProfile.Profile(); p.enable(); import_module('wiregen.cli').main(); p.disable();"
            f"p.dump_stats({str(room / 'stats')!r})"
        )
        subprocess.run([sys.executable, "-c", program, "-", *words], cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    stats = pstats.Stats(profile) if name in ("parse", "solve") else pstats.Stats(str(room / "stats"))
    rows: dict[str, float] = {}
    for (file, _, function), (_, _, own, _, _) in stats.stats.items():  # type: ignore[attr-defined]
        path = Path(file)
        if file.startswith("<frozen importlib") or "marshal" in function or "io.open_code" in function:
            where = "finding and loading modules"
        elif ROOT / "wiregen" in path.parents:
            where = path.relative_to(ROOT).as_posix()
        elif "site-packages" in path.parts:
            where = path.parts[path.parts.index("site-packages") + 1]
        else:
            where = "Python's own" if file != "~" else "built-in functions"
        rows[where] = rows.get(where, 0.0) + own
    whole = sum(rows.values())
    print(f"{name}: {whole * 1000:.0f} ms under the profiler, of which")
    for where, own in sorted(rows.items(), key=lambda row: -row[1])[:12]:
        print(f"  {100 * own / whole:4.0f} %  {where}")


def main() -> int:
    """Measure, print the table, say whether all limits hold."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("names", nargs="*", metavar="NAME", help=", ".join(WORKS))
    arguments.add_argument("--profile", action="store_true")
    asked = arguments.parse_args()
    compileall.compile_dir(str(ROOT / "wiregen"), quiet=1)
    above = 0
    with tempfile.TemporaryDirectory() as name:
        room = Path(name)
        for work in asked.names or WORKS:
            if asked.profile:
                profiled(work, room)
                continue
            made = WORKS[work](room)
            row = measured(made)
            above += row.ratio > made.limit
            figures = f"{row.ours * 1000:7.0f} ms beside {row.theirs * 1000:5.0f} ms, {row.ratio:5.2f} times"
            print(f"{work:<7}{figures} (at most {made.limit:g})  {WORKS[work].__doc__}", flush=True)
    return 1 if above else 0


if __name__ == "__main__":
    sys.exit(main())
