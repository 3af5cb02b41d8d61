"""`wiregen diagnose FILE`: which fault explains the readings, how sure that is, and what to measure next."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_file, add_output, add_shape
from wiregen.cli.jobs import look
from wiregen.cli.settings import settings
from wiregen.findings import Finding
from wiregen.findings.cells import visible_lines, wrap
from wiregen.findings.text import Style, findings_text

if TYPE_CHECKING:
    from wiregen.circuit.study import Study
    from wiregen.diagnosis.choice import NoCase
    from wiregen.diagnosis.diagnose import Diagnosis, Expected, Session
    from wiregen.diagnosis.points import Probe
    from wiregen.diagnosis.readings import NotUnderstood, Reading
    from wiregen.diagnosis.symptoms import Symptom

STEPS = 30  # readings that are asked for one by one, at most


def parser() -> Parser:
    """The arguments of `diagnose`."""
    made = Parser(
        "diagnose",
        "Tries every single fault of a job on paper and ranks those that explain what was measured: how sure it is,"
        " which faults no reading tells apart, and the reading that would tell most.",
        "  wiregen diagnose van.wnet\n"
        '  wiregen diagnose van.wnet --case driving --reading "X1.a.+ to X1.a.- 11.2 V" --reading "W2 28 A"\n'
        '  wiregen diagnose van.wnet --symptom "fridge does not work" --svg next.svg\n\n'
        "without --reading it asks for one reading at a time, with the leads left in place while the vehicle is put\n"
        "into another case; an empty answer passes a reading that cannot be taken, `swings` tells one that does not\n"
        "come to rest, q ends. Volts are between two terminals, amps by a clamp around a conductor, in the first case\n"
        "where a reading names none. Meters are taken as good to 1 %\n"
        "and readings as good as their last digit: write 0.02 V, not 0 V, where the meter shows it.",
    )
    add_file(made)
    made.add_argument(
        "--case",
        action="append",
        default=[],
        metavar="NAME",
        help="an operating case that the vehicle is, or can be, put in (may be repeated; default: a few that differ)",
    )
    made.add_argument(
        "--reading",
        action="append",
        default=[],
        metavar="WORDS",
        help="what was measured: 'X1.a.+ to X1.a.- 11.2 V', 'dcdc.in 12.1 V', 'W2 28 A in night' (may be repeated)",
    )
    made.add_argument(
        "--symptom",
        action="append",
        default=[],
        metavar="WORDS",
        help="what is wrong: 'charger starts and stops', 'fridge does not work', 'fuse F1 blown' (may be repeated)",
    )
    made.add_argument("--svg", metavar="FILE", help="draw where the leads go for the next reading")
    add_shape(made)
    add_output(made, "write the diagnosis to this file")
    return made


def run(arguments: argparse.Namespace) -> int:
    """Print the diagnosis; what could not be understood goes to standard error, with exit code 2."""
    chosen = settings()
    looked = look(arguments.file, (*arguments.include, *chosen.include), rules=False, limits=chosen.limits)
    streams.tell_ready(findings_text(looked.findings, streams.style(sys.stderr)))
    if looked.study is None:
        streams.tell(f"wiregen: {looked.path} could not be wholly read, so nothing was computed")
        return 2
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the matrices are small: threads would only wait for each other
    from wiregen.diagnosis.choice import NoCase
    from wiregen.diagnosis.diagnose import Session
    from wiregen.diagnosis.readings import NotUnderstood, reading
    from wiregen.diagnosis.symptoms import symptom

    job = looked.study.job
    mistakes: list[Finding] = []
    readings: list[Reading] = []
    symptoms: list[Symptom] = []
    for words in arguments.reading:
        try:
            readings.append(reading(job, words))
        except NotUnderstood as problem:
            mistakes.append(_mistake("--reading", problem))
    for words in arguments.symptom:
        try:
            symptoms.append(symptom(job, words))
        except NotUnderstood as problem:
            mistakes.append(_mistake("--symptom", problem))
    session: Session | None = None
    if not mistakes:
        try:
            session = Session(looked.study, _cases(arguments.case, readings))
            found = session.diagnose(readings, symptoms)
        except NoCase as problem:
            mistakes.append(_mistake("--case", problem))
    if mistakes or session is None:
        streams.tell_ready(findings_text(mistakes, streams.style(sys.stderr)))
        streams.tell("wiregen: nothing was diagnosed")
        return 2
    asking = not arguments.reading and arguments.shape == "text" and arguments.file != "-"
    if asking:
        found = _asked(session, looked.study, found, arguments.svg, arguments.file)
    elif arguments.svg:
        code = _drawn(looked.study, found, arguments.svg, arguments.file)
        if code:
            return code
    _write(arguments, looked.path, found)
    return 0


def _cases(named: list[str], readings: list[Reading]) -> list[str]:
    """The cases of --case and of the readings; none where neither names any."""
    return list(dict.fromkeys([*named, *(r.case for r in readings if r.case)]))


def _mistake(path: str, problem: NotUnderstood | NoCase) -> Finding:
    return Finding(
        "diagnosis-mistake", "danger", str(problem), reason=problem.reason, remedy=problem.remedy, lost=True, path=path
    )


def _write(arguments: argparse.Namespace, path: str, found: Diagnosis) -> None:
    style = Style() if arguments.output else streams.style(sys.stdout)
    if arguments.shape == "json":
        from wiregen.diagnosis.told_json import as_json
        from wiregen.findings.json import dumps

        text = dumps(as_json(path, found))
    else:
        from wiregen.diagnosis.told import as_text

        text = visible_lines(as_text(found, style.width))
    if arguments.output:
        from wiregen.cli.files import write_whole

        write_whole({arguments.output: text.encode("utf-8", "replace")}, never=[arguments.file])
    else:
        streams.write_text(text)


def _drawn(study: Study, found: Diagnosis, path: str, file: str) -> int:
    """Write the drawing of the next reading, where there is one."""
    from wiregen.cli.files import write_whole

    if not found.next:
        streams.tell(f"wiregen: there is no further reading to draw, so {path} was not written")
        return 0
    from wiregen.diagnosis.marks import marked
    from wiregen.diagnosis.told import in_words, placing

    caption = placing(found.job, found.next[0].probe)
    if len(found.states) > 1:
        caption += f": read in {', then in '.join(in_words(each.case) for each in found.next)}"
    drawn = marked(study, found.next[0].probe, caption)
    if drawn is None:
        streams.tell(f"wiregen: the drawing of {file} failed its own check, so {path} was not written")
        return 3
    write_whole({path: drawn.encode()}, never=[file])
    return 0


# ---------------------------------------------------------------- one reading at a time


def _asked(session: Session, study: Study, found: Diagnosis, svg: str | None, file: str) -> Diagnosis:
    """Ask for readings until the fault is found, no reading tells more, or no answer comes."""
    from wiregen.diagnosis.choice import NoCase
    from wiregen.diagnosis.readings import NotUnderstood, answer, reading
    from wiregen.diagnosis.symptoms import symptom

    readings: list[Reading] = []
    symptoms = list(found.symptoms)
    passed: list[tuple[Probe, str]] = []
    lines = _lines()
    width = streams.style(sys.stdout).width
    last: Expected | None = None
    number = 0
    for _ in range(STEPS):
        if not found.next or found.found:
            break
        wanted = found.next[0]
        if svg and (last is None or last.probe != wanted.probe):
            _drawn(study, found, svg, file)
        if last is None or last.probe != wanted.probe:
            number += 1
        streams.write_text("\n".join(wrap(_question(found, wanted, last, number), width, "", "   ")) + "\n")
        line = next(lines, None)
        if line is None or line.lower() in ("q", "quit", "end"):
            break
        try:
            if not line:
                stayed = last is not None and last.probe == wanted.probe
                passed.append((wanted.probe, wanted.case.name if stayed else ""))
            elif line.lower().startswith("symptom "):
                symptoms.append(symptom(found.job, line[8:]))
            else:
                told = answer(wanted.probe, line) or reading(found.job, line)
                told = told if told.case else told._replace(case=wanted.case.name)
                session.diagnose([told])  # whether its case is one of those tried
                readings.append(told)
        except (NotUnderstood, NoCase) as problem:
            streams.write_text("\n".join(wrap(f"{problem}; {problem.remedy}", width, "   ", "   ")) + "\n")
            continue
        last = wanted
        found = session.diagnose(readings, symptoms, passed, stay=True)
        streams.write_text(_so_far(found, width))
    streams.write_text("\n")
    return found


def _question(found: Diagnosis, wanted: Expected, last: Expected | None, number: int) -> str:
    """Where the leads go and what to put the vehicle into, as far as either changes."""
    from wiregen.diagnosis.told import in_words, placing

    unit = wanted.probe.kind
    case = in_words(wanted.case) if len(found.states) > 1 else ""
    if last is not None and last.probe == wanted.probe:
        if last.case == wanted.case:  # it was not understood
            return f"   the same once more: how many {unit}?"
        return f"   {'The clamp stays' if unit == 'A' else 'The leads stay'}; now in {case}: how many {unit}?"
    if last is None and case:
        case = f"in {case}, "
    elif case and last is not None:
        case = f"still in {wanted.case.name}, " if last.case == wanted.case else f"now in {case}, "
    return f"{number}. {case}{placing(found.job, wanted.probe)}: how many {unit}?"


def _lines() -> Iterator[str]:
    """Answers, as long as any come."""
    while True:
        if sys.stdin is None:
            return
        if sys.stdin.isatty():
            streams.write_text("> ")
        try:
            line = sys.stdin.readline()
        except (OSError, UnicodeDecodeError):
            return
        if not line:
            return
        yield line.strip()


def _so_far(found: Diagnosis, width: int) -> str:
    from wiregen.diagnosis.told import share

    out = []
    for group in found.groups[:3]:
        count = len(group.faults) - 1
        others = f" (or {count} other{'s' if count > 1 else ''} alike)" if count else ""
        out += wrap(f"{group.faults[0].words}{others}", width, f"   {share(group.belief):>6}  ", " " * 11)
    if found.nothing >= 0.1:
        out.append(f"   {share(found.nothing):>6}  nothing is wrong")
    return "\n".join(out) + "\n"
