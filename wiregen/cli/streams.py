"""Standard input, output and error: encodings, closed pipes, full disks, colour and width."""

from __future__ import annotations

import os
import sys
from typing import TextIO

from wiregen.findings.cells import visible_lines
from wiregen.findings.text import NARROW, WIDTH, Style

MOST = 20_000_000  # bytes read from standard input, or of one file


class NotWritten(Exception):
    """Output could not be written; the text says which and why, ready for the user. Ends the command with 3."""


def prepare() -> None:
    """Let no character stop the output: what the terminal's encoding lacks is written as `?`."""
    for stream in (sys.stdout, sys.stderr):
        encoding = (getattr(stream, "encoding", None) or "").lower().replace("-", "")
        reconfigure = getattr(stream, "reconfigure", None)
        if encoding != "utf8" and reconfigure:
            reconfigure(errors="replace")


def style(stream: TextIO | None) -> Style:
    """How to write to a stream: the terminal's width, colour where it is one and NO_COLOR is not set."""
    terminal = stream is not None and stream.isatty()
    asked = bool(os.environ.get("FORCE_COLOR"))
    colour = (asked or (terminal and os.environ.get("TERM") != "dumb")) and not os.environ.get("NO_COLOR")
    if not terminal:
        return Style(WIDTH, colour)
    from shutil import get_terminal_size

    return Style(max(NARROW, get_terminal_size((WIDTH, 24)).columns), colour)


def write_text(text: str) -> None:
    """Text for people, to standard output. Raises NotWritten; a reader that went away is no trouble."""
    out = sys.stdout
    if out is None:
        raise NotWritten("wiregen: there is no standard output to write to")
    try:
        out.write(text)
        out.flush()
    except OSError as error:
        _give_up(out, error)


def write_bytes(data: bytes) -> None:
    """A file's bytes, to standard output, as they are. Raises NotWritten."""
    out = sys.stdout
    if out is None:
        raise NotWritten("wiregen: there is no standard output to write to")
    try:
        out.buffer.write(data)
        out.buffer.flush()
    except OSError as error:
        _give_up(out, error)


def tell(text: str) -> None:
    """A word to the user on standard error; where nobody listens it is lost."""
    if sys.stderr is None:
        return
    try:
        sys.stderr.write(visible_lines(text.rstrip("\n")) + "\n")
        sys.stderr.flush()
    except OSError:
        pass


def tell_ready(text: str) -> None:
    """Text that a renderer made (colours in it are ours), to standard error."""
    if sys.stderr is None or not text:
        return
    try:
        sys.stderr.write(text)
        sys.stderr.flush()
    except OSError:
        pass


def read_bytes() -> bytes:
    """All of standard input, or one byte more than MOST of it; nothing where it is closed."""
    return sys.stdin.buffer.read(MOST + 1) if sys.stdin is not None else b""


def read_file(path: str) -> bytes:
    """The bytes of a file that is no netlist: settings, tables. Raises OSError, also for a device and for over MOST."""
    from stat import S_ISDIR, S_ISREG

    mode = os.stat(path).st_mode
    if not S_ISREG(mode) and not S_ISDIR(mode):
        raise OSError("it is a device or a pipe, not a file")
    with open(path, "rb") as file:
        data = file.read(MOST + 1)
    if len(data) > MOST:
        raise OSError(f"it is larger than {MOST // 1_000_000} MB")
    return data


def why(error: OSError, *, reading: bool = False) -> str:
    """The operating system's reason in the words of this tool, for a file that was to be written, or read."""
    import errno

    if reading and error.errno in (errno.ENOENT, errno.ENOTDIR):
        return "there is no such file"
    if reading and error.errno in (errno.EACCES, errno.EPERM):
        return "you may not read it"

    reasons = {
        errno.ENOSPC: "the disk is full",
        errno.EDQUOT: "your share of the disk is full",
        errno.EACCES: "you may not write there",
        errno.EPERM: "you may not write there",
        errno.EROFS: "the disk is read-only",
        errno.ENOENT: "there is no such folder",
        errno.ENOTDIR: "a part of the path is not a folder",
        errno.EISDIR: "it is a folder",
        errno.ENAMETOOLONG: "the name is too long",
    }
    return reasons.get(error.errno or 0, (error.strerror or str(error)).lower())


def no_room(error: OSError) -> str:
    """That there is no room for a file which is needed on the way, in words; `` where the error says something else."""
    import errno

    if "usable temporary directory" in str(error):
        return "there is no folder for temporary files with room in it; TMPDIR can name another"
    if error.errno not in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS):
        return ""
    return f"a temporary file could not be written: {why(error)}"


def _give_up(out: TextIO, error: OSError) -> None:
    """Point the stream at nothing, so that the interpreter's own flush at the end stays quiet; then say why."""
    try:
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, out.fileno())
        os.close(nothing)
    except (OSError, ValueError):
        pass
    if not isinstance(error, BrokenPipeError):
        raise NotWritten(f"wiregen: standard output could not be written: {why(error)}") from error
