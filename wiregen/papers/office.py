"""The installer's own file: company, contact, paper, reels and allowances for the folder, in TOML."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple


class Office(NamedTuple):
    """What the folder takes from the installer, not from the job. Lengths in m.

    The allowances and reels that stand in where the file says nothing are common practice, no source.
    """

    company: str = ""
    contact: tuple[str, ...] = ()
    paper: Literal["a4", "letter"] = "a4"
    reels: tuple[float, ...] = (5.0, 10.0, 25.0, 50.0, 100.0)
    cut_share: float = 0.05  # added to each length for bends and slack
    cut_ends: float = 0.10  # added to each length for both ends together
    tie_spacing: float = 0.30
    spare_fuses: int = 1


_KINDS: Mapping[str, str] = {
    "company": "text in quotation marks",
    "contact": "a list of lines in quotation marks",
    "paper": 'a4 or letter, as in paper = "a4"',
    "reels": "a list of lengths in metres, as in reels = [10, 50]",
    "cut-share": "a share such as 0.05",
    "cut-ends": "a length in metres such as 0.1",
    "tie-spacing": "a length in metres such as 0.3",
    "spare-fuses": "a whole number",
}


class OfficeMistake(Exception):
    """The file says something that cannot be. The message tells what, and what would do."""


def office(document: Mapping[str, object]) -> Office:
    """The file's content as data. OfficeMistake where a key is unknown or a value impossible."""
    values: dict[str, object] = {}
    for key, value in document.items():
        if key not in _KINDS:
            raise OfficeMistake(f"{key} is not known; there are {', '.join(_KINDS)}")
        if not _fits(key, value):
            raise OfficeMistake(f"{key} has to be {_KINDS[key]}")
        if isinstance(value, list):
            value = tuple(float(each) if key == "reels" else str(each) for each in value)
        elif key in ("cut-share", "cut-ends", "tie-spacing"):
            value = float(value)  # type: ignore[arg-type]
        values[key.replace("-", "_")] = value
    return Office(**values)  # type: ignore[arg-type]


def _fits(key: str, value: object) -> bool:
    if key == "company":
        return isinstance(value, str)
    if key == "contact":
        return isinstance(value, list) and all(isinstance(line, str) for line in value)
    if key == "paper":
        return value in ("a4", "letter")
    if key == "reels":
        return isinstance(value, list) and bool(value) and all(_number(each) and 0 < each <= 10_000 for each in value)
    if key == "spare-fuses":
        return isinstance(value, int) and not isinstance(value, bool) and 0 <= value <= 100
    if not _number(value):
        return False
    assert isinstance(value, int | float)
    return 0 <= value <= 1 if key == "cut-share" else 0 < value <= 10 if key == "tie-spacing" else 0 <= value <= 10


def _number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and value == value
