"""`wiregen study FILE`: what was computed about a job."""

from __future__ import annotations

import argparse
import sys

from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_file, add_output, add_shape
from wiregen.cli.jobs import look
from wiregen.cli.settings import settings
from wiregen.findings.cells import visible_lines
from wiregen.findings.text import Style, findings_text


def parser() -> Parser:
    """The arguments of `study`."""
    made = Parser(
        "study",
        "Computes currents, voltages, drops, temperatures, faults and energy in each operating case.",
        "  wiregen study van.wnet\n  wiregen study van.wnet --output json -o van.study.json",
    )
    add_file(made)
    add_shape(made)
    add_output(made, "write the study to this file")
    return made


def run(arguments: argparse.Namespace) -> int:
    """Print the study; findings about the text or the computation go to standard error."""
    chosen = settings()
    looked = look(arguments.file, (*arguments.include, *chosen.include), rules=False, limits=chosen.limits)
    streams.tell_ready(findings_text(looked.findings, streams.style(sys.stderr)))
    if looked.study is None:
        streams.tell(f"wiregen: {looked.path} could not be wholly read, so nothing was computed")
        return 2
    if arguments.shape == "json":
        from wiregen.circuit.study_json import as_json
        from wiregen.findings.json import dumps

        text = dumps(as_json(looked.study))
    else:
        from wiregen.circuit.study_text import as_text

        style = Style() if arguments.output else streams.style(sys.stdout)
        text = visible_lines(as_text(looked.study, style.width))
    if arguments.output:
        from wiregen.cli.files import write_whole

        write_whole({arguments.output: text.encode("utf-8", "replace")}, never=[arguments.file])
    else:
        streams.write_text(text)
    return 0
