"""What a repository has set for all its netlists: `wiregen.toml`, or `[tool.wiregen]` in `pyproject.toml`."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from typing import NamedTuple

from wiregen.cli import streams
from wiregen.findings.finding import SEVERITIES, Severity

KEYS = ("include", "fail-on", "limits", "baseline")
_MINE = re.compile(rb"tool[\s.\"']*wiregen|^\s*\[\s*tool\s*\]", re.MULTILINE)  # else the file is not parsed at all


class Settings(NamedTuple):
    """The settings; paths are ready to be used from the working folder. Empty where nothing is set."""

    include: tuple[str, ...] = ()
    fail_on: Severity = "warning"
    limits: str = ""
    baseline: str = ""


def settings() -> Settings:
    """The settings nearest to the working folder: its own or those of a folder above, up to the one that holds `.git`.

    `wiregen.toml` goes before `pyproject.toml` in the same folder. Ends the command with 2 where they make no sense.
    """
    try:
        here, up = os.getcwd(), ""
    except OSError:  # the working folder is gone
        return Settings()
    while True:
        for name in ("wiregen.toml", "pyproject.toml"):
            path = os.path.join(up, name)
            if os.path.isfile(path):
                found = _table(path, whole=name == "wiregen.toml")
                if found is not None:
                    return _checked(path.replace(os.sep, "/"), found, up)
        if os.path.exists(os.path.join(up, ".git")) or os.path.dirname(here) == here:
            return Settings()
        here, up = os.path.dirname(here), os.path.join(up, os.pardir)


def _table(path: str, *, whole: bool) -> Mapping[str, object] | None:
    """The settings in a file as they are written; None where a `pyproject.toml` has none."""
    shown = path.replace(os.sep, "/")
    try:
        data = streams.read_file(path)
    except OSError as error:
        raise _wrong(f"{shown} could not be read: {streams.why(error, reading=True)}") from error
    if not whole and not _MINE.search(data):
        return None
    import tomllib

    try:
        document = tomllib.loads(data.decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise _wrong(f"{shown} is no TOML: {error}") from error
    if whole:
        return document
    tool = document.get("tool")
    mine = tool.get("wiregen") if isinstance(tool, dict) else None
    if mine is not None and not isinstance(mine, dict):
        raise _wrong(f"{shown}: tool.wiregen is a table of settings: {', '.join(KEYS)}")
    return mine


def _checked(path: str, table: Mapping[str, object], folder: str) -> Settings:
    for key in table:
        if key not in KEYS:
            from difflib import get_close_matches

            close = get_close_matches(key.replace("_", "-"), KEYS, 1)
            hint = f"did you mean `{close[0]}`?" if close else f"there are {', '.join(KEYS)}"
            raise _wrong(f"{path}: there is no setting `{key}`; {hint}")
    include, fail_on = table.get("include", []), table.get("fail-on", "warning")
    if not isinstance(include, list) or not all(isinstance(each, str) for each in include):
        raise _wrong(f'{path}: `include` is a list of folders, as in include = ["kits"]')
    severity = next((each for each in SEVERITIES if each == fail_on), None)
    if severity is None:
        raise _wrong(f"{path}: `fail-on` is one of {', '.join(SEVERITIES)}")
    words = {}
    for key in ("limits", "baseline"):
        word = table.get(key, "")
        if not isinstance(word, str):
            raise _wrong(f"{path}: `{key}` is a word in quotation marks")
        words[key] = word
    if words["limits"]:
        from wiregen.catalogue import catalogue

        known = [row["id"] for row in catalogue().rows("limits")]
        if words["limits"] not in known:
            raise _wrong(f"{path}: there are no limits `{words['limits']}`; there are {', '.join(known)}")
    folders = tuple(os.path.join(folder, each) for each in include)
    baseline = os.path.join(folder, words["baseline"]) if words["baseline"] else ""
    return Settings(folders, severity, words["limits"], baseline)


def _wrong(words: str) -> SystemExit:
    streams.tell(f"wiregen: {words}")
    return SystemExit(2)
