"""A draft on the geometry of its set as SVG: title, diagram, panel with words, tables, scales and keys."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from math import cos, pi, sin

from wiregen.drawing import font, svg
from wiregen.drawing.look import PLAIN, Look
from wiregen.drawing.sheet import JUNCTION, box_words, by_size, draw_label, draw_part, draw_run
from wiregen.drawing.strokes import Strokes
from wiregen.layout import text
from wiregen.layout.geometry import Box, Label, Point, Run, Sheet
from wiregen.layout.switched import switched
from wiregen.teaching.base import LETTERS, Base
from wiregen.teaching.draft import Blank, Block, Draft, Items, Key, Scale, Table
from wiregen.teaching.items import Crowded, draw_items, wrapped
from wiregen.teaching.points import REACH, Spot, spots

PAPER = 297.0  # width as printed: A4 across [mm]
PITCH = 1.5  # of lines in the panel, in heights of a capital
ROWS = 9  # of a table, for which a caption makes room
GAP, APART = 0.9, 2.0  # between the columns of a table, between tables beside one another, in the same
ARROW, SLIM = 0.55, 0.55  # half the length of a flow arrow, in heights of a capital; half its width in that
OFF = 3.7  # of a dashed lead from the symbol that it stays on, on none of the layout's own heights [mm]
OUTWARD = {"left": (-1.0, 0.0), "right": (1.0, 0.0), "top": (0.0, -1.0), "bottom": (0.0, 1.0)}
POINT = 0.72  # height of the figures at meter points, in heights of a capital
BURST = "#ffd24d"  # of the sign of a short
STARS = ((0.3, 0.8), (0.25, 0.55), (-0.6, 0.8), (-0.45, 0.55))  # how far out from its terminal and sideways, how far
SIDEWAYS = (0.0, -0.35, 0.35)  # it reaches [capitals]
MARK = "#b3001b"  # of what a fault has changed; dark in grey print
WIDEN = 0.16  # of the width of lines that tell a current, for each mm that a capital is higher than the least
FIELD, WRITABLE = 1.34, 3.0  # height of a field in the diagram, in heights of a capital; and for a pen [mm as printed]
NAME, LINE, TIGHT = "Name", 20.0, 0.7  # before a line of so many capitals; how small a title gets beside it
NOTICE = "For teaching. No statement that an installation is safe."


def draw_figure(base: Base, draft: Draft, strokes: Strokes, number: int, of: int) -> str:
    """The SVG text of one figure."""
    sheet = base.geometry.sheets[0]
    if draft.plot:  # nothing has to keep its place: the plot at the left, the words at the right
        split, rim = base.width * 0.66, base.height * 0.02
        top = base.height * 0.095
        words = Box(split + rim, top, base.width - split - 2 * rim, base.height - top - rim)
        base = base._replace(below=False, panel=words)
    height = svg.num(PAPER * base.height / base.width)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{svg.num(PAPER)}mm" height="{height}mm"'
        f' viewBox="0 0 {svg.num(base.width)} {svg.num(base.height)}" font-family="{svg.FONT}" role="img"'
        f' data-figure="{number}" data-figures="{of}"><title>{svg.escape(draft.title)}</title>'
        f"<desc>{svg.escape(draft.description)}</desc>"
    )
    body = [
        svg.element("rect", _class="paper", width=base.width, height=base.height, fill="#fff"),
        *_title(base, draft, number, of),
        *(_plot(base, draft.plot) if draft.plot else _diagram(base, sheet, draft, strokes)),
        *_panel(base, draft),
    ]
    drawn = "\n".join(line for line in body if line)
    return f"{head}\n{font.style(drawn)}\n{drawn}\n</svg>\n"


def _title(base: Base, draft: Draft, number: int, of: int) -> Iterator[str]:
    rim, cap = base.panel.x if base.below else base.height * 0.02, base.wording * 1.35
    y = base.height * 0.02 + cap * 1.25
    room = base.width - 2 * rim - text.width(draft.corner or f"{of} of {of}", base.wording) - cap
    wide = text.width(draft.title, cap, strong=True)
    if draft.asks:
        small = 0.8 * base.wording
        named, right = text.width(NAME, small) + 0.5 * small, rim + room
        line = min(LINE * small, room - TIGHT * wide - named - 2 * cap)  # what the title leaves, if it is enough
        if line >= LINE / 2 * small:
            yield svg.text((right - line - 0.5 * small, y), NAME, small, "end", fill="#444")
            yield svg.line((right - line, y), (right, y), stroke="#444", stroke_width=0.2)
            room -= line + named + 2 * cap
    yield svg.text((rim, y), draft.title, cap * min(1.0, room / wide) if wide else cap, "start", strong=True)
    yield svg.text((base.width - rim, y), draft.corner or f"{number} of {of}", base.wording * 0.8, "end", fill="#444")
    yield svg.line((rim, y + cap * 0.55), (base.width - rim, y + cap * 0.55), stroke="#000", stroke_width=0.3)


# ---------------------------------------------------------------- diagram


def _diagram(base: Base, sheet: Sheet, draft: Draft, strokes: Strokes) -> Iterator[str]:
    larger = 1.0 + (base.letter - LETTERS[0]) * WIDEN  # large letters have more air below them
    looks = {id: look._replace(core=look.core * larger) for id, look in draft.looks.items()}
    owner = _owners(sheet)
    for run in by_size(base.geometry, sheet):
        yield draw_run(base.geometry, run, _look_of(run, looks, owner))
    for part in sheet.parts:
        yield draw_part(switched(part, draft.closed), strokes, looks.get(part.id, PLAIN))
    for at in sheet.junctions:
        seen = max(_look_of(run, looks, owner).opacity for run in sheet.runs if _passes(run, at))
        yield svg.element(
            "circle", _class="junction", cx=at[0], cy=at[1], r=JUNCTION, fill="#000",
            opacity=seen if seen < 1.0 else None,
        )  # fmt: skip
    for dash in draft.dashes:
        yield _dash(sheet, dash.conductor, dash.stays, dash.lands)
    runs = {run.id: run for run in sheet.runs if run.id}
    for id, forward in draft.arrows.items():
        if id in runs:
            yield _arrow(runs[id], forward, base.letter * ARROW)
    for label in sheet.labels:
        yield _lettered(base, draft, label, looks.get(label.for_, PLAIN))
    for mark in draft.marks:
        yield _burst(sheet, mark.at, base.letter) if mark.kind == "short" else _cross(sheet, mark.at)
    for spot in spots(sheet, draft.points, POINT * base.letter):
        yield _point(spot, POINT * base.letter)


def _owners(sheet: Sheet) -> dict[str, str]:
    return {terminal: part.id for part in sheet.parts for terminal in part.terminals}


def _look_of(run: Run, looks: Mapping[str, Look], owner: Mapping[str, str]) -> Look:
    """A conductor's look; a link is as faint as the fainter of what it joins."""
    if run.id:
        return looks.get(run.id, PLAIN)
    return PLAIN._replace(opacity=min(looks.get(owner.get(t, ""), PLAIN).opacity for t in (run.from_, run.to)))


