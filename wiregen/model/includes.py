"""One netlist with all that it includes, as one run of lines."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import NamedTuple

from wiregen.findings import Finding, Mark, Source, Span, mistake
from wiregen.language import parse
from wiregen.language.files import read_source
from wiregen.language.tree import File, Line, Value
from wiregen.model.spelling import listed

MOST_FILES = 200  # included by one job, itself counted
DEEPEST = 20  # includes within includes


class Bundle(NamedTuple):
    """The lines of the job's own text and of all that it includes, in the order in which they take effect."""

    source: Source
    lines: tuple[Line, ...]
    complete: bool
    findings: tuple[Finding, ...]
    unread: bool = False  # whether an include could not be read: its kits and types are missing


class _Loader:
    def __init__(self, roots: Sequence[str]) -> None:
        self.roots = roots  # real paths of the folders that may be read from
        self.lines: list[Line] = []
        self.findings: list[Finding] = []
        self.complete = True
        self.done: dict[str, str | None] = {}  # real path -> revision of that library
        self.open: list[str] = []  # real paths of the files being read, the job's own first
        self.full = False
        self.unread = False

    def text(self, source: Source, folder: str) -> None:
        """Take the lines of one text, with those of its includes in their place."""
        tree, found = parse(source)
        self.findings += found
        self.complete = self.complete and tree.complete
        self.tree(tree, folder)

    def tree(self, tree: File, folder: str) -> None:
        for line in tree.lines:
            words = line.phrases[0].values if not line.path and line.phrases else ()
            if words and words[0].kind == "name" and words[0].text.lower() == "include" and not line.label:
                self.include(line, words, folder)
            else:
                self.lines.append(line)

    def lose(
        self,
        message: str,
        span: Span,
        *,
        words: str = "",
        reason: str = "",
        remedy: str = "",
        marks: tuple[Mark, ...] = (),
    ) -> None:
        self.complete = False
        self.findings.append(mistake(message, span, words=words, reason=reason, remedy=remedy, marks=marks))

    def include(self, line: Line, words: tuple[Value, ...], folder: str) -> None:
        """Follow one include."""
        values = [v for phrase in line.phrases for v in phrase.values][1:]
        titles = [v for v in values if v.kind == "title"]
        pin, others = _pin([v for v in values if v not in titles])
        if len(titles) != 1:
            self.lose(
                "an include names one file in quotation marks", line.span, remedy='write include "kits/feed.wnet"'
            )
            return
        for value in others:
            self.lose(
                f"{value.text} has no meaning in an include",
                value.span,
                remedy='an include says the file and, to pin it, its revision: include "kits/feed.wnet" revision 3',
            )
        name = titles[0]
        shown, real = self.place(name, folder)
        if real is None:
            self.unread = True
            return
        if real in self.open:
            loop = " includes ".join(os.path.basename(p) for p in [*self.open[self.open.index(real) :], real])
            self.lose(
                f"{name.text} includes itself in a loop",
                name.span,
                words="closes the loop",
                reason=loop,
                remedy="leave this include out",
            )
            return
        if real not in self.done and not self.read(shown, real, name):
            self.unread = True
            return
        self.compare(pin, real, name)

    def place(self, name: Value, folder: str) -> tuple[str, str | None]:
        """Where an included file is: the path as shown, and the real one where it may be read."""
        text = name.text.replace("\\", "/")
        near = "an include stays within the folder tree of the job, or in a folder named with --include"
        if not text.strip() or "\0" in text:
            self.lose("this include names no file", name.span, remedy='write include "kits/feed.wnet"')
            return "", None
        if text.startswith("/") or (len(text) > 1 and text[1] == ":"):
            self.lose(
                f"{name.text} is an absolute path",
                name.span,
                reason=near,
                remedy="write the path from this file's own folder",
            )
            return "", None
        shown = _joined(folder, text)
        real = os.path.realpath(shown)
        if any(_inside(real, root) for root in self.roots) and (os.path.exists(real) or not self._elsewhere(text)):
            return shown, real
        for root in self.roots[1:]:
            candidate = os.path.realpath(os.path.join(root, text))
            if _inside(candidate, root) and os.path.exists(candidate):
                return _joined(self.shown[root], text), candidate
        if any(_inside(real, root) for root in self.roots):
            return shown, real
        self.lose(
            f"{name.text} lies outside the folder tree of the job",
            name.span,
            reason=near,
            remedy="copy the file beside the job, or name its folder with --include",
        )
        return "", None

    shown: dict[str, str]

    def _elsewhere(self, text: str) -> bool:
        return any(os.path.exists(os.path.join(root, text)) for root in self.roots[1:])

    def read(self, shown: str, real: str, name: Value) -> bool:
        """Read one included file; whether it could be."""
        if len(self.open) > DEEPEST or len(self.done) >= MOST_FILES:
            if not self.full:
                limit = f"{DEEPEST} deep" if len(self.open) > DEEPEST else f"{MOST_FILES} files"
                self.lose(
                    "too many includes",
                    name.span,
                    reason=f"a job may include files up to {limit}",
                    remedy="bring the libraries together in fewer files",
                )
            self.full = True
            return False
        source, found = read_source(shown)
        if source is None:
            self.complete = False
            why = found[0].message if found else "it could not be read"
            why = why if name.text in why else f"{name.text} could not be included: {why}"
            self.findings.append(
                mistake(
                    why,
                    name.span,
                    reason=found[0].reason if found else "",
                    remedy=self.where_it_may_be(found[0].remedy if found else ""),
                )
            )
            self.done[real] = None
            return False
        self.done[real] = None
        self.open.append(real)
        begin = len(self.lines)
        self.text(source, os.path.dirname(shown))
        self.open.pop()
        self.done[real] = _revision(self.lines[begin:], source)
        return True

    def where_it_may_be(self, remedy: str) -> str:
        """The remedy of a file that is not there, with the other folders where it was looked for."""
        if remedy != "check the name and the folder" or len(self.roots) < 2:
            return remedy or "check the name and the folder"
        folders = listed([self.shown[root] or "." for root in self.roots[1:]])
        return f"{remedy}; it is not below {folders} either"

    def compare(self, pin: Value | None, real: str, name: Value) -> None:
        """Compare a pinned revision with the one that is there."""
        there = self.done[real]
        if pin is None or there == pin.text:
            return
        now = f"its revision is {there}" if there else "it says no revision"
        self.findings.append(
            Finding(
                rule="kit-changed",
                severity="warning",
                message=f"{name.text} is pinned to revision {pin.text}, and {now}",
                at=Mark(pin.span, "pinned here"),
                reason="the kit may have been changed since this job was checked against it",
                remedy=f"look through what changed, then write revision {there}"
                if there
                else "have the library say it",
                basis="the netlist language",
                values={"pinned": pin.text, "found": there},
            )
        )


