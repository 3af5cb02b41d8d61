"""The command line: arguments in, calls to the rooms, text out. `main(argv) -> exit code`."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

COMMANDS = {  # word -> what it does, in one line; each is a module of this room with `parser()` and `run(arguments)`
    "check": "look for hazards and mistakes",
    "draw": "draw the schematic",
    "study": "print what was computed: currents, voltages, drops, faults",
    "folder": "write the customer folder: diagram, schedules, lists, commissioning sheet",
    "figures": "make teaching figures: steps, cases, planted faults",
    "diagnose": "find a fault from readings, and what to measure next",
    "format": "write netlists in the one plain layout",
    "explain": "tell what a rule looks for, why, and on what basis",
    "export": "write from-to tables, or an operating case for a circuit simulator",
    "import": "make a netlist of a from-to table, csv or xlsx",
    "new": "write a commented starter job",
}


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0 fine, 1 findings, 2 not understood, 3 not written, 130 stopped."""
    from wiregen.cli import streams

    streams.prepare()
    _one_thread()
    try:
        return _run(sys.argv[1:] if argv is None else argv)
    except SystemExit as end:  # argparse, after its own message
        return end.code if isinstance(end.code, int) else 2
    except KeyboardInterrupt:
        return 130
    except streams.NotWritten as trouble:
        streams.tell(str(trouble))
        return 3
    except Exception as error:
        full = isinstance(error, OSError) and streams.no_room(error)
        streams.tell(f"wiregen: {full}; nothing was written" if full else _own_mistake(error))
        return 3


def _one_thread() -> None:
    """Linear algebra in one thread, where the surroundings do not ask for more; to be said before numpy is loaded.

    On matrices as small as ours more threads only wait for each other, twice the time in all, and how a sum is divided
    among them would move its last digits.
    """
    for library in ("OPENBLAS", "MKL", "BLIS"):
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")


def _run(argv: Sequence[str]) -> int:
    """Find the command's module and hand the rest of the words to it."""
    from wiregen.cli import streams

    word = argv[0] if argv else ""
    if word in COMMANDS:
        from importlib import import_module

        command = import_module(f"wiregen.cli.{word}_" if word == "import" else f"wiregen.cli.{word}")
        code: int = command.run(command.parser().parse_args(argv[1:]))
        return code
    if word in ("-h", "--help", "help"):
        streams.write_text(_usage())
        return 0
    if word == "--version":
        from wiregen import __version__

        streams.write_text(f"wiregen {__version__}\n")
        return 0
    if not word:
        streams.tell(_usage())
        return 2
    from difflib import get_close_matches

    close = get_close_matches(word, COMMANDS, 1)
    hint = f"did you mean `wiregen {close[0]}`?" if close else "`wiregen --help` lists them"
    streams.tell(f"wiregen: there is no command `{word}`; {hint}")
    return 2


def _usage() -> str:
    rows = "".join(f"  {word:<9}{words}\n" for word, words in COMMANDS.items())
    return (
        "usage: wiregen COMMAND ...\n\n"
        "Checks, computes and draws low-voltage DC vehicle wiring from a plain-text netlist.\n\n"
        f"commands:\n{rows}\n"
        "  wiregen COMMAND --help   how to use one of them, with an example\n"
        "  wiregen --version        the version\n\n"
        "example:\n  wiregen new -o van.wnet\n  wiregen check van.wnet\n  wiregen draw van.wnet\n"
    )


def _own_mistake(error: Exception) -> str:
    """A few words about a mistake of wiregen's own, with the place in its code for the report."""
    trace, where = error.__traceback__, ""
    while trace:
        module = trace.tb_frame.f_globals.get("__name__", "")
        if module.startswith("wiregen"):
            where = f", {module} line {trace.tb_lineno}"
        trace = trace.tb_next
    return (
        f"wiregen: a mistake in wiregen itself, not in your netlist ({type(error).__name__}: {error}{where}).\n"
        "Nothing was written. Please report it together with the netlist."
    )
