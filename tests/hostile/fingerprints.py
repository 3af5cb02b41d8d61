"""What comes out for the project's own netlists, as one line for each output: `python tests/hostile/fingerprints.py`.

To be run in a folder with a copy of examples/. Two runs print the same whatever the hash seed, the locale, the time
zone, the folder and the version of Python. With --pictures also what other libraries write: PDF, PNG and workbooks,
which are the same as long as those libraries are. With --short two netlists only, and no teaching figures.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))
from wiregen.cli import main

SHORT = ("dual-battery", "trailer-48v")  # the netlists of which everything is made
DAY = "2026-11-25"


class _Out(io.TextIOWrapper):
    """A stream that keeps what is written to it."""

    def __init__(self) -> None:
        super().__init__(io.BytesIO(), encoding="utf-8", newline="\n")

    @property
    def data(self) -> bytes:
        """All of it."""
        self.flush()
        kept = self.buffer
        assert isinstance(kept, io.BytesIO)
        return kept.getvalue()


def said(*words: str) -> bytes:
    """What a command writes to standard output and to standard error, with its exit code."""
    out, err = _Out(), _Out()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = main(words)
    return b"%d\n%s\n%s" % (code, out.data, err.data)


def tell(name: str, data: bytes) -> None:
    """One line."""
    print(hashlib.sha256(data).hexdigest()[:16], len(data), name.encode("ascii", "backslashreplace").decode())


def run(pictures: bool, short: bool) -> None:
    """All outputs of all netlists under examples/."""
    paths = sorted(path.as_posix() for path in Path("examples").rglob("*.wnet") if "kits" not in path.parts)
    if short:
        paths = [path for path in paths if Path(path).stem in SHORT]
    for shape in ("text", "json", "sarif", "junit", "annotations"):
        tell(f"check {shape}", said("check", *paths, "--output", shape, "--today", DAY))
    tell("silence", said("check", *paths, "--output", "json", "--explain-silence", "--today", DAY))
    for path in paths:
        stem = path.removesuffix(".wnet")
        tell(f"study {path}", said("study", path, "--output", "json"))
        tell(f"format {path}", said("format", path, "-o", "plain.wnet") + Path("plain.wnet").read_bytes())
        tell(f"draw {path}", said("draw", path, "--one-sheet", "-o", "whole.svg") + Path("whole.svg").read_bytes())
        if Path(stem).name not in SHORT:
            continue
        tell(f"study text {path}", said("study", path))
        tell(f"sizes {path}", said("study", path, "--size", "--output", "json"))
        for kind in ("csv", "spice"):
            tell(f"export {kind} {path}", said("export", path, "--to", kind, "-o", "-"))
        tell(f"folder {path}", said("folder", path, "-o", "out"))
        tell(f"page {path}", Path("out", f"{Path(stem).name}-folder.html").read_bytes())
        if pictures:
            tell(f"pdf of the folder {path}", Path("out", f"{Path(stem).name}-folder.pdf").read_bytes())
            tell(f"workbook {path}", Path("out", f"{Path(stem).name}-folder.xlsx").read_bytes())
            for kind in ("pdf", "png"):
                tell(f"{kind} {path}", said("draw", path, "-o", f"o.{kind}") + Path(f"o.{kind}").read_bytes())
    if short:
        return
    lesson = "examples/lessons/four-steps.wnet"
    tell("figures", said("figures", lesson, "-o", "figures"))
    for path in sorted(Path("figures").iterdir()):
        if pictures or path.suffix in (".svg", ".md", ".html"):
            tell(path.as_posix(), path.read_bytes())


if __name__ == "__main__":
    run("--pictures" in sys.argv, "--short" in sys.argv)
