"""Which netlists a command is asked about: files as named, folders, and patterns that the shell left as they are."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Sequence
from stat import S_ISREG

from wiregen.cli.jobs import plain
from wiregen.language.limits import LARGEST

ENDING = ".wnet"
_JOB = re.compile(rb"^[ \t]*job\b", re.MULTILINE)
_KITS = re.compile(rb"^[ \t]*(?:library|kit)\b", re.MULTILINE)


def selected(words: Sequence[str], kits: bool = False) -> list[str]:
    """Every netlist once, in the order of their paths. A folder stands for the jobs under it, at any depth: netlists
    of kits, without a job line, are parts of others and are left out; any other netlist is looked at, so that a slip in
    its job line does not hide it. A pattern, `jobs/**/*.wnet`, stands for what it matches. A folder that holds none and
    a pattern that matches nothing stay as they are, so that a report tells of them: `nothing` has the words.
    With `kits` a folder stands for those too.
    """
    found: dict[str, str] = {}  # real path -> path as given
    for word in words:
        for path in _expanded(word, kits):
            odd = path == "-" or "\0" in path
            found.setdefault(path if odd else os.path.realpath(path), path)
    return sorted(found.values(), key=lambda path: (plain(path), path))


def _expanded(word: str, kits: bool) -> list[str]:
    folder = "\0" not in word and os.path.isdir(word)
    if not folder and ("\0" in word or os.path.isfile(word) or not any(c in word for c in "*?[")):
        return [word]
    if folder:
        return list(_jobs(word, kits)) or [word]
    from glob import glob

    matches = sorted(glob(word, recursive=True))
    files = [path for path in matches if os.path.isfile(path)]
    for match in matches:
        if os.path.isdir(match) and not word.endswith(ENDING) and "**" not in word:
            files += _jobs(match, kits)
    return files or [word]


def nothing(path: str) -> str:
    """Why a path that was selected is no netlist, but a folder without one or a pattern without a match; else ``."""
    if path == "-" or "\0" in path or os.path.isfile(path):
        return ""
    if os.path.isdir(path):
        return f"there is no netlist under {plain(path)}, or only kits"
    return f"nothing matches {plain(path)}" if any(c in path for c in "*?[") else ""


def _jobs(folder: str, kits: bool) -> Iterator[str]:
    """The netlists under a folder, without `kits` those only that are no kits for others; also those that cannot be
    read, as `check` then says."""
    for here, folders, names in os.walk(folder):
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(names):
            path = os.path.normpath(os.path.join(here, name))
            if name.endswith(ENDING) and not name.startswith(".") and (kits or not _only_kits(path)):
                yield path


def _only_kits(path: str) -> bool:
    try:
        if not S_ISREG(os.stat(path).st_mode):  # a pipe would be waited for
            return False
        with open(path, "rb") as file:
            data = file.read(LARGEST)
    except OSError:
        return False
    data = data.removeprefix(b"\xef\xbb\xbf").replace(b"\r", b"\n")
    return b"\0" not in data and bool(_KITS.search(data)) and not _JOB.search(data)
