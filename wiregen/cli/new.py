"""`wiregen new`: a commented starter job, or a workbook to type from-to tables in."""

from __future__ import annotations

import argparse
import os

from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_output
from wiregen.cli.files import write_whole

STARTER = "starter.wnet"  # beside this module


def parser() -> Parser:
    """The arguments of `new`."""
    made = Parser(
        "new",
        "Writes a small job to start from: two batteries and a charger, every line explained.",
        "  wiregen new -o van.wnet\n  wiregen check van.wnet",
    )
    add_output(made, "the file to write (default: job.wnet here); - is standard output")
    made.add_argument("--workbook", action="store_true", help="a workbook (.xlsx) for `wiregen import` instead")
    made.add_argument("--force", action="store_true", help="write over a file that is there already")
    return made


def run(arguments: argparse.Namespace) -> int:
    """Write the starter; never over somebody's work unless asked to."""
    if arguments.workbook:
        from wiregen.exchange.template import template

        text = template()
    else:
        text = _starter()
    target = arguments.output or ("job.xlsx" if arguments.workbook else "job.wnet")
    if target == "-":
        streams.write_bytes(text)
        return 0
    if os.path.isfile(target) and not arguments.force:
        streams.tell(f"wiregen new: {target} is there already; name another with -o, or add --force to write over it")
        return 3
    write_whole({target: text})
    if arguments.workbook:
        streams.tell(f"wrote {target}; fill in its sheets, then `wiregen import {target}` makes a netlist of it")
    else:
        streams.tell(f"wrote {target}; `wiregen check {target}` looks it over, `wiregen draw {target}` draws it")
    return 0


def _starter() -> bytes:
    """The commented starter job."""
    with open(os.path.join(os.path.dirname(__file__), STARTER), "rb") as file:
        return file.read()