def _pin(values: list[Value]) -> tuple[Value | None, list[Value]]:
    """The revision that an include pins, and what else stands there."""
    for at, value in enumerate(values):
        if value.kind == "name" and value.text.lower() == "revision" and at + 1 < len(values):
            return values[at + 1], values[:at] + values[at + 2 :]
    return None, values


def _revision(lines: Sequence[Line], source: Source) -> str | None:
    """What revision a library says it is."""
    for line in lines:
        if line.span.source is source and not line.path and line.phrases:
            words = [v for phrase in line.phrases for v in phrase.values]
            if words and words[0].text.lower() == "library":
                pin, _ = _pin(words)
                return pin.text if pin else None
    return None


def _joined(folder: str, text: str) -> str:
    parts = folder.replace(os.sep, "/").split("/") if folder else []
    for part in text.split("/"):
        if part == ".." and parts and parts[-1] not in ("..", ".", ""):
            parts.pop()
        elif part not in ("", "."):
            parts.append(part)
    return "/".join(parts) or "/"


def _inside(path: str, root: str) -> bool:
    return path == root or path.startswith(root.rstrip(os.sep) + os.sep)


def load(source: Source, include: Sequence[str] = (), more: Sequence[Source] = ()) -> Bundle:
    """A text with everything that it includes, then the lines of `more` as if they stood at its end.

    Included files lie in the folder tree of the job's own file, or in the folders named by `include`; a loop, a file
    that is missing or lies outside, and more than MOST_FILES of them are findings.
    """
    folder = "" if source.path == "-" else os.path.dirname(source.path)
    roots = [os.path.realpath(folder or "."), *(os.path.realpath(i) for i in include)]
    loader = _Loader(roots)
    loader.shown = dict(zip(roots, [folder, *include], strict=True))
    if source.path != "-":
        loader.open.append(os.path.realpath(source.path))
    for text in (source, *more):
        loader.text(text, folder)
    return Bundle(source, tuple(loader.lines), loader.complete, tuple(loader.findings), loader.unread)
