"""`wiregen check FILE...`: what is wrong with each job, why, and what would put it right."""

from __future__ import annotations

import argparse
import os
import re
import sys
import time
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_files, add_include, add_output
from wiregen.cli.jobs import Looked, look, plain
from wiregen.cli.select import nothing, selected
from wiregen.cli.settings import Settings, settings
from wiregen.findings import SEVERITIES, Severity, mistake
from wiregen.findings.order import reaches
from wiregen.findings.report import Checked

if TYPE_CHECKING:
    from wiregen.cli.silence import Quiet

SHAPES = ("text", "json", "sarif", "junit", "annotations")


class Task(NamedTuple):
    """One netlist to look at, with all that decides about the outcome: sent to another process as it is."""

    path: str
    include: tuple[str, ...]
    today: str
    limits: str
    explain: bool
    data: bytes | None  # of standard input


class Result(NamedTuple):
    """What one netlist came to. `quiet` is what its rules were content with, where that was asked for."""

    checked: Checked
    quiet: tuple[Quiet, ...]


def parser() -> Parser:
    """The arguments of `check`."""
    made = Parser(
        "check",
        "Looks for hazards and mistakes in netlists.",
        "  wiregen check van.wnet\n  wiregen check jobs --output sarif --fail-on danger -o wiregen.sarif\n"
        "  wiregen check van.wnet --fix --diff\n\n"
        "A folder stands for the netlists under it, kits for others left out. Settings of a repository are read from\n"
        "wiregen.toml or [tool.wiregen] in pyproject.toml: include, fail-on, limits, baseline.\n\n"
        "ends with 0 where nothing is to be said at or above the threshold, 1 where something is,\n"
        "2 where a file could not be read or understood, 3 where the report could not be written",
    )
    add_files(made, "a netlist, a folder of them, or a pattern; - reads standard input")
    add_include(made)
    made.add_argument(
        "--output",
        dest="shape",
        choices=SHAPES,
        default="text",
        help="text for people; json, sarif, junit, annotations (workflow commands) for programs",
    )
    add_output(made, "write the report to this file")
    made.add_argument(
        "--fail-on",
        choices=list(SEVERITIES),
        help="the least severity that makes the command end with 1 (default: warning)",
    )
    made.add_argument(
        "--today",
        type=_date,
        metavar="DATE",
        help="the day, 2027-03-01, by which acceptances with an `until` have run out or not (default: the clock's)",
    )
    made.add_argument("--jobs", type=_count, default=1, metavar="N", help="how many netlists to check at a time")
    made.add_argument(
        "--explain-silence", action="store_true", help="tell what each rule looked at and why it was content"
    )
    made.add_argument("--baseline", metavar="FILE", help="take the findings listed there as accepted")
    made.add_argument("--write-baseline", metavar="FILE", help="list all present findings there, and end with 0")
    made.add_argument(
        "--fix", action="store_true", help="mend the netlist where one answer is clear, and show what was changed"
    )
    made.add_argument("--diff", action="store_true", help="with --fix: only show what would be changed")
    return made


def run(arguments: argparse.Namespace) -> int:
    """Report on every file; the exit code of the worst."""
    trouble = _disagreement(arguments)
    if trouble:
        streams.tell(f"wiregen check: {trouble}")
        return 2
    chosen = settings()
    paths = selected(arguments.files)
    tasks = _tasks(arguments, chosen, paths)
    if arguments.fix:
        from wiregen.cli.fix import fix_files

        code = fix_files(tasks, only_show=arguments.diff, to_error=arguments.shape != "text")
        if arguments.diff:
            return code
    results = _results(tasks, arguments.jobs)
    files = [result.checked for result in results]
    if arguments.write_baseline:
        return _write_baseline(files, arguments.write_baseline, paths)
    baseline = arguments.baseline or chosen.baseline
    if baseline:
        from wiregen.cli.baseline import with_baseline

        files = with_baseline(files, baseline)
    fail_on: Severity = arguments.fail_on or chosen.fail_on
    quiet = [each for result in results for each in result.quiet]
    text = _report(files, quiet, arguments, fail_on)
    if arguments.output:
        from wiregen.cli.files import write_whole

        write_whole({arguments.output: text.encode("utf-8", "replace")}, never=paths)
    else:
        streams.write_text(text)
    if not all(each.readable for each in files):
        return 2
    return 1 if reaches([finding for each in files for finding in each.findings], fail_on) else 0


