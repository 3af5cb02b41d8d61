"""What stands around the diagram: frame and zones (ISO 5457), title block (ISO 7200), legend, findings, cautions."""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.drawing import continuation, svg
from wiregen.drawing.colours import BY_LETTERS, PRINT, light
from wiregen.drawing.strokes import GROUP, Strokes
from wiregen.layout import text
from wiregen.layout.geometry import Box, Furniture, Geometry, Point, Port, Shape, Sheet
from wiregen.layout.sheet import fields

FRAME, RULE = 0.7, 0.25  # line widths [mm]
CENTRED = 0.75  # a centring mark reaches into the frame, clear of the diagram [mm]
CAP = 2.5  # lettering [mm]
PITCH = CAP * text.LINE_PITCH
PADDING = 2.5  # from the frame to lettering beside it [mm]
SAMPLE = 7.0  # length of a colour's sample in the legend [mm]
INK, FAINT = "#000", "#444"
# severity -> fill, edge, digits: told apart in grey as dark, light with a bold edge, white with a thin edge;
# and the marks of a comparison in the same way
BADGES = {"danger": ("#b3001b", "#b3001b", "#fff"), "warning": ("#ffd24d", "#000", "#111"),
          "advice": ("#fff", "#000", "#000"), "added": ("#0b5d2e", "#0b5d2e", "#fff"),
          "changed": ("#ffd24d", "#000", "#111"), "removed": ("#fff", "#000", "#000")}  # fmt: skip
BOLD_EDGED = ("warning", "changed")
CHANGES = ("added", "changed", "removed")


def frame(sheet: Sheet) -> str:
    """The frame with zone marks in its margin and centring marks; nothing where the sheet has no frame."""
    box = sheet.frame
    if not box.width:
        return ""
    content = [svg.element("rect", x=box.x, y=box.y, width=box.width, height=box.height, fill="none", stroke=INK,
                           stroke_width=FRAME)]  # fmt: skip
    for marks, start, end, upright in (
        (fields(box.x, box.right, False), box.y - 5, box.bottom, False),
        (fields(box.y, box.bottom, True), box.x - 5, box.right, True),
    ):
        for low, high, name in marks:
            middle = (low + high) / 2
            for edge in (start, end):
                at = (edge + 2.5, middle) if upright else (middle, edge + 2.5)
                content.append(svg.text((at[0], at[1] + CAP / 2), name, CAP, "middle", fill=FAINT))
                if name != marks[0][2]:
                    a, b = ((edge, low), (edge + 5, low)) if upright else ((low, edge), (low, edge + 5))
                    content.append(svg.line(a, b, stroke=FAINT, stroke_width=RULE))
    x, y = (box.x + box.right) / 2, (box.y + box.bottom) / 2
    for a, b in (
        ((x, box.y - 5), (x, box.y + CENTRED)),
        ((x, box.bottom + 5), (x, box.bottom - CENTRED)),
        ((box.x - 5, y), (box.x + CENTRED, y)),
        ((box.right + 5, y), (box.right - CENTRED, y)),
    ):
        content.append(svg.line(a, b, stroke=INK, stroke_width=FRAME))
    return svg.group(content, _class="frame")


def badge(at: Point, size: float, number: int, severity: str) -> str:
    """A numbered disc for a finding."""
    fill, edge, digits = BADGES.get(severity, BADGES["advice"])
    width = 0.5 if severity in BOLD_EDGED else 0.25
    disc = svg.element("circle", cx=at[0], cy=at[1], r=size / 2 - width / 2, fill=fill, stroke=edge, stroke_width=width)
    cap = min(CAP, size * (0.52 if number < 100 else 0.35))
    return disc + svg.text((at[0], at[1] + cap / 2), str(number), cap, "middle", True, fill=digits)


def draw(geometry: Geometry, sheet: Sheet, strokes: Strokes) -> Iterator[str]:
    """Title block, legend, list of findings and cautions, each in the box that the layout keeps for it."""
    for piece in sheet.furniture:
        if piece.kind == "title":
            yield _title(geometry, sheet, piece)
        elif piece.kind == "legend" and sheet.legend:
            yield _legend(sheet, piece, strokes)
        elif piece.kind == "findings" and sheet.finding_list:
            yield _findings(sheet, piece)
        elif piece.kind == "cautions" and geometry.cautions:
            yield _cautions(geometry, piece)


