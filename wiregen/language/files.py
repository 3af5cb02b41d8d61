"""A file, or bytes, to a text: every way in which that can fail is a finding."""

from __future__ import annotations

import os
import stat

from wiregen.findings import Finding, Source, Span, mistake
from wiregen.language.limits import LARGEST

_BINARY = bytes(set(range(32)) - set(b"\t\n\f\r\x1b")) + b"\x7f"
_UTF16 = ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))


def read_source(path: str, *, data: bytes | None = None) -> tuple[Source | None, tuple[Finding, ...]]:
    """The text of a netlist file; `data` stands in its place where it is given. None, and a finding, where it fails.

    A byte order mark is left out, every line ends with LF whatever the file has, and letters with accents are single
    code points (NFC), so that names are the same however they were typed.
    """
    shown = path.replace(os.sep, "/").encode("utf-8", "surrogateescape").decode("utf-8", "replace")
    if data is None:
        try:
            mode = os.stat(path).st_mode
            if not stat.S_ISREG(mode) and not stat.S_ISDIR(mode):
                return _no(shown, "{} is a device or a pipe, not a file", "give its text on standard input, as `-`")
            with open(path, "rb") as file:
                data = file.read(LARGEST + 1)
        except (OSError, ValueError) as problem:
            return _unreadable(shown, problem)
    if len(data) > LARGEST:
        remedy = "bring repeated parts into kits, or split the job"
        return _no(shown, f"{{}} is larger than {LARGEST // 1_000_000} MB", remedy)
    if not data.strip(b" \t\r\n\f\xef\xbb\xbf"):
        return _no(shown, "{} is empty", "write a netlist into it; `wiregen new` begins one")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        return _no_utf8(shown, data, problem.start)
    if data.translate(None, _BINARY) != data:
        return _no_utf8(shown, data, None)
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if not text.isascii():
        from unicodedata import normalize

        text = normalize("NFC", text)
    return Source(shown, text), ()


def _unreadable(shown: str, problem: Exception) -> tuple[None, tuple[Finding, ...]]:
    """The system refuses."""
    if isinstance(problem, FileNotFoundError | NotADirectoryError):
        return _no(shown, "there is no file {}", "check the name and the folder")
    if isinstance(problem, IsADirectoryError):
        return _no(shown, "{} is a folder", "name a netlist file in it")
    if isinstance(problem, PermissionError):
        return _no(shown, "{} may not be read", "change its permissions")
    reason = problem.strerror if isinstance(problem, OSError) and problem.strerror else str(problem)
    return _no(shown, f"{{}} could not be read ({reason.lower()})", "check the name and the folder")


def _no_utf8(shown: str, data: bytes, at: int | None) -> tuple[None, tuple[Finding, ...]]:
    """Bytes that are no text: which encoding they may have, and where the first bad one stands."""
    for mark, name in _UTF16:
        even = data[name.endswith("be") : 2000 : 2]  # the high bytes, nought in most letters
        other = data[name.endswith("le") : 2000 : 2]
        if data.startswith(mark) or (len(data) > 3 and other.count(0) * 2 > len(other) and not even.count(0)):
            return _no(shown, "{} is not UTF-8 text: it looks like UTF-16", "save it as UTF-8 (plain text)")
    if len(data[:4000]) - len(data[:4000].translate(None, _BINARY)) > len(data[:4000]) // 50 + 1:
        return _no(shown, "{} is not a text file", "name a netlist, written as plain UTF-8 text")
    if at is None:
        at = next(place for place, byte in enumerate(data) if byte in _BINARY)
        message, remedy = f"{_name(shown)} holds a control character (byte {data[at]})", "delete it"
    else:
        letter = bytes((data[at],)).decode("latin-1")
        likely = f"; in Latin-1 it would be `{letter}`" if letter.isprintable() else ""
        message = f"{_name(shown)} is not UTF-8 text: byte {data[at]} here does not belong to it{likely}"
        remedy = "save the file as UTF-8"
    before = data[:at].decode("utf-8", "replace")
    source = Source(shown, before + data[at:].decode("latin-1"))
    return None, (mistake(message, Span(source, len(before), len(before) + 1), remedy=remedy, path=shown),)


def _no(shown: str, message: str, remedy: str) -> tuple[None, tuple[Finding, ...]]:
    """One finding about the whole file; {} in the message is its name."""
    return None, (mistake(message.format(_name(shown)), None, remedy=remedy, path=shown),)


def _name(shown: str) -> str:
    """A path in a message."""
    if shown == "-":
        return "standard input"
    return shown if len(shown) <= 120 else f"{shown[:58]}...{shown[-58:]}"
