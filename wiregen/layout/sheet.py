"""Paper: which size, and where frame, title block, legend, findings and cautions go on it."""

from __future__ import annotations

from typing import NamedTuple

from wiregen.layout import text
from wiregen.layout.geometry import Box, Furniture, Point

# mm, upright. ISO 216 A series and ASME Y14.1 (Letter, Tabloid): well known.
PAPERS = {
    "a4": (210.0, 297.0), "a3": (297.0, 420.0), "a2": (420.0, 594.0), "a1": (594.0, 841.0), "a0": (841.0, 1189.0),
    "letter": (215.9, 279.4), "tabloid": (279.4, 431.8),
}  # fmt: skip
EDGE = 10.0  # frame to the edge of the paper (ISO 5457, from memory)
BINDING = 20.0  # frame to the left edge, for filing (ISO 5457, from memory)
TITLE = (180.0, 24.0)  # title block at most; ISO 7200 asks for 180 mm
MARGIN = 2.0  # between frame and diagram
LINE = text.LINE_PITCH * text.CAP_HEIGHT
FIELD = 50.0  # pitch of the frame's fields, from the middle of the sheet outwards [mm] (ISO 5457, from memory)
LISTED = 0.35  # of the frame's height, that a list of findings takes at most where there are several sheets
PADDING = 2.5  # from a piece's edge to its lettering
SAMPLE = 7.0  # a colour's sample or a small symbol in the legend


class Page(NamedTuple):
    """A sheet of paper with its frame, the room for the diagram, and the furniture below it."""

    name: str
    width: float
    height: float
    frame: Box
    area: Box
    furniture: tuple[Furniture, ...]


class Words(NamedTuple):
    """What the furniture has to hold."""

    legend: tuple[tuple[str, str], ...] = ()
    findings: tuple[tuple[int, str, str], ...] = ()
    cautions: tuple[str, ...] = ()


def page(
    paper: str, landscape: bool, words: Words, extra: tuple[float, float] = (0.0, 0.0), listed: float = 1e9
) -> Page:
    """A page of that size. `extra` adds width and height to a sheet that has no name. `listed` is how much of the
    frame's height the list of findings may take."""
    short, long = PAPERS[paper]
    width, height = (long, short) if landscape else (short, long)
    width, height = width + extra[0], height + extra[1]
    frame = Box(BINDING, EDGE, width - BINDING - EDGE, height - 2 * EDGE)
    title = Box(frame.right - min(TITLE[0], frame.width), frame.bottom - TITLE[1], min(TITLE[0], frame.width), TITLE[1])
    pieces = [Furniture("title", title)]
    side = title.x - frame.x
    strip: list[tuple[str, float]] = []  # from the top
    if words.findings:
        strip.append(("findings", min(_findings(words.findings, frame.width), listed * frame.height)))
    legend, cautions = _legend(words.legend, side), _cautions(words.cautions, side)
    left = TITLE[1]
    legend = None if legend is not None and legend > left else legend
    if cautions is not None and cautions + (legend or 0.0) > left:  # the legend has the better right to the place
        cautions = None
    if words.cautions and cautions is None:
        strip.append(("cautions", _cautions(words.cautions, frame.width) or 0.0))
    if words.legend and legend is None:
        strip.append(("legend", _legend(words.legend, frame.width) or 0.0))
    if words.legend and legend is not None:
        high = left - (cautions or 0.0)
        pieces.append(Furniture("legend", Box(frame.x, title.y, side, high)))
    if words.cautions and cautions is not None:
        pieces.append(Furniture("cautions", Box(frame.x, frame.bottom - cautions, side, cautions)))
    top = title.y
    for kind, high in reversed(strip):
        top -= high
        pieces.append(Furniture(kind, Box(frame.x, top, frame.width, high)))  # type: ignore[arg-type]
    area = Box(frame.x + MARGIN, frame.y + MARGIN, frame.width - 2 * MARGIN, top - frame.y - 2 * MARGIN)
    return Page(paper, width, height, frame, area, tuple(pieces))


def _legend(entries: tuple[tuple[str, str], ...], room: float) -> float | None:
    """Height of the legend in that width, None where it is too narrow; columns as wide as their words."""
    for rows in range(1, len(entries) + 1):
        need = 2 * PADDING
        for start in range(0, len(entries), rows):
            column = entries[start : start + rows]
            letters = max((text.width(mark) + 1.5 for mark, _ in column if mark.isupper()), default=0.0)
            need += letters + SAMPLE + 1.5 + max(text.width(meaning) for _, meaning in column) + 3.0
        if need - 3.0 <= room:
            return (rows + 1) * LINE + 1.5
    return None if entries else 0.0


def _cautions(cautions: tuple[str, ...], room: float) -> float | None:
    """Height of the cautions wrapped to that width, None where it is too narrow."""
    if room < 60.0:
        return None
    return sum(len(text.wrap(c, room - 2 * PADDING)) for c in cautions) * LINE + 2.0


def _findings(findings: tuple[tuple[int, str, str], ...], room: float) -> float:
    """Height of the list of findings wrapped to that width, heading included."""
    indent = 4.0 + max(text.width(str(n), strong=True) for n, _, _ in findings)
    rows = sum(len(text.wrap(f"{severity}: {words}", room - 2 * PADDING - indent)) for _, severity, words in findings)
    return (rows + 1) * LINE + 2.0


def fields(low: float, high: float, letters: bool) -> list[tuple[float, float, str]]:
    """Fields of one side: from, to, name. Their count is even, so that the centring mark parts two of them."""
    count = 2 * max(round((high - low) / FIELD / 2), 1)
    pitch = (high - low) / count
    names = [_letters(i) if letters else str(i + 1) for i in range(count)]
    return [(low + i * pitch, low + (i + 1) * pitch, names[i]) for i in range(count)]


def _letters(number: int) -> str:
    """Letters of a field, without I and O; after Z comes AA, as on a sheet longer than any standard one."""
    alphabet = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    more, last = divmod(number, len(alphabet))
    return (_letters(more - 1) if more else "") + alphabet[last]


def field_of(frame: Box, at: Point) -> str:
    """The field of a frame in which a point lies: `B4`, letters down and numbers across."""
    across = next(n for _, high, n in fields(frame.x, frame.right, False) if at[0] <= high + 1e-6)
    down = next(n for _, high, n in fields(frame.y, frame.bottom, True) if at[1] <= high + 1e-6)
    return down + across