def _title(geometry: Geometry, sheet: Sheet, piece: Furniture) -> str:
    """Cells in rows, the title the widest."""
    box = piece.box
    said = dict(geometry.title_block)
    said["sheet"] = f"{sheet.number} of {sheet.of}"
    fields = [(name, words) for name, words in said.items() if name != "title"]
    content = [svg.element("rect", x=box.x, y=box.y, width=box.width, height=box.height, fill="#fff", stroke=INK,
                           stroke_width=FRAME)]  # fmt: skip
    rows = max(2, min(4, int(box.height // 8)))
    columns = -(-len(fields) // (rows - 1))
    high = box.height / rows
    title = " – ".join(w for w in (said.get("title", ""), sheet.title) if w)
    content += _cell(Box(box.x, box.y, box.width, high), "title", title, strong=True)
    for i, (name, words) in enumerate(fields):
        row, column = divmod(i, columns)
        wide = box.width / min(columns, len(fields) - row * columns)
        cell = Box(box.x + column * wide, box.y + (row + 1) * high, wide, high)
        content += _cell(cell, name, words)
        if column:
            content.append(svg.line((cell.x, cell.y), (cell.x, cell.bottom), stroke=INK, stroke_width=RULE))
        else:
            content.append(svg.line((box.x, cell.y), (box.right, cell.y), stroke=INK, stroke_width=RULE))
    return svg.group(content, _class="title-block", data_box=_words(box))


def _cell(box: Box, name: str, words: str, strong: bool = False) -> list[str]:
    """A field's name over what it says; on one line where the cell is low."""
    words = fit(words, box.width - 3, CAP, strong)
    if box.height >= 2 * CAP + 2.8:
        gap = (box.height - 2 * CAP) / 3
        return [
            svg.text((box.x + 1.5, box.y + gap + CAP), name, CAP, fill=FAINT),
            svg.text((box.x + 1.5, box.y + 2 * gap + 2 * CAP), words, CAP, strong=strong),
        ]
    y = box.y + (box.height + CAP) / 2
    indent = text.width(name) + 3.0
    return [
        svg.text((box.x + 1.5, y), name, CAP, fill=FAINT),
        svg.text((box.x + indent, y), fit(words, box.width - indent - 1.5, CAP, strong), CAP, strong=strong),
    ]


def fit(words: str, room: float, cap: float, strong: bool = False) -> str:
    """The words, cut with an ellipsis where they are longer than the room."""
    words = svg.printable(words)
    if text.width(words, cap, strong) <= room:
        return words
    while words and text.width(words + "…", cap, strong) > room:
        words = words[:-1]
    return words.rstrip() + "…"


def _heading(box: Box, words: str) -> str:
    return svg.text((box.x, box.y + CAP), words, CAP, strong=True)


def _inner(piece: Furniture) -> Box:
    """The room within a piece, clear of the frame that it may stand against."""
    box = piece.box
    return Box(box.x + PADDING, box.y + 1.0, box.width - 2 * PADDING, box.height - 1.0)


def _legend(sheet: Sheet, piece: Furniture, strokes: Strokes) -> str:
    """Letters with a stroke of their colour, symbols with their meaning, in as many columns as the box takes."""
    box = _inner(piece)
    content = [_heading(box, "Legend")]
    rows = max(1, int((box.height - PITCH) // PITCH))
    entries = [(mark, meaning, _sample(mark, strokes)) for mark, meaning in sheet.legend]
    x = box.x
    for start in range(0, len(entries), rows):
        column = entries[start : start + rows]
        letters = max((text.width(mark) + 1.5 for mark, _, _ in column if mark in BY_LETTERS), default=0.0)
        words_at = x + letters + SAMPLE + 1.5
        for row, (mark, meaning, sample) in enumerate(column):
            y = box.y + (row + 1) * PITCH + CAP
            if mark in BY_LETTERS:
                content.append(svg.text((x, y), mark, CAP))
            place = f"translate({svg.num(x + letters)} {svg.num(y - CAP / 2)})"
            content.append(svg.group([sample], transform=place))
            content.append(svg.text((words_at, y), fit(meaning, box.right - words_at, CAP), CAP))
        x = words_at + max(text.width(meaning) for _, meaning, _ in column) + 3.0
    return svg.group(content, _class="legend", data_box=_words(piece.box))


def _sample(mark: str, strokes: Strokes) -> str:
    """A short run in the colour of the letters, or the symbol of that name, along y = 0 from 0 to SAMPLE."""
    if mark in BY_LETTERS:
        ends = ((0.0, 0.0), (SAMPLE, 0.0))
        colour = PRINT[BY_LETTERS[mark]]
        drawn = svg.line(*ends, stroke="#222", stroke_width=1.1 if light(colour) else 0.9)
        drawn += svg.line(*ends, stroke=colour, stroke_width=0.6)
        if mark == "GNYE":
            drawn += svg.line(*ends, stroke=PRINT["yellow"], stroke_width=0.6, stroke_dasharray="1.5,1.5")
        return drawn
    sizes = {"earth": (6.0, 5.0), "frame": (6.0, 5.0), "loose": (3.0, 3.0), "capped": (3.0, 3.0)}
    if mark == "continuation":
        return continuation.flag(Box(0.0, -1.2, SAMPLE, 2.4), 1.2, True)
    if mark not in sizes:
        return ""
    width, height = sizes[mark]
    shape = Shape("", mark, width, height, (Port("", 0.0, height / 2, "left"),))
    place = f"translate({svg.num((SAMPLE - 0.6 * width) / 2)} {svg.num(-0.3 * height)}) scale(0.6)"
    return svg.group([strokes.of(shape, "")], transform=place, **GROUP)


def _findings(sheet: Sheet, piece: Furniture) -> str:
    """The list that the numbered marks point to. Where not all of it fits the worst come first, and what does not fit
    is counted, never silently left out."""
    box = _inner(piece)
    content = [_heading(box, "Changes" if sheet.finding_list[0][1] in CHANGES else "Findings")]
    y = box.y + PITCH
    numbers = [str(number) for number, _, _ in sheet.finding_list]
    indent = 4.0 + max(text.width(number, CAP, True) for number in numbers)
    listed = list(sheet.finding_list)
    lines_of = [text.wrap(svg.printable(f"{severity}: {words}"), box.width - indent) for _, severity, words in listed]
    if y + sum(len(lines) for lines in lines_of) * PITCH > box.bottom + 0.01:
        listed.sort(key=lambda finding: list(BADGES).index(finding[1]) if finding[1] in BADGES else len(BADGES))
    done = 0
    for number, severity, words in listed:
        lines = text.wrap(svg.printable(f"{severity}: {words}"), box.width - indent)
        last = done == len(listed) - 1
        if y + (len(lines) + (0 if last else 1)) * PITCH > box.bottom + 0.01:
            break
        fill, edge, _ = BADGES.get(severity, BADGES["advice"])
        width = 0.4 if severity in BOLD_EDGED else 0.25
        disc = svg.element("circle", cx=box.x + 1, cy=y + PITCH / 2, r=0.9, fill=fill, stroke=edge, stroke_width=width)
        content.append(disc)
        content.append(svg.text((box.x + indent - 1.2, y + (PITCH + CAP) / 2), str(number), CAP, "end", True))
        for i, line in enumerate(lines):
            content.append(svg.text((box.x + indent, y + i * PITCH + (PITCH + CAP) / 2), line, CAP))
        y += len(lines) * PITCH
        done += 1
    left = len(listed) - done
    if left:
        command = "draw --compare" if sheet.finding_list[0][1] in CHANGES else "check"
        more = f"and {left} more: see the list that `wiregen {command}` prints"
        content.append(svg.text((box.x + indent, y + (PITCH + CAP) / 2), more, CAP, strong=True))
    return svg.group(content, _class="findings", data_box=_words(piece.box))


def _cautions(geometry: Geometry, piece: Furniture) -> str:
    """What whoever wires by the drawing has to know; wrapped to the box."""
    box = _inner(piece)
    lines = [line for words in geometry.cautions for line in text.wrap(svg.printable(words), box.width)]
    content = [svg.text((box.x, box.y + CAP + i * PITCH), line, CAP) for i, line in enumerate(lines)]
    return svg.group(content, _class="cautions", data_box=_words(piece.box))


def _words(box: Box) -> str:
    return " ".join(svg.num(n) for n in (box.x, box.y, box.width, box.height))
