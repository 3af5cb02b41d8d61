"""`wiregen import TABLE`: a netlist from a from-to table; a bad cell is told, and then nothing is written."""

from __future__ import annotations

import argparse
import os
import sys

from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_output
from wiregen.cli.files import write_whole
from wiregen.cli.jobs import beside, plain
from wiregen.findings.text import findings_text


def parser() -> Parser:
    """The arguments of `import`."""
    made = Parser(
        "import",
        "Makes a netlist of a from-to table (.csv or .xlsx). README has the columns.",
        "  wiregen import van.xlsx -o van.wnet\n  wiregen check van.wnet",
    )
    made.add_argument("file", metavar="TABLE", help="a .csv or .xlsx file; - reads standard input")
    add_output(made, "the netlist to write; - is standard output (default: beside the table under its name)")
    made.add_argument("--force", action="store_true", help="write over a netlist that is there already")
    return made


def run(arguments: argparse.Namespace) -> int:
    """Write the netlist, or say which cells are bad."""
    from wiregen.exchange.from_table import import_table

    path = arguments.file
    try:
        data = streams.read_bytes() if path == "-" else streams.read_file(path)
    except (OSError, ValueError) as error:
        words = streams.why(error, reading=True) if isinstance(error, OSError) else str(error)
        streams.tell(f"wiregen import: {path} could not be read: {words}")
        return 2
    if len(data) > streams.MOST:
        streams.tell(f"wiregen import: {path} is larger than {streams.MOST // 1_000_000} MB")
        return 2
    made = import_table(plain(path), data)
    for note in made.notes:
        streams.tell(f"note: {note}")
    for finding in made.findings:
        streams.tell_ready(findings_text([finding], streams.style(sys.stderr)))
    if made.findings:
        streams.tell(f"wiregen: {plain(path)} has {len(made.findings)} bad cells or more; nothing was written")
        return 2
    target = arguments.output or ("-" if path == "-" else beside(path, ".wnet"))
    if target == "-":
        streams.write_text(made.text)
        return 0
    if os.path.isfile(target) and not arguments.force:
        streams.tell(f"wiregen import: {target} is there already; name another with -o, or add --force")
        return 3
    write_whole({target: made.text.encode()}, never=[path])
    streams.tell(f"wrote {target}; `wiregen check {target}` looks it over")
    return 0
