"""A file, or bytes, to a text: every way in which that can fail is a finding."""

from __future__ import annotations

import os

from wiregen.findings import Finding, Source, mistake
from wiregen.language.limits import LARGEST


def read_source(path: str, *, data: bytes | None = None) -> tuple[Source | None, tuple[Finding, ...]]:
    """The text of a netlist file; `data` stands in its place where it is given. None, and a finding, where it fails."""
    shown = path.replace(os.sep, "/")
    if data is None:
        try:
            with open(path, "rb") as file:
                data = file.read(LARGEST + 1)
        except (OSError, ValueError) as problem:
            return None, (_unreadable(shown, problem),)
    if len(data) > LARGEST:
        return None, (_lost(f"{shown} is larger than {LARGEST // 1_000_000} MB", shown,
                            "bring repeated parts into kits, or split the job"),)  # fmt: skip
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None, (_lost(f"{shown} is not UTF-8 text: it is UTF-16", shown, "save it as UTF-8"),)
    if b"\0" in data:
        return None, (_lost(f"{shown} is not a text file", shown, "name a netlist, written as plain UTF-8 text"),)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = data[: problem.start].count(b"\n") + 1
        return None, (_lost(f"{shown} is not UTF-8 text: line {line} holds a byte that is none", shown,
                            "save it as UTF-8"),)  # fmt: skip
    return Source(shown, text.replace("\r\n", "\n").replace("\r", "\n")), ()


def _unreadable(shown: str, problem: Exception) -> Finding:
    if isinstance(problem, FileNotFoundError):
        return _lost(f"there is no file {shown}", shown, "check the name and the folder")
    if isinstance(problem, IsADirectoryError):
        return _lost(f"{shown} is a folder", shown, "name a netlist file in it")
    if isinstance(problem, PermissionError):
        return _lost(f"{shown} may not be read", shown, "change its permissions")
    return _lost(f"{shown} could not be read", shown, "check the name and the folder")


def _lost(message: str, shown: str, remedy: str) -> Finding:
    return mistake(message, None, remedy=remedy, path=shown)
