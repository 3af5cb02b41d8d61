"""`wiregen draw FILE`: the schematic as SVG, PDF or PNG."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_file, add_output
from wiregen.cli.files import make_folder, write_whole
from wiregen.cli.jobs import beside, look, wanted
from wiregen.cli.settings import settings
from wiregen.findings.text import findings_text, summary

if TYPE_CHECKING:
    from wiregen.model.compare import Change
    from wiregen.model.job import Job

KINDS = ("svg", "pdf", "png")
PAPERS = ("a4", "a3", "letter", "tabloid")
PAGES = ("white", "dark")
TURNS = ("landscape", "portrait")
DPI = (30.0, 1200.0)


def parser() -> Parser:
    """The arguments of `draw`."""
    made = Parser(
        "draw",
        "Draws the schematic of a job, with what `check` finds marked in it.",
        "  wiregen draw van.wnet\n  wiregen draw van.wnet --to pdf --paper a3 --case parked-dark -o van-parked.pdf\n"
        "  wiregen draw van.wnet --to png --dpi 300 --paper a4\n\n"
        "without -o the drawing is written beside the netlist under its name, from standard input to standard output;\n"
        "what does not fit on one sheet is cut into van-1.svg, van-2.svg ... (a PDF has them all in one file)",
    )
    add_file(made)
    made.add_argument("--to", dest="kind", choices=KINDS, help="the kind of file (default: as -o ends, else svg)")
    made.add_argument(
        "--paper",
        choices=PAPERS,
        help="size of the sheets (default: one a4, or one a3 where a4 is too small, or else as many of a3 as it takes)",
    )
    made.add_argument("--orientation", choices=TURNS, help="which way the sheets lie (default: as the drawing fits)")
    made.add_argument("--one-sheet", action="store_true", help="all on one sheet, however large it must be")
    made.add_argument("--dpi", type=_dpi, default=150.0, metavar="N", help="pixels to the inch of a PNG (default: 150)")
    made.add_argument("--case", metavar="NAME", help="print currents and drops of this operating case")
    made.add_argument(
        "--show",
        type=_shown,
        metavar="LIST",
        help="what to print beside conductors and parts: any of number, colour, size, length, current, drop, voltage"
        " (these three of the --case), fault, terminal, or all (default: the first four, with --case the first six)",
    )
    made.add_argument("--page", choices=PAGES, default="white", help="dark ink on white, or light ink on a dark page")
    made.add_argument(
        "--compare",
        metavar="OLD",
        help="mark what FILE has added, removed and changed since this netlist, in the place of findings",
    )
    add_output(made, "the file to write; - is standard output; a folder where the drawing has several sheets")
    return made


SHOWN = ("number", "colour", "size", "length", "current", "drop", "voltage", "fault", "terminal")
OF_CASE = SHOWN[4:7]


def _shown(words: str) -> tuple[str, ...]:
    """The list of what is to be printed, in the drawing's own order."""
    asked = [word.strip().lower().replace("color", "colour") for word in words.split(",") if word.strip()]
    for word in asked:
        if word not in (*SHOWN, "all"):
            raise argparse.ArgumentTypeError(f"{word} is none of {', '.join(SHOWN)}, all")
    return SHOWN if "all" in asked else tuple(word for word in SHOWN if word in asked)


def _dpi(words: str) -> float:
    """Pixels to the inch within what can be read and what a machine can hold."""
    try:
        value = float(words)
    except ValueError:
        value = 0.0
    if not DPI[0] <= value <= DPI[1]:
        raise argparse.ArgumentTypeError(f"{words} is not a number from {DPI[0]:.0f} to {DPI[1]:.0f}")
    return value


