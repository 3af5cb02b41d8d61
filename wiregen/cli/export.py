"""`wiregen export FILE --to csv|xlsx|spice`: from-to tables, or an operating case for a circuit simulator."""

from __future__ import annotations

import argparse
import sys

from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_file, add_output
from wiregen.cli.files import write_whole
from wiregen.cli.jobs import beside, wanted
from wiregen.cli.settings import settings
from wiregen.findings.text import findings_text

KINDS = ("csv", "xlsx", "spice")


def parser() -> Parser:
    """The arguments of `export`."""
    made = Parser(
        "export",
        "Writes a job in another open format.",
        "  wiregen export van.wnet --to xlsx\n"
        "  wiregen export van.wnet --to spice --case driving -o van.cir\n  ngspice -b van.cir",
    )
    add_file(made)
    made.add_argument(
        "--to",
        dest="kind",
        choices=KINDS,
        required=True,
        help="csv, xlsx: from-to tables; spice: a deck with the solved case",
    )
    made.add_argument("--case", metavar="NAME", help="the operating case (default: the first)")
    add_output(made, "the file to write; - is standard output (default: beside the netlist under its name)")
    return made


def run(arguments: argparse.Namespace) -> int:
    """Write the deck; findings about the text go to standard error."""
    if arguments.kind != "spice":
        return _tables(arguments)
    looked, study = wanted(arguments, "nothing was written", rules=False)
    streams.tell_ready(findings_text(looked.findings, streams.style(sys.stderr)))
    from wiregen.exchange.spice import spice_deck

    cases = {case.name.lower(): case.name for case in study.cases}
    if not cases or (arguments.case and arguments.case.lower() not in cases):
        there = ", ".join(cases.values()) or "none"
        streams.tell(f"wiregen export: the job has no operating case {arguments.case or 'at all'}; it has {there}")
        return 2
    deck = spice_deck(study.job, cases[arguments.case.lower()] if arguments.case else None)
    target = arguments.output or ("-" if arguments.file == "-" else beside(arguments.file, ".cir"))
    if target == "-":
        streams.write_text(deck)
        return 0
    write_whole({target: deck.encode()}, never=[arguments.file])
    streams.tell(f"wrote {target}")
    return 0


def _tables(arguments: argparse.Namespace) -> int:
    """Write the job as from-to tables, and say what they cannot hold."""
    from wiregen.exchange.to_table import csv_bytes, tables, xlsx_bytes
    from wiregen.model import read

    data = streams.read_bytes() if arguments.file == "-" else None
    job, found = read(arguments.file, data=data, include=(*arguments.include, *settings().include))
    streams.tell_ready(findings_text(found, streams.style(sys.stderr)))
    if job is None or not job.complete or any(finding.lost for finding in found):
        streams.tell(f"wiregen: {arguments.file} could not be wholly read, so nothing was written")
        return 2
    made = tables(job)
    written = csv_bytes(made) if arguments.kind == "csv" else xlsx_bytes(made)
    for line in made.left:
        streams.tell(f"not in the table: {line}")
    target = arguments.output or ("-" if arguments.file == "-" else beside(arguments.file, f".{arguments.kind}"))
    if target == "-":
        streams.write_bytes(written)
        return 0
    write_whole({target: written}, never=[arguments.file])
    streams.tell(f"wrote {target}")
    return 0
