"""`wiregen figures FILE`: teaching figures as SVG and PNG, one PDF, and one page to step through."""

from __future__ import annotations

import argparse
import os
import re
import sys

from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_file, add_output
from wiregen.cli.files import make_folder, write_whole
from wiregen.cli.jobs import beside, wanted
from wiregen.findings.text import findings_text

KINDS = ("stages", "cases", "faults", "shorts", "worksheets", "readings")
PIXELS = 1080  # height of a PNG: a projector's
READABLE = 40  # the height of a picture in that of its letters, at most
INCH = 25.4  # mm


def parser() -> Parser:
    """The arguments of `figures`."""
    made = Parser(
        "figures",
        "Makes the teaching figures of a job, all of one geometry: each step of the installation, the operating cases,"
        " planted faults, a short circuit in slow motion, worksheets and meter readings to be worked on, with answers.",
        "  wiregen figures lesson.wnet\n  wiregen figures lesson.wnet --only stages,faults --fault 'leave-out F1'\n"
        "  wiregen figures lesson.wnet --only worksheets,readings --seed 1-24\n\n"
        "without -o a folder is made beside the netlist, lesson-figures: each figure as SVG and PNG, all of them in\n"
        "figures.pdf and in figures.html (forward and back by the arrow keys), index.md with captions and alt texts;\n"
        "answers to what is handed out stand apart from it, in answers-*, answers.pdf, answers.html and answers.md",
    )
    add_file(made)
    made.add_argument(
        "--only", type=_kinds, default=KINDS, metavar="LIST", help=f"which figures: any of {', '.join(KINDS)}"
    )
    made.add_argument(
        "--fault",
        action="append",
        default=[],
        metavar="WORDS",
        help="plant this fault as well, in the words of a fault statement: 'swap X1', 'joint X1.+ 90 mohm',"
        " 'change W2 2.5 mm2' (may be repeated)",
    )
    made.add_argument(
        "--seed",
        type=_seeds,
        default=(),
        metavar="N",
        help="draw the worksheets on other parts and hide another fault in the readings, by a number that stands on the"
        " sheets and in the files' names; 1-24 draws a sheet of each kind for every number",
    )
    add_output(made, "a folder for the files; it is made where there is none")
    return made


def counted(many: int, what: str) -> str:
    """`1 figure`, `2 figures`."""
    return f"{many} {what}{'' if many == 1 else 's'}"


def _kinds(words: str) -> tuple[str, ...]:
    asked = [word.strip().lower() for word in words.split(",") if word.strip()]
    for word in asked:
        if word not in KINDS:
            raise argparse.ArgumentTypeError(f"{word} is none of {', '.join(KINDS)}")
    if not asked:
        raise argparse.ArgumentTypeError(f"nothing is named; name any of {', '.join(KINDS)}")
    return tuple(kind for kind in KINDS if kind in asked)


MOST_SEEDS = 100  # in one run


def _seeds(words: str) -> tuple[int, ...]:
    """`7` or `1-24`."""
    found = re.fullmatch(r"(\d{1,6})(?:-(\d{1,6}))?", words.strip())
    if not found:
        raise argparse.ArgumentTypeError(f"{words} is no number, and no range such as 1-24")
    first = int(found.group(1))
    last = int(found.group(2) or first)
    if not first <= last < first + MOST_SEEDS:
        raise argparse.ArgumentTypeError(f"{words} is no range of at most {MOST_SEEDS}, the smaller number first")
    return tuple(range(first, last + 1))


def run(arguments: argparse.Namespace) -> int:
    """Write the figures, whole or not at all; exit code 1 where an expected finding of a planted fault did not come."""
    from wiregen.teaching.plant import given

    looked, study = wanted(arguments, "no figures were made", more=given(arguments.fault))
    style = streams.style(sys.stderr)
    from wiregen.drawing import to_pdf, to_png
    from wiregen.teaching import Crowded, Unfit, figure_set, index, stepper

    try:
        made = figure_set(study, looked.findings, only=arguments.only, seeds=arguments.seed)
    except Crowded as trouble:
        streams.tell(f"wiregen: {trouble}; no figures were made")
        return 2
    except Unfit as trouble:
        streams.tell(f"wiregen: the figures of {looked.path} failed their own check, so none was written: {trouble}")
        return 3
    if made.problems:
        streams.tell_ready(findings_text(made.problems, style))
        streams.tell("wiregen: not all that the lesson asks for can be done, so no figures were made")
        return 2
    for words in made.missed:
        streams.tell(f"wiregen figures: {words}")
    if made.missed:
        streams.tell("wiregen: a planted fault is not found as the lesson says, so no figures were made")
        return 1
    if not made.figures:
        streams.tell(f"wiregen: there is nothing of {', '.join(arguments.only)} to be shown of {looked.path}")
        return 2
    folder = arguments.output or ("figures" if arguments.file == "-" else beside(arguments.file, "-figures"))
    outputs: dict[str, bytes] = {}
    for figure in (*made.figures, *made.answers):
        outputs[f"{figure.name}.svg"] = figure.svg.encode()
        outputs[f"{figure.name}.png"] = to_png(figure.svg, PIXELS * INCH * 16 / 9 / 297.0)
    answers = ("answers", f"Answers: {made.title}", made.answers, "answers.md")
    for name, title, figures, list_ in (("figures", made.title, made.figures, "index.md"), answers):
        if figures:
            outputs[f"{name}.pdf"] = to_pdf([figure.svg for figure in figures], title)
            outputs[f"{name}.html"] = stepper(title, figures).encode()
            outputs[list_] = index(title, figures).encode()
    make_folder(folder)
    write_whole({os.path.join(folder, name): data for name, data in outputs.items()}, never=[arguments.file])
    wrote = counted(len(made.figures), "figure")
    streams.tell(f"wrote {wrote} to {folder}: figures.html to step through, figures.pdf to print")
    if made.answers:
        sheets = counted(len(made.answers), "sheet")
        streams.tell(f"wrote {sheets} of answers beside them: answers.pdf, answers.html, answers-*")
    dangers = [f for f in looked.findings if f.severity == "danger" and not f.accepted]
    if dangers:
        what = counted(len(dangers), "danger")
        first = f"{dangers[0].rule} on {dangers[0].subject}"
        streams.tell(
            f"wiregen: `wiregen check {looked.path}` finds {what} that no figure tells of ({first}"
            f"{' ...' if len(dangers) > 1 else ''}): mend the job, or tell the class"
        )
    for words in made.left_out:
        streams.tell(f"wiregen: {words}")
    for old in sorted(os.listdir(folder)):
        if re.fullmatch(r"(answers-)?\d\d+-.*\.(svg|png)|answers\.(pdf|html|md)", old) and old not in outputs:
            streams.tell(f"wiregen: {old} is still there from an earlier set, and is no figure of this one")
    if round(1 / made.lettering) > READABLE:
        streams.tell(
            f"wiregen: labels are 1/{1 / made.lettering:.0f} of a picture's height, and from the back of a room"
            f" 1/{READABLE} can be read: make a smaller job of what the lesson is about"
        )
    return 0