def run(arguments: argparse.Namespace) -> int:
    """Write the drawing; what is wrong with the text or the drawing goes to standard error."""
    target: str | None = arguments.output
    ending = os.path.splitext(target or "")[1].lower()
    kind = arguments.kind or (ending[1:] if ending[1:] in KINDS else "svg")
    if ending[1:] in KINDS and ending[1:] != kind:
        streams.tell(f"wiregen draw: -o {target} and --to {kind} do not agree: which of the two is meant?")
        return 2
    looked, study = wanted(arguments, "nothing was drawn", remedies=False)
    style = streams.style(sys.stderr)
    cases = {case.name.lower(): case.name for case in study.cases}
    if arguments.case and arguments.case.lower() not in cases:
        there = ", ".join(cases.values()) or "none"
        streams.tell(f"wiregen draw: the job has no operating case {arguments.case}; it has {there}")
        return 2
    case = cases[arguments.case.lower()] if arguments.case else None
    of_case = [word for word in arguments.show or () if word in OF_CASE]
    if of_case and case is None:
        there = ", ".join(cases.values()) or "none"
        streams.tell(f"wiregen draw: --show {','.join(of_case)} needs --case NAME; the job has {there}")
        return 2

    old = None
    if arguments.compare:
        old = look(arguments.compare, (*arguments.include, *settings().include), rules=False)
        if old.job is None or old.study is None:
            streams.tell_ready(findings_text(old.findings, style))
            streams.tell(f"wiregen: {old.path} could not be wholly read, so there is nothing to compare with")
            return 2

    from wiregen.drawing import Options, draw_job, to_pdf, to_png, with_changes

    to_output = target == "-" or (target is None and arguments.file == "-")
    options = Options(
        paper=arguments.paper,
        orientation=arguments.orientation,
        case=case,
        show=arguments.show,
        # standard output takes one SVG or PNG
        one_sheet=arguments.one_sheet or (to_output and kind != "pdf" and not arguments.paper),
    )
    changes: tuple[Change, ...] = ()
    if old is not None and old.job is not None:
        from wiregen.model.compare import compare

        changes = compare(old.job, study.job)
        options = with_changes(options, changes, _called(old.job, study.job))
    svgs, troubles = draw_job(study, looked.findings, options, arguments.page)
    if not svgs:
        streams.tell_ready(findings_text(troubles, style))
        streams.tell(f"wiregen: the drawing of {looked.path} failed its own check, so it was not written")
        return 3
    if kind == "pdf":
        sheets = [to_pdf(svgs, study.job.title)]
    elif kind == "png":
        sheets = [to_png(svg, arguments.dpi) for svg in svgs]
    else:
        sheets = [svg.encode() for svg in svgs]
    if to_output:
        if len(sheets) > 1:
            raise streams.NotWritten(
                f"wiregen: the drawing has {len(sheets)} sheets; name a folder for them with -o, or use --to pdf or"
                " --one-sheet"
            )
        streams.write_bytes(sheets[0])
        return 0
    names = _names(target, arguments.file, f".{kind}", len(sheets))
    write_whole(dict(zip(names, sheets, strict=True)), never=[arguments.file])
    streams.tell_ready(findings_text(troubles, style))
    streams.tell(f"wrote {', '.join(names)}")
    for stale in _left_over(names):
        streams.tell(f"wiregen: {stale} is still there from an earlier drawing, and is no sheet of this one")
    if old is not None:
        for change in changes:
            streams.tell(f"{change.kind:<8} {change.message}")
        streams.tell(f"{len(changes) or 'no'} change{'' if len(changes) == 1 else 's'} since {old.path}")
    if looked.findings:
        streams.tell(f"{summary([looked.path], looked.findings)}; `wiregen check` tells them in full")
    return 0


def _called(old: Job, new: Job) -> str:
    """What the older revision is called in a title block: by its letter where it has another one, else its file."""
    if old.revisions and (not new.revisions or old.revisions[-1].name != new.revisions[-1].name):
        return f"revision {old.revisions[-1].name}"
    return os.path.basename(old.path)


def _left_over(written: list[str]) -> list[str]:
    """Sheets of an earlier drawing under the same name, which nobody should take for one of this drawing."""
    stem, ending = os.path.splitext(written[0])
    if len(written) > 1:
        stem = stem.removesuffix("-1")
    there = [f"{stem}{ending}"] if len(written) > 1 else []
    there += [f"{stem}-{number}{ending}" for number in range(len(written) + 1 if len(written) > 1 else 1, 100)]
    return [path for path in there if os.path.exists(path)]


def _names(target: str | None, source: str, suffix: str, count: int) -> list[str]:
    """Where each sheet goes: `van.svg`, or `van-1.svg` and on where there are several."""
    name = target or beside(source, suffix)
    if count == 1:
        return [name]
    if target and not target.lower().endswith(suffix):
        make_folder(target)
        stem = "netlist" if source == "-" else os.path.splitext(os.path.basename(source))[0]
        name = os.path.join(target, stem + suffix)
    stem, ending = os.path.splitext(name)
    return [f"{stem}-{number}{ending}" for number in range(1, count + 1)]
