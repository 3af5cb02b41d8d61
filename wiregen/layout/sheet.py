"""Paper: which size, and where frame, title block, legend, findings and cautions go on it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wiregen.layout import text
from wiregen.layout.geometry import Box, Furniture

# mm, upright. ISO 216 A series and ASME Y14.1 (Letter, Tabloid): well known.
PAPERS = {
    "a4": (210.0, 297.0), "a3": (297.0, 420.0), "a2": (420.0, 594.0), "a1": (594.0, 841.0), "a0": (841.0, 1189.0),
    "letter": (215.9, 279.4), "tabloid": (279.4, 431.8),
}  # fmt: skip
EDGE = 10.0  # frame to the edge of the paper (ISO 5457, from memory)
BINDING = 20.0  # frame to the left edge, for filing (ISO 5457, from memory)
TITLE = (180.0, 24.0)  # title block at most; ISO 7200 asks for 180 mm
MARGIN = 3.0  # between frame and diagram
LINE = text.LINE_PITCH * text.CAP_HEIGHT


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet of paper with its frame, the room for the diagram, and the furniture below it."""

    name: str
    width: float
    height: float
    frame: Box
    area: Box
    furniture: tuple[Furniture, ...]


def page(
    paper: str,
    landscape: bool,
    legend: int,
    findings: Sequence[str],
    cautions: Sequence[str],
    extra: tuple[float, float] = (0.0, 0.0),
) -> Page:
    """A page of that size. `legend` counts its rows; `extra` adds width and height to a sheet that has no name."""
    short, long = PAPERS[paper]
    width, height = (long, short) if landscape else (short, long)
    width, height = width + extra[0], height + extra[1]
    frame = Box(BINDING, EDGE, width - BINDING - EDGE, height - 2 * EDGE)
    title_width = min(TITLE[0], frame.width)
    side = frame.width - title_width
    boxes: list[Furniture] = []
    bottom = frame.bottom
    # what does not fit beside the title block stands in a strip above it
    rows_side = int((TITLE[1] - 1.0) // LINE)
    blocks: list[tuple[str, float]] = []
    legend_columns = max(1, int(side // 40.0)) if side >= 40.0 else 0
    legend_fits = legend_columns > 0 and -(-legend // legend_columns) + 1 <= rows_side
    boxes.append(Furniture("title", Box(frame.right - title_width, bottom - TITLE[1], title_width, TITLE[1])))
    if legend_fits:
        boxes.append(Furniture("legend", Box(frame.x, bottom - TITLE[1], side, TITLE[1])))
    elif legend:
        columns = max(1, int(frame.width // 40.0))
        blocks.append(("legend", (1 - (-legend // columns)) * LINE + 2.0))
    top = bottom - TITLE[1]
    room = frame.width - 6.0
    for kind, texts in (("findings", findings), ("cautions", cautions)):
        if texts:
            rows = sum(len(text.wrap(t, room)) for t in texts)
            blocks.append((kind, rows * LINE + 2.0))
    for kind, high in reversed(blocks):
        top -= high
        boxes.append(Furniture(kind, Box(frame.x, top, frame.width, high)))  # type: ignore[arg-type]
    area = Box(frame.x + MARGIN, frame.y + MARGIN, frame.width - 2 * MARGIN, top - frame.y - 2 * MARGIN)
    return Page(paper, width, height, frame, area, tuple(boxes))
