"""`check --fix`: the edits that findings propose, each tried on the text and kept only where it holds.

A fix is kept where the netlist, read and studied and checked again, no longer has the finding and has no new one. Only
the netlist that was named is edited, not what it includes; comments and layout stay. All files are written, or none.
"""

from __future__ import annotations

import codecs
from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from wiregen.cli import streams
from wiregen.cli.check import Task, look_at
from wiregen.cli.jobs import Looked, plain
from wiregen.findings import Edit, Finding, Source
from wiregen.findings.cells import visible_lines
from wiregen.findings.order import place
from wiregen.language.files import read_source

MOST = 200  # fixes tried on one file


class Mended(NamedTuple):
    """What came of one file: the text as wiregen reads it before and after, and a line for each finding with a fix."""

    before: str
    after: str
    said: tuple[str, ...]
    readable: bool


def fix_files(tasks: Sequence[Task], *, only_show: bool, to_error: bool) -> int:
    """Mend every file, show the differences, and write unless `only_show`: 1 where anything was, or would be, changed,
    2 where a file could not be wholly read.

    The differences go to standard output, with `to_error` to standard error. Raises NotWritten.
    """
    outputs: dict[str, bytes] = {}
    shown: list[str] = []
    said: list[str] = []
    readable = True
    for task in tasks:
        original = _original(task)
        if original is None:
            readable = readable and look_at(task).readable
            said.append(f"{plain(task.path)} is left as it is: {_why_not(task)}")
            continue
        text, data = original
        mended = mend(task, text, "would be fixed" if only_show else "is fixed")
        said += mended.said
        readable = readable and mended.readable
        if mended.after != mended.before:
            shown.append(difference(plain(task.path), mended.before, mended.after))
            outputs[task.path] = _as_it_was(mended.after, data)
    if outputs and not only_show:
        from wiregen.cli.files import write_whole

        write_whole(outputs)
    text = "\t".join(visible_lines(piece) for piece in "".join(shown).split("\t"))
    if to_error:
        streams.tell_ready(text)
    elif text:
        streams.write_text(text + ("" if only_show else "\n"))
    for line in said:
        streams.tell(line)
    if not said:
        streams.tell("nothing here has one clear fix")
    return 2 if not readable else 1 if outputs else 0


def mend(task: Task, text: str, fixed: str = "is fixed") -> Mended:
    """Try the fix of each finding, one after the other, each on what the ones before have left."""
    now, looked = text, look_at(task, text)
    said: list[str] = []
    left: dict[tuple[str, str | None, tuple[str, ...]], str] = {}  # what could not be kept, and why not
    for _ in range(MOST):
        finding = next((f for f in looked.findings if f.fix and f.accepted is None and _key(f) not in left), None)
        if finding is None:
            break
        what = f"{plain(task.path)}: {finding.rule} {_where(finding)}"
        edited = apply(finding.fix, plain(task.path), now)
        if edited is None:
            left[_key(finding)] = f"{what} is left: its place is not in this file, or is shared"
            continue
        again = look_at(task, edited)
        trouble = _trouble(looked, again, finding)
        if trouble:
            left[_key(finding)] = f"{what} is left: the clear fix {trouble}"
            continue
        now, looked = edited, again
        said.append(f"{what} {fixed}: {finding.remedy}")
        left.clear()  # what did not hold before may hold now
    return Mended(text, now, (*said, *left.values()), looked.readable)


def apply(edits: Sequence[Edit], path: str, text: str) -> str | None:
    """The text with the edits made; None where one of them is not of this text, or two of them overlap."""
    out, last = text, len(text) + 1
    for edit in sorted(edits, key=lambda each: each.span.start, reverse=True):
        source: Source = edit.span.source
        if source.path != path or source.text != text or edit.span.end > last or edit.span.end <= edit.span.start:
            return None
        out = out[: edit.span.start] + edit.text + out[edit.span.end :]
        last = edit.span.start
    return out


def difference(path: str, before: str, after: str) -> str:
    """What differs, line by line with three lines around it."""
    from difflib import unified_diff

    lines = unified_diff(before.splitlines(True), after.splitlines(True), path, f"{path} (fixed)")
    return "".join(line if line.endswith("\n") else f"{line}\n" for line in lines)


def _key(finding: Finding) -> tuple[str, str | None, tuple[str, ...]]:
    return finding.rule, finding.subject, tuple(edit.text for edit in finding.fix)


def _where(finding: Finding) -> str:
    """What a finding is about, in a few words."""
    if finding.subject or not finding.at:
        return f"on {finding.subject}"
    return f"in line {place(finding.at.span)[1]}"


def _trouble(before: Looked, after: Looked, finding: Finding) -> str:
    """What speaks against a fix, in words; `` where the finding is gone and nothing new has come."""
    if before.readable and not after.readable:
        return "makes the text unreadable"
    had, has = _counted(before), _counted(after)
    key = (finding.rule, finding.subject, finding.severity)
    if has[key] >= had[key]:
        return "does not put it right"
    new = [f"{rule} on {subject}" for rule, subject, _ in has - had]
    return f"brings {new[0]}" if new else ""


def _counted(looked: Looked) -> Counter[tuple[str, str | None, str]]:
    return Counter((f.rule, f.subject, f.severity) for f in looked.findings if f.accepted is None)


def _original(task: Task) -> tuple[str, bytes] | None:
    """The text as wiregen reads it, and the bytes it came from; None where the one does not lead back to the other."""
    if task.data is not None:
        return None
    source, findings = read_source(task.path)
    if source is None or findings:
        return None
    with open(task.path, "rb") as file:
        data = file.read()
    return (source.text, data) if _as_it_was(source.text, data) == data else None


def _why_not(task: Task) -> str:
    if task.data is not None:
        return "standard input cannot be mended"
    return "it cannot be read, or has mixed line ends or accents of its own; `wiregen format` makes them alike"


def _as_it_was(text: str, data: bytes) -> bytes:
    """A text with the byte order mark and the line ends that the file has."""
    encoded = text.encode()
    if b"\r\n" in data:
        encoded = encoded.replace(b"\n", b"\r\n")
    return codecs.BOM_UTF8 + encoded if data.startswith(codecs.BOM_UTF8) else encoded
