"""The folder as one PDF, set by typst: pages, contents and bookmarks. All text goes in as data, none as markup."""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

from wiregen.drawing.font import FAMILY, FOLDER, SETS
from wiregen.drawing.svg import printable
from wiregen.papers.document import Block, Folder, Labels, Picture
from wiregen.papers.labels import GRIDS

SUSPECTS = b"/Suspects false"
_SIZE = re.compile(r'<svg\b[^>]*?\bwidth="([\d.]+)mm" height="([\d.]+)mm"')


def typeset(folder: Folder, contents: str) -> bytes:
    """The folder as PDF. `contents` is the heading of the list of papers. Same folder, same bytes."""
    import typst

    with tempfile.TemporaryDirectory() as room:
        pictures = Pictures(room)
        data = {
            "title": folder.title,
            "subtitle": folder.subtitle,
            "running": folder.running,
            "paper": folder.paper,
            "language": folder.language,
            "font": FAMILY,
            "contents": contents,
            "papers": [
                {
                    "id": paper.id,
                    "title": paper.title,
                    "landscape": paper.landscape,
                    "blocks": [_plain(block, pictures) for block in paper.blocks],
                }
                for paper in folder.papers
            ],
        }
        text = json.dumps(_shown(data), ensure_ascii=False)
        _write(room, "folder.json", text)
        _write(room, "folder.typ", files("wiregen.papers").joinpath("folder.typ").read_text(encoding="utf-8"))
        made = typst.compile(
            os.path.join(room, "folder.typ"),
            root=room,
            format="pdf",
            font_paths=[str(FOLDER)],
            ignore_system_fonts=_covered(text),
        )
    assert isinstance(made, bytes)
    # `false` is what the key stands for where it is not said; poppler takes it for a mistake. Lengths stay as they are.
    return made.replace(SUSPECTS, b" " * len(SUSPECTS))


def _covered(text: str) -> bool:
    """Whether the font that ships has all letters. Only where it has not, the machine's own fonts lend theirs: another
    machine may then show them otherwise, which beats not showing them."""
    letters = {point for points in SETS.values() for point in points}
    return all(ord(letter) in letters for letter in set(text) - set("\n\u200b"))


class Pictures:
    """Writes drawings beside the text, each under a name of its own."""

    def __init__(self, room: str) -> None:
        self.room = room
        self.count = 0

    def add(self, svg: str) -> str:
        """The name of the file with the drawing."""
        self.count += 1
        name = f"picture-{self.count}.svg"
        _write(self.room, name, svg)
        return name


def _write(room: str, name: str, text: str) -> None:
    with open(os.path.join(room, name), "w", encoding="utf-8", newline="\n") as out:
        out.write(text)


def _plain(block: Block, pictures: Pictures) -> dict[str, Any]:
    kind = {"kind": type(block).__name__}
    if isinstance(block, Picture):
        size = _SIZE.search(block.svg)
        width, height = (float(n) for n in size.groups()) if size else (210.0, 297.0)
        return {
            **kind, "file": pictures.add(block.svg), "description": block.description,
            "whole_page": block.whole_page, "width": width, "height": height, "sheet": "a4",
        }  # fmt: skip
    if isinstance(block, Labels):
        return {**kind, "grid": GRIDS[block.sheet]._asdict(), "labels": [list(lines) for lines in block.labels]}
    return {**kind, **dict(_fields(block))}


def _fields(block: Any) -> Iterator[tuple[str, Any]]:
    """A block's fields as JSON has them, tuples of data within it as objects."""
    for name, value in block._asdict().items():
        yield name, _json(value)


def _shown(value: Any) -> Any:
    """The data with a square for every character that has no picture; line ends and places to break a word stay."""
    if isinstance(value, str):
        return "".join(c if c in "\n\u200b" else printable(c) for c in value) if not value.isprintable() else value
    if isinstance(value, dict):
        return {name: _shown(each) for name, each in value.items()}
    return [_shown(each) for each in value] if isinstance(value, list) else value


def _json(value: Any) -> Any:
    if hasattr(value, "_asdict"):
        return {name: _json(each) for name, each in value._asdict().items()}
    if isinstance(value, tuple):
        return [_json(each) for each in value]
    return value