def _disagreement(arguments: argparse.Namespace) -> str:
    """Which of the options do not go together, in words."""
    if arguments.diff and not arguments.fix:
        return "--diff goes with --fix"
    if arguments.explain_silence and arguments.shape not in ("text", "json"):
        return "--explain-silence goes with --output text or json"
    if arguments.write_baseline and (arguments.fix or arguments.baseline or arguments.output):
        return "--write-baseline goes without --fix, --baseline and -o"
    return ""


def _tasks(arguments: argparse.Namespace, chosen: Settings, paths: Sequence[str]) -> list[Task]:
    include = (*arguments.include, *chosen.include)
    today = arguments.today or time.strftime("%Y-%m-%d")
    return [
        Task(
            path, include, today, chosen.limits, arguments.explain_silence,
            streams.read_bytes() if path == "-" else None,
        )
        for path in paths
    ]  # fmt: skip


def _results(tasks: Sequence[Task], jobs: int) -> list[Result]:
    """One result for each task, in their order, however many processes work on them."""
    if jobs == 1 or len(tasks) < 2:
        return [result(task) for task in tasks]
    from wiregen.cli.processes import Ended, in_processes

    try:
        return in_processes(result, tasks, jobs)
    except Ended:
        raise streams.NotWritten(
            "wiregen: one of the processes was ended from outside, so nothing was reported; is there enough memory?"
        ) from None


def look_at(task: Task, text: str | None = None) -> Looked:
    """One netlist, or another text in its place, taken through the rooms."""
    why_not = nothing(task.path) if text is None and task.data is None else ""
    if why_not:
        shown = plain(task.path)
        told = mistake(why_not, None, remedy="name a netlist, or a folder with netlists in it", path=shown)
        return Looked(shown, None, None, (told,))
    return look(
        task.path,
        task.include,
        today=task.today,
        limits=task.limits,
        text=text,
        data=task.data if text is None else None,
    )


def result(task: Task) -> Result:
    """What one netlist comes to."""
    looked = look_at(task)
    quiet: tuple[Quiet, ...] = ()
    if task.explain and looked.judgement:
        from wiregen.cli.silence import silence

        quiet = tuple(silence(looked.path, looked.judgement))
    title = looked.job.title if looked.job else None
    return Result(Checked(looked.path, title, looked.readable, looked.findings), quiet)


def _report(files: Sequence[Checked], quiet: Sequence[Quiet], arguments: argparse.Namespace, fail_on: Severity) -> str:
    """The report in the shape that was asked for."""
    shape, explain = arguments.shape, arguments.explain_silence
    findings = [finding for each in files for finding in each.findings]
    if shape == "json":
        from wiregen.findings.json import findings_json

        return findings_json(files, findings, list(quiet) if explain else None)
    if shape == "sarif":
        from wiregen.findings.sarif import findings_sarif
        from wiregen.rules import pages

        return findings_sarif(files, pages(), os.getcwd())
    if shape == "junit":
        from wiregen.findings.junit import findings_junit

        return findings_junit(files, fail_on, os.getcwd())
    if shape == "annotations":
        from wiregen.findings.annotations import findings_annotations

        return findings_annotations(files, os.getcwd())
    from wiregen.findings.text import Style, report_text

    style = Style() if arguments.output else streams.style(sys.stdout)
    after = ""
    if explain:
        from wiregen.cli.silence import silence_text

        after = silence_text(quiet, style.width)
    unread = [each.path for each in files if not each.readable]
    return report_text([each.path for each in files], findings, unread, style, after)


def _write_baseline(files: Sequence[Checked], path: str, netlists: Sequence[str]) -> int:
    from wiregen.cli.baseline import written
    from wiregen.cli.files import write_whole

    unread = [each.path for each in files if not each.readable]
    if unread:
        streams.tell(f"wiregen: {', '.join(unread)} could not be wholly read, so no baseline was written")
        return 2
    text, findings = written(files, path)
    write_whole({path: text.encode()}, never=netlists)
    dangers = sum(finding.severity == "danger" for finding in findings)
    counted = f"{len(findings)} finding{'' if len(findings) == 1 else 's'}"
    streams.tell(f"wrote {path}: {counted}, dangers among them: {dangers}; to be listed does not put them right")
    return 0


def _date(word: str) -> str:
    if not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])", word):
        raise argparse.ArgumentTypeError(f"{word} is no date; write it as 2027-03-01")
    return word


def _count(word: str) -> int:
    if not re.fullmatch(r"[1-9]\d{0,2}", word):
        raise argparse.ArgumentTypeError(f"{word} is no number of processes; write 1 or more")
    return int(word)
