"""`wiregen study FILE`: what was computed about a job."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_file, add_output, add_shape
from wiregen.cli.jobs import wanted
from wiregen.findings.cells import visible_lines
from wiregen.findings.text import Style, findings_text

if TYPE_CHECKING:
    from wiregen.circuit.study import Study


def parser() -> Parser:
    """The arguments of `study`."""
    made = Parser(
        "study",
        "Computes currents, voltages, drops, temperatures, faults and energy in each operating case.",
        "  wiregen study van.wnet\n  wiregen study van.wnet --output json -o van.study.json\n"
        "  wiregen study van.wnet --size",
    )
    add_file(made)
    made.add_argument(
        "--size", action="store_true", help="instead: the least copper and the fuses that fit, for the whole job"
    )
    add_shape(made)
    add_output(made, "write the study to this file")
    return made


def run(arguments: argparse.Namespace) -> int:
    """Print the study; findings about the text or the computation go to standard error."""
    looked, study = wanted(arguments, "nothing was computed", rules=False)
    streams.tell_ready(findings_text(looked.findings, streams.style(sys.stderr)))
    style = Style() if arguments.output else streams.style(sys.stdout)
    text = (_sizes if arguments.size else _all)(study, arguments.shape, style)
    if arguments.output:
        from wiregen.cli.files import write_whole

        write_whole({arguments.output: text.encode("utf-8", "replace")}, never=[arguments.file])
    else:
        streams.write_text(text)
    return 0


def _all(study: Study, shape: str, style: Style) -> str:
    """The whole study."""
    if shape == "json":
        from wiregen.circuit.study_json import as_json
        from wiregen.findings.json import dumps

        return dumps(as_json(study))
    from wiregen.circuit.study_text import as_text

    return visible_lines(as_text(study, style.width))


def _sizes(study: Study, shape: str, style: Style) -> str:
    """The sizes that would do with least copper."""
    from wiregen.circuit.size_job import size_job

    sizing = size_job(study.job)
    if shape == "json":
        from wiregen.circuit.study_json import sizes_json
        from wiregen.findings.json import dumps

        return dumps(sizes_json(sizing))
    from wiregen.circuit.study_text import sizes_text

    return visible_lines(sizes_text(sizing, style.width))
