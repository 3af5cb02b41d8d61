"""Output files, written whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from stat import S_IMODE, S_ISDIR, S_ISREG

from wiregen.cli.streams import NotWritten, why


def write_whole(outputs: Mapping[str, bytes], *, never: Sequence[str] = ()) -> None:
    """Write every file, or leave all of them as they were.

    Each goes to a new file in the same folder first, is brought to the disk, and only when all of them are there do
    they take the places of the old ones. A link is followed, a file's permissions are kept, a device is written to
    as it is. Files in `never` (the netlists that were read) are not written over. Raises NotWritten.
    """
    with _orderly_stop():
        _write(outputs, never)


@contextmanager
def _orderly_stop() -> Iterator[None]:
    """Meanwhile a request to stop from the system ends the command as an exit does, so that it tidies up."""
    import signal

    def stop(number: int, _: object) -> None:
        raise SystemExit(128 + number)

    before = {}
    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number is not None and signal.getsignal(number) == signal.SIG_DFL:
            try:
                before[number] = signal.signal(number, stop)
            except ValueError:  # not the main thread: it is the caller's own affair
                break
    try:
        yield
    finally:
        for number, was in before.items():
            signal.signal(number, was)


def _write(outputs: Mapping[str, bytes], never: Sequence[str]) -> None:
    ready: list[tuple[str, str, str]] = []  # path as given, real path, path of the new file
    path = ""
    try:
        for path, data in outputs.items():
            target = os.path.realpath(path)
            try:
                there = os.stat(target)
            except FileNotFoundError:
                there = None
            if there and S_ISDIR(there.st_mode):
                raise NotWritten(f"wiregen: {path} could not be written: it is a folder")
            if there and any(os.path.exists(kept) and os.path.samefile(kept, target) for kept in never):
                raise NotWritten(f"wiregen: {path} was not written: it is the netlist itself")
            if there and not S_ISREG(there.st_mode):
                with open(target, "wb") as device:
                    device.write(data)
                continue
            if there and not os.access(target, os.W_OK):
                raise NotWritten(f"wiregen: {path} could not be written: it is read-only")
            new = os.path.join(os.path.dirname(target), f".wiregen-{os.getpid()}-{len(ready)}.part")
            handle = os.open(new, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
            ready.append((path, target, new))
            with open(handle, "wb") as file:
                if there:
                    os.chmod(new, S_IMODE(there.st_mode))
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
        while ready:
            path, target, new = ready[0]
            os.replace(new, target)
            ready.pop(0)
    except BrokenPipeError:
        return
    except OSError as error:
        raise NotWritten(f"wiregen: {path} could not be written: {why(error)}") from error
    finally:
        for _, _, new in ready:
            if os.path.lexists(new):
                os.unlink(new)


def make_folder(path: str) -> None:
    """Make a folder for outputs where there is none. Raises NotWritten."""
    try:
        os.makedirs(path, exist_ok=True)
    except OSError as error:
        reason = "it is not a folder" if os.path.exists(path) else why(error)
        raise NotWritten(f"wiregen: {path} could not be made: {reason}") from error
