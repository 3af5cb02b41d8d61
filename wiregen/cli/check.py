"""`wiregen check FILE...`: what is wrong with each job, why, and what would put it right."""

from __future__ import annotations

import argparse
import re
import sys
import time

from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_files, add_include, add_output, add_shape
from wiregen.cli.jobs import look
from wiregen.findings import SEVERITIES
from wiregen.findings.order import reaches


def parser() -> Parser:
    """The arguments of `check`."""
    made = Parser(
        "check",
        "Looks for hazards and mistakes in netlists.",
        "  wiregen check van.wnet\n  wiregen check jobs/*.wnet --output json --fail-on danger\n\n"
        "ends with 0 where nothing is to be said at or above the threshold, 1 where something is,\n"
        "2 where a file could not be read or understood, 3 where the report could not be written",
    )
    add_files(made)
    add_include(made)
    add_shape(made)
    add_output(made, "write the report to this file")
    made.add_argument(
        "--fail-on",
        choices=list(SEVERITIES),
        default="warning",
        help="the least severity that makes the command end with 1 (default: warning)",
    )
    made.add_argument(
        "--today",
        type=_date,
        metavar="DATE",
        help="the day, 2027-03-01, by which acceptances with an `until` have run out or not (default: the clock's)",
    )
    return made


def run(arguments: argparse.Namespace) -> int:
    """Report on every file; the exit code of the worst."""
    today = arguments.today or time.strftime("%Y-%m-%d")
    looked = [look(path, arguments.include, today=today) for path in arguments.files]
    findings = [finding for each in looked for finding in each.findings]
    if arguments.shape == "json":
        from wiregen.findings.json import Checked, findings_json

        text = findings_json(
            [Checked(each.path, each.job.title if each.job else None, each.readable) for each in looked], findings
        )
    else:
        from wiregen.findings.text import Style, report_text

        style = Style() if arguments.output else streams.style(sys.stdout)
        unread = [each.path for each in looked if not each.readable]
        text = report_text([each.path for each in looked], findings, unread, style)
    if arguments.output:
        from wiregen.cli.files import write_whole

        write_whole({arguments.output: text.encode("utf-8", "replace")}, never=arguments.files)
    else:
        streams.write_text(text)
    if not all(each.readable for each in looked):
        return 2
    return 1 if reaches(findings, arguments.fail_on) else 0


def _date(word: str) -> str:
    if not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])", word):
        raise argparse.ArgumentTypeError(f"{word} is no date; write it as 2027-03-01")
    return word