def _passes(run: Run, at: Point) -> bool:
    return any(
        min(a[0], b[0]) <= at[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= at[1] <= max(a[1], b[1])
        for a, b in pairwise(run.points)
    )


def _lettered(base: Base, draft: Draft, label: Label, look: Look) -> str:
    """A label with what this figure says in it, in the box that it has in every figure."""
    own = base.own.get(label.for_, len(label.lines))
    room = len(label.lines) - own
    said = list(draft.lines.get(label.for_, ()))[:room]
    lines = [*label.lines[:own], *said, *[""] * (room - len(said))]
    if said:  # what is said of a thing that is faint is said plainly
        look = look._replace(opacity=1.0)
    blanks = {at - 1 + own: blank for (id, at), blank in draft.blanks.items() if id == label.for_}
    shown = ["" if at in blanks else line for at, line in enumerate(lines)]
    drawn = draw_label(label._replace(lines=tuple(shown)), look)
    if not drawn:  # an empty one keeps its place too
        drawn = svg.group([], _class="label", data_for=label.for_, data_box=box_words(label.box))
    answers = {at: lines[at] if draft.solved else "" for at in blanks}
    return drawn + "".join(_blank(label, at, blank, answers[at]) for at, blank in sorted(blanks.items()))


def _blank(label: Label, at: int, blank: Blank, answer: str) -> str:
    """A field in the place of a line: at its left the number of its question, at its right the unit or the answer."""
    cap, box = label.height, label.box
    top = box.y + (box.height - text.height(len(label.lines), cap)) / 2 + at * text.LINE_PITCH * cap
    y = top + text.ASCENT * cap
    top -= 0.06 * cap
    rim, fill = 0.25 * cap, "#fff6d6" if answer else "#fff"
    field = svg.element(
        "rect", x=box.x, y=top, width=box.width, height=FIELD * cap, fill=fill, stroke="#000", stroke_width=0.3
    )
    number = svg.text((box.x + rim, y), blank.number, 0.8 * cap, "start", strong=True, fill="#444")
    taken = text.width(blank.number, 0.8 * cap, strong=True) + 3 * rim
    size = cap * min(1.0, (box.width - taken) / max(text.width(answer, cap, strong=True), 1e-6))
    right = box.right - rim
    words = (
        svg.text((right, y), answer, size, "end", strong=True)
        if answer
        else svg.text((right, y), blank.unit, 0.8 * cap, "end", fill="#444")
    )
    return svg.group([field, number, words], _class="blank", data_for=label.for_, data_line=str(at))


def _arrow(run: Run, forward: bool, half: float) -> str:
    """A head in the middle of the longest stretch, the way the current goes."""
    a, b = max(pairwise(run.points), key=lambda s: abs(s[0][0] - s[1][0]) + abs(s[0][1] - s[1][1]))
    if not forward:
        a, b = b, a
    length = max(abs(b[0] - a[0]) + abs(b[1] - a[1]), 1e-6)
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    half = min(half, length / 2)
    x, y = (a[0] + b[0]) / 2, (a[1] + b[1]) / 2
    corners = [
        (x + ux * half, y + uy * half),
        (x - ux * half - uy * half * SLIM, y - uy * half + ux * half * SLIM),
        (x - ux * half + uy * half * SLIM, y - uy * half - ux * half * SLIM),
    ]
    return svg.element(
        "polygon", _class="flow", data_for=run.id, points=svg.corners(corners), fill="#000", stroke="#fff",
        stroke_width=0.25,
    )  # fmt: skip


def _spot(sheet: Sheet, terminal: str) -> Point | None:
    return next((part.terminals[terminal] for part in sheet.parts if terminal in part.terminals), None)


def _outward(sheet: Sheet, terminal: str) -> Point:
    """The direction away from a terminal's symbol."""
    port = next((p for part in sheet.parts for p in part.shape.ports if p.terminal == terminal), None)
    return OUTWARD[port.side] if port else (0.0, 0.0)


def _dash(sheet: Sheet, conductor: str, stays: str, lands: str) -> str:
    a, b = _spot(sheet, stays), _spot(sheet, lands)
    if a is None or b is None:
        return ""
    dx, dy = _outward(sheet, stays)
    out = a[0] + OFF * dx, a[1] + OFF * dy
    corner = (b[0], out[1]) if dy else (out[0], b[1])
    return svg.element(
        "polyline", _class="planted", data_for=conductor, points=svg.corners((a, out, corner, b)), fill="none",
        stroke=MARK, stroke_width=0.7, stroke_dasharray="2,1.2",
    )  # fmt: skip


def _point(spot: Spot, size: float) -> str:
    """A number beside a terminal, where a meter's lead is put."""
    (x, y), reach = spot.disc, REACH * size
    drawn = [
        svg.line(spot.at, spot.disc, stroke="#000", stroke_width=0.4),
        svg.element("circle", cx=x, cy=y, r=reach, fill="#fff", stroke="#000", stroke_width=0.4),
        svg.text((x, y + size / 2), spot.words, size, "middle", strong=True),
    ]
    title = f"point {spot.words}: {spot.terminal}"
    return svg.group(drawn, title=title, _class="point", data_terminal=spot.terminal)


def _burst(sheet: Sheet, terminal: str, cap: float) -> str:
    """A jagged star at a terminal, where a short joins it; clear of all labels where that can be."""
    at = _spot(sheet, terminal)
    if at is None:
        return ""
    dx, dy = _outward(sheet, terminal)
    tries = [
        (at[0] + (dx * away + dy * aside) * cap, at[1] + (dy * away + dx * aside) * cap, size * cap)
        for away, size in STARS
        for aside in SIDEWAYS
    ]
    x, y, size = min(tries, key=lambda t: sum(_hidden(label.box, t[:2], t[2]) for label in sheet.labels))
    reaches = [size if turn % 2 == 0 else size / 2 for turn in range(16)]
    corners = [(x + reach * cos(pi * turn / 8), y + reach * sin(pi * turn / 8)) for turn, reach in enumerate(reaches)]
    star = svg.element("polygon", points=svg.corners(corners), fill=BURST, stroke="#000", stroke_width=0.4)
    return svg.group([star], title=f"short at {terminal}", _class="short", data_terminal=terminal)


def _hidden(box: Box, at: Point, far: float) -> float:
    """How much of a label a star may hide. [mm2]"""
    across = min(box.right, at[0] + far) - max(box.x, at[0] - far)
    return max(0.0, across) * max(0.0, min(box.bottom, at[1] + far) - max(box.y, at[1] - far))


def _cross(sheet: Sheet, id: str) -> str:
    """A cross over a part that has opened."""
    part = next((part for part in sheet.parts if part.id == id), None)
    if part is None:
        return ""
    box = part.box
    half = 0.5 * max(4.0, min(box.width, box.height))
    x, y = box.x + box.width / 2, box.y + box.height / 2
    ends = ((x - half, y - half), (x + half, y + half)), ((x - half, y + half), (x + half, y - half))
    strokes = [
        svg.line(a, b, stroke=ink, stroke_width=wide) for ink, wide in (("#fff", 1.8), (MARK, 1.0)) for a, b in ends
    ]
    return svg.group(strokes, title=f"{id} has opened", _class="opened", data_for=id)


# ---------------------------------------------------------------- panel


def _plot(base: Base, plot: str) -> Iterator[str]:
    """A plot in the room of the diagram, in its own proportions."""
    panel, rim = base.panel, base.height * 0.02
    top = base.height * 0.095
    right, bottom = (base.width - rim, panel.y) if base.below else (panel.x - rim, base.height - rim)
    room = Box(rim, top, right - rim, bottom - top)
    inside = re.sub(r"^.*?(?=<svg)", "", plot, flags=re.S).strip()
    inside = re.sub(r"<metadata>.*?</metadata>", "", inside, flags=re.S)
    tag = re.match(r"<svg[^>]*>", inside)
    assert tag is not None
    box = re.search(r'viewBox="([^"]+)"', tag.group())
    view = f' viewBox="{box.group(1)}"' if box else ""
    names = f'{view} xmlns:xlink="http://www.w3.org/1999/xlink" preserveAspectRatio="xMidYMid meet"'
    yield (
        f'<svg x="{svg.num(room.x)}" y="{svg.num(room.y)}" width="{svg.num(room.width)}"'
        f' height="{svg.num(room.height)}"{names}>{inside[tag.end() :]}'
    )


def _panel(base: Base, draft: Draft) -> Iterator[str]:
    """The caption, then the blocks; under a wide diagram the blocks stand at the right of the caption."""
    panel, cap = base.panel, base.wording
    foot = panel.bottom - 0.2 * cap
    left = Box(panel.x, panel.y, panel.width, panel.height - 1.6 * cap)
    right = left
    if base.below and draft.blocks:
        half = panel.width * 0.5
        left = Box(panel.x, panel.y, half - 1.5 * cap, left.height)
        right = Box(panel.x + half, panel.y, panel.width - half, left.height)
    notice = min(0.7 * cap, cap * panel.width / text.width(NOTICE, cap))
    yield svg.text((panel.right, foot), NOTICE, notice, "end", fill="#444")
    if any(isinstance(block, Items) for block in draft.blocks):
        flowing = [block for block in draft.blocks if isinstance(block, Items | Table)]
        room = Box(panel.x, panel.y + 0.2 * cap, panel.width, panel.height - 1.8 * cap)
        words = list[str]()
        for blocks in (_with_fields(draft, flowing), flowing) if _slight(base) and not draft.solved else (flowing,):
            try:
                words = list(draw_items(draft.title, draft.caption, blocks, room, cap))
                break
            except Crowded:
                if blocks is flowing:
                    raise
        yield svg.group(words, _class="panel", data_box=box_words(panel))
        return
    taken = 0.0 if base.below else sum(_extent(block) for block in draft.blocks) * PITCH * cap
    content: list[str] = []
    y = left.y + 1.2 * cap
    small, lines = _fitted(draft.caption, left.width, left.height - taken, cap)
    for line in lines:
        content.append(svg.text((left.x, y), line, small))
        y += PITCH * small if line else 0.5 * small
    y += 0.5 * cap
    if base.below and draft.blocks:
        y = right.y + 1.2 * cap
    for before, block in zip((None, *draft.blocks), draft.blocks, strict=False):
        if isinstance(block, Table):
            y += 0.6 * cap if isinstance(before, Key) else 0.0
            content += _table(block, right, y, cap)
        elif isinstance(block, Scale):
            content += _scale(block, right, y, cap)
        elif isinstance(block, Key):
            content += _key(block, right, y, cap)
        y += _extent(block) * PITCH * cap
    yield svg.group(content, _class="panel", data_box=box_words(panel))


def _slight(base: Base) -> bool:
    """Whether a field in the diagram is too low to write in by hand, as printed."""
    return FIELD * base.letter * PAPER / base.width < WRITABLE


def _with_fields(draft: Draft, blocks: Sequence[Items | Table]) -> list[Items | Table]:
    """The questions, each whose field stands in the diagram with one below it too."""
    units = {f"({blank.number})": blank.unit for blank in draft.blanks.values()}
    return [
        Items(tuple(row._replace(field=units.get(row.number, row.field)) for row in block.rows))
        if isinstance(block, Items)
        else block
        for block in blocks
    ]


def _extent(block: Block) -> float:
    """How many lines a block takes."""
    if isinstance(block, Table):
        return min(len(block.rows), ROWS) + 1.5 + (1 if block.title else 0)
    return 2.6 if isinstance(block, Scale) else 1.0


SMALLER = (1.0, 0.9, 0.8, 0.7)


def _fitted(paragraphs: Sequence[str], width: float, height: float, cap: float) -> tuple[float, list[str]]:
    """Lines of the caption, `` between paragraphs, in the largest letters for which there is room; else cut short (it
    stands in full beside the figure)."""
    small, lines = cap, list[str]()
    for share in SMALLER:
        small = share * cap
        lines = [line for words in paragraphs for line in (*wrapped(words, width, small), "")]
        if sum(PITCH if line else 0.5 for line in lines) * small <= height:
            return small, lines
    fit = max(1, int(height / (PITCH * small)))
    lines = [line for line in lines if line]
    return small, lines if len(lines) <= fit else [*lines[: fit - 1], lines[fit - 1] + " ..."]


def _table(table: Table, room: Box, y: float, cap: float) -> Iterator[str]:
    """The rows below one another; what is too long goes on beside, in smaller letters where all has room then, and what
    has none is counted."""
    if table.title:
        yield svg.text((room.x, y), table.title, cap, strong=True)
        y += PITCH * cap
    columns = len(table.head)
    figures = [k for k in range(1, columns) if all(_figure(row[k]) for row in table.rows if k < len(row))]
    wide = [
        max([text.width(table.head[k], 1.0, strong=True), *(text.width(row[k], 1.0) for row in table.rows)])
        for k in range(columns)
    ]
    whole = sum(wide) + GAP * (columns - 1)  # all in heights of a capital
    caps = [share * cap for share in SMALLER]
    least = min(cap, room.width / whole)  # so that one group has room across
    caps = [least, *(each for each in caps if each < least)]
    fits = [(each, *_fit(room, y, whole, each)) for each in caps]
    small, fit, beside = next((f for f in fits if f[1] * f[2] >= len(table.rows)), max(fits, key=lambda f: f[1] * f[2]))
    rows = list(table.rows)
    if len(rows) > fit * beside:
        rows = [*rows[: fit * beside - 1], (f"... {len(rows) - fit * beside + 1} more", *[""] * (columns - 1))]
    for at, group in enumerate(rows[k : k + fit] for k in range(0, len(rows), fit)):
        corner = (room.x + at * (whole + APART) * small, y)
        yield from _group(table.head, group, corner, [w * small for w in wide], small, figures)


def _fit(room: Box, y: float, whole: float, cap: float) -> tuple[int, int]:
    """How many rows have room below one another, and how many groups of them beside one another."""
    rows = max(1, int((room.bottom - y) / (PITCH * cap)) - 1)
    return rows, max(1, int((room.width + APART * cap) / ((whole + APART) * cap)))


def _group(
    head: Sequence[str],
    rows: Sequence[Sequence[str]],
    at: Point,
    wide: Sequence[float],
    cap: float,
    figures: Sequence[int],
) -> Iterator[str]:
    """Some rows under the head of their table."""
    gap, y = GAP * cap, at[1]
    for line, row in enumerate((head, *rows)):
        x = at[0]
        for k, words in enumerate(row):
            place, anchor = (x + wide[k], "end") if k in figures else (x, "start")
            yield svg.text((place, y), words, cap, anchor, strong=line == 0)
            x += wide[k] + gap
        if line == 0:
            rule = y + 0.4 * cap
            yield svg.line((at[0], rule), (x - gap, rule), stroke="#000", stroke_width=0.25)
            y += 0.25 * cap
        y += PITCH * cap


def _figure(words: str) -> bool:
    """Whether it is a figure, or nothing: such columns stand flush right."""
    return not words or words.lstrip("−+ ")[:1].isdigit()


def _scale(scale: Scale, room: Box, y: float, cap: float) -> Iterator[str]:
    yield svg.text((room.x, y), scale.title, cap, strong=True)
    low, high = text.width(scale.low, cap), text.width(scale.high, cap)
    top, each = y + 0.6 * cap, (room.width - low - high - 1.6 * cap) / len(scale.colours)
    yield svg.text((room.x, top + 1.1 * cap), scale.low, cap)
    x = room.x + low + 0.8 * cap
    for k, colour in enumerate(scale.colours):
        yield svg.element("rect", x=x + k * each, y=top, width=each + 0.05, height=1.2 * cap, fill=colour)
    whole = each * len(scale.colours)
    yield svg.element("rect", x=x, y=top, width=whole, height=1.2 * cap, fill="none", stroke="#000", stroke_width=0.2)
    yield svg.text((room.x + room.width, top + 1.1 * cap), scale.high, cap, "end")


def _key(key: Key, room: Box, y: float, cap: float) -> Iterator[str]:
    look, length = key.look, 3.5 * cap
    at = y - 0.45 * cap
    faint = look.opacity if look.opacity < 1.0 else None
    if key.dashed:
        yield svg.line(
            (room.x, at), (room.x + length, at), stroke=MARK, stroke_width=0.25 * cap, stroke_dasharray="2,1.2"
        )
        yield svg.text((room.x + length + 0.8 * cap, y), key.words, cap)
        return
    if look.halo:
        yield svg.line((room.x, at), (room.x + length, at), stroke=look.halo, stroke_width=0.9 * cap)
    colour = look.paint[0] if look.paint else look.ink or "#000"
    yield svg.line((room.x, at), (room.x + length, at), stroke=colour, stroke_width=0.5 * look.weight, opacity=faint)
    yield svg.text((room.x + length + 0.8 * cap, y), key.words, cap)
