"""Findings as a person reads them: where, what, the excerpt with its carets, why, what to do, on what basis."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from wiregen.findings.cells import cells, spread, visible, wrap
from wiregen.findings.finding import NOTICE, SEVERITIES, Finding, Mark
from wiregen.findings.order import in_order, place
from wiregen.findings.source import Source

WIDTH = 100  # cells, where the output is no terminal
NARROW = 40  # cells; a narrower terminal is written to as if it were this wide
_COLOURS = {"danger": "\x1b[1;31m", "warning": "\x1b[33m", "advice": "\x1b[36m", "accepted": "\x1b[2m"}
_PLAIN = "\x1b[0m"
_CUT = "..."


class Style(NamedTuple):
    """How wide to write, in cells, and whether in colour."""

    width: int = WIDTH
    colour: bool = False

    def paint(self, text: str, kind: str) -> str:
        """The text in the colour of a severity, where colour is wanted."""
        return f"{_COLOURS[kind]}{text}{_PLAIN}" if self.colour else text


def findings_text(findings: Iterable[Finding], style: Style = Style()) -> str:  # noqa: B008 (an immutable tuple)
    """All findings in order, an empty line after each; the empty text where there are none."""
    return "".join("\n".join(_lines(finding, style)) + "\n\n" for finding in in_order(findings))


def report_text(
    files: Sequence[str],
    findings: Sequence[Finding],
    unread: Sequence[str] = (),
    style: Style = Style(),  # noqa: B008
    after: str = "",
) -> str:
    """The whole report: the findings, `after` them what else was asked for, one line that counts them, the notice.

    `files` are the paths of the jobs that were looked at, `unread` those of them that could not be wholly read.
    """
    out = findings_text(findings, style) + after
    out += "\n".join(wrap(summary(files, findings, unread), style.width, "", "  ")) + "\n"
    if unread:
        which = visible(unread[0]) if len(unread) == 1 else f"{len(unread)} files"
        words = f"{which} could not be wholly read, so the rules were not run on it: mend what is said above first"
        if len(unread) > 1:
            words = words.replace(" on it", " on them")
        out += "\n".join(wrap(words, style.width, "", "  ")) + "\n"
    return out + "\n".join(wrap(NOTICE, style.width, "", "")) + "\n"


def summary(files: Sequence[str], findings: Sequence[Finding], unread: Sequence[str] = ()) -> str:
    """How many findings of each severity, in one line: `pump.wnet: 1 danger, 2 pieces of advice, 1 accepted`."""
    many = {"danger": "dangers", "warning": "warnings", "advice": "pieces of advice"}
    one = {"danger": "1 danger", "warning": "1 warning", "advice": "1 piece of advice"}
    counts = []
    for severity in SEVERITIES:
        n = sum(f.severity == severity and f.accepted is None for f in findings)
        if n:
            counts.append(one[severity] if n == 1 else f"{n} {many[severity]}")
    accepted = sum(f.accepted is not None for f in findings)
    if accepted:
        counts.append(f"{accepted} accepted")
    where = visible(files[0]) if len(files) == 1 else f"{len(files)} files"
    return f"{where}: {', '.join(counts) or 'no findings'}"


def _lines(finding: Finding, style: Style) -> Iterator[str]:
    file, line, column, _, _ = place(finding.at.span if finding.at else None, finding.path)
    where = visible(file) + (f" {line}:{column}" if line else "")
    kind = "accepted" if finding.accepted else finding.severity
    said = f"{finding.severity}, accepted" if finding.accepted else finding.severity
    yield f"{where}  {style.paint(said, kind)}  {visible(finding.rule)}".lstrip()
    yield from wrap(finding.message, style.width, "  ", "  ")
    if finding.accepted is None:
        marks = ((finding.at,) if finding.at else ()) + finding.marks
        yield from _excerpts(marks, file, style, kind)
    for use in finding.through:
        used_in, at_line, at_column, _, _ = place(use.span)
        yield from _row("kit", f"{use.name}, used at {used_in} {at_line}:{at_column}", style)
    if finding.case:
        yield from _row("case", finding.case, style)
    if finding.accepted:
        said = finding.accepted.because
        said += f", by {finding.accepted.by}" if finding.accepted.by else ""
        said += f", until {finding.accepted.until}" if finding.accepted.until else ""
        yield from _row("because", said, style)
        return
    yield from _row("why", finding.reason, style)
    yield from _row("fix", finding.remedy, style)
    yield from _row("basis", finding.basis, style)


def _row(label: str, words: str, style: Style) -> list[str]:
    return wrap(words, style.width, f"  {label:<6} ", " " * 9) if words else []


def _excerpts(marks: Sequence[Mark], home: str, style: Style, kind: str) -> Iterator[str]:
    """The line of each mark with its number, and below it the carets; a line is shown once for marks that follow."""
    places = [place(mark.span) for mark in marks]
    number_width = max((len(str(line)) for _, line, _, _, _ in places), default=1)
    shown: tuple[Source, int] | None = None
    for index, (mark, (file, line, column, end_line, end_column)) in enumerate(zip(marks, places, strict=True)):
        assert line and column and end_line and end_column
        gutter = 4 + number_width + 3
        text = mark.span.source.line(line)
        start = column - 1
        end = end_column - 1 if end_line == line else len(text)
        shown_line, carets, words_at = _clipped(text, start, max(end, start), max(20, style.width - gutter), index == 0)
        here = (mark.span.source, line)
        # a clipped line is cut around its own mark, so it is written anew for each
        if shown is None or shown[0] is not here[0] or shown[1] != line or _CUT in shown_line:
            if file != home:
                yield f"    {visible(file)}"
                home = file
            yield f"    {line:>{number_width}}   {shown_line}".rstrip()
        shown = here
        pad = " " * gutter
        words = visible(mark.words)
        if not words:
            yield pad + _painted(carets, kind, style)
        elif gutter + words_at + 1 + cells(words) <= style.width:
            yield f"{pad}{_painted(carets, kind, style)} {words}"
        else:
            yield pad + _painted(carets, kind, style)
            yield from wrap(words, style.width, pad, pad)


def _painted(carets: str, kind: str, style: Style) -> str:
    bare = carets.lstrip(" ")
    return " " * (len(carets) - len(bare)) + style.paint(bare, kind)


def _clipped(text: str, start: int, end: int, room: int, first: bool) -> tuple[str, str, int]:
    """The line cut to `room` cells around a span, the caret line below it, and the cell where that one ends."""
    far = max(0, start - room)  # what lies far from the span is not looked at: a line may be a megabyte long
    pieces = spread(text[far : start + 2 * room])
    start, end = start - far, min(end - far, len(pieces))
    edges = [0]
    for _, taken in pieces:
        edges.append(edges[-1] + taken)
    left, right = edges[min(start, len(pieces))], edges[min(end, len(pieces))]
    from_, to = 0, len(pieces)
    if edges[-1] > room:
        inner = room - 2 * len(_CUT)
        if right > room - len(_CUT):
            goal = max(0, min(left - inner // 3, edges[-1] - inner))
            from_ = next(i for i, edge in enumerate(edges) if edge >= goal)
        last = edges[from_] + inner
        to = max(from_ + 1, max(i for i, edge in enumerate(edges) if edge <= last))
    lead, tail = (_CUT if from_ else ""), (_CUT if to < len(pieces) else "")
    shown = lead + "".join(piece for piece, _ in pieces[from_:to]) + tail
    offset = len(lead) - edges[from_]
    left, right = left + offset, min(right, edges[to]) + offset
    width = max(1, right - left)
    carets = " " * left + ("^" + "~" * (width - 1) if first else "~" * width)
    return shown, carets, left + width
