"""`wiregen folder FILE`: the customer folder as PDF, as a page for a browser and as a workbook."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from wiregen.circuit.pause import collector_at_rest
from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_file, add_output
from wiregen.cli.files import make_folder, write_whole
from wiregen.cli.jobs import beside, wanted
from wiregen.findings.text import findings_text, summary

if TYPE_CHECKING:
    from wiregen.papers.office import Office

OFFICE = "office.toml"


def parser() -> Parser:
    """The arguments of `folder`."""
    made = Parser(
        "folder",
        "Writes the papers of a job: overview, diagram, cable schedule, cut and parts lists, fuse card, labels,"
        " commissioning, fault finding, hand-over and energy. One PDF, the same as one HTML page, the tables as .xlsx.",
        "  wiregen folder van.wnet\n  wiregen folder van.wnet --office workshop.toml -o customers/van\n\n"
        "without -o the files are written beside the netlist: van-folder.pdf, .html and .xlsx",
    )
    add_file(made)
    words = f"company, contact, paper, reels and allowances in TOML (default: {OFFICE} beside the netlist, if any)"
    made.add_argument("--office", metavar="FILE", help=words)
    made.add_argument("--paper", choices=("a4", "letter"), help="size of the pages (default: as the office file says)")
    made.add_argument("--sheets", choices=("a4", "a3", "letter", "tabloid"), help="size of the diagram's sheets")
    add_output(made, "a folder for the three files; it is made where there is none")
    return made


def run(arguments: argparse.Namespace) -> int:
    """Write the three files; what is wrong with the text or the drawing goes to standard error."""
    with collector_at_rest():  # with matplotlib and openpyxl loaded it would walk through all of both, often
        return _run(arguments)


def _run(arguments: argparse.Namespace) -> int:
    looked, study = wanted(arguments, "no folder was made")
    style = streams.style(sys.stderr)
    from wiregen.drawing import Options, draw_job
    from wiregen.papers import OfficeMistake, folder, page, texts, typeset, workbook
    from wiregen.rules.register import JUDGING

    try:
        office = _office(arguments)
    except OfficeMistake as problem:
        streams.tell(f"wiregen folder: {problem}")
        return 2
    if arguments.paper:
        office = office._replace(paper=arguments.paper)
    svgs, troubles = draw_job(study, looked.findings, Options(paper=arguments.sheets))
    if not svgs:
        streams.tell_ready(findings_text(troubles, style))
        streams.tell(f"wiregen: the drawing of {looked.path} failed its own check, so no folder was made")
        return 3
    made = folder(study, looked.findings, svgs, rules=len(JUDGING), office=office)
    heading = texts(made.language).say("folder.contents")
    stem = _stem(arguments)
    outputs = {
        f"{stem}.pdf": typeset(made, heading),
        f"{stem}.html": page(made, heading).encode(),
        f"{stem}.xlsx": workbook(made),
    }
    write_whole(outputs, never=[arguments.file])
    streams.tell(f"wrote {', '.join(outputs)}")
    if looked.findings:
        streams.tell(f"{summary([looked.path], looked.findings)}; `wiregen check` tells them in full")
    return 0


def _stem(arguments: argparse.Namespace) -> str:
    name = "netlist" if arguments.file == "-" else os.path.basename(beside(arguments.file, ""))
    if arguments.output:
        make_folder(arguments.output)
        return os.path.join(arguments.output, f"{name}-folder")
    return f"{name}-folder" if arguments.file == "-" else beside(arguments.file, "-folder")


def _office(arguments: argparse.Namespace) -> Office:
    """What the office file says; what is usual where there is none. Raises OfficeMistake."""
    import tomllib

    from wiregen.papers import Office, OfficeMistake, office

    path = arguments.office or os.path.join(os.path.dirname(arguments.file), OFFICE)
    if not arguments.office and not os.path.isfile(path):
        return Office()
    shown = path.replace(os.sep, "/")
    try:
        return office(tomllib.loads(streams.read_file(path).decode("utf-8-sig")))
    except OSError as error:
        raise OfficeMistake(f"{shown} could not be read: {streams.why(error, reading=True)}") from error
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise OfficeMistake(f"{shown} is no TOML: {error}") from error
    except OfficeMistake as problem:
        raise OfficeMistake(f"{shown}: {problem}") from problem
