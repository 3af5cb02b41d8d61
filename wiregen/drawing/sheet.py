"""One sheet as SVG: parts by their symbols, runs in their insulation colours, and all that stands around them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

from wiregen.drawing import continuation, font, furniture, svg
from wiregen.drawing.colours import UNKNOWN, light, printed
from wiregen.drawing.look import PLAIN, Look
from wiregen.drawing.strokes import GROUP, Strokes
from wiregen.drawing.symbols.base import LINE
from wiregen.layout import text
from wiregen.layout.geometry import Box, FindingMark, Geometry, Label, Outline, PlacedPart, Point, Run, Sheet

# width of a conductor's colour up to a size, so that power runs stand out from control leads [mm2, mm]
CORES = ((1.5, 0.35), (6.0, 0.5), (16.0, 0.65), (float("inf"), 0.85))
LINK = 0.35  # metal to metal: as the strokes of a symbol
EDGE, LIGHT_EDGE = 0.15, 0.25  # of the dark line on either side of the colour, and of a light one, which fades [mm]
EDGE_INK = "#222"
STRIPE = "1.8,1.8"  # of a second colour, along the run [mm]
TERMINAL, JUNCTION = 0.5, 0.9  # radii [mm]
INK, FAINT = "#000", "#444"
UNRINGED = frozenset({"splice", "earth", "frame", "loose", "capped", "plug", "socket"})  # terminals without a ring
_TITLES = {"loose": "bare end", "capped": "insulated end"}


def draw_sheet(geometry: Geometry, sheet: Sheet, strokes: Strokes) -> str:
    """The SVG text of one sheet."""
    width, height = svg.num(sheet.width), svg.num(sheet.height)
    of = f", sheet {sheet.number} of {sheet.of}" if sheet.of > 1 else ""
    title = geometry.title + (f", {sheet.title}" if sheet.title else "") + of
    name = f"sheet-{sheet.number}"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width}mm" height="{height}mm"'
        f' viewBox="0 0 {width} {height}" font-family="{svg.FONT}" data-sheet="{sheet.number}"'
        f' data-sheets="{sheet.of}" role="img" aria-labelledby="{name}-title {name}-desc">'
        f'<title id="{name}-title">{svg.escape(title)}</title>'
        f'<desc id="{name}-desc">{svg.escape(sheet.description or geometry.description)}</desc>'
    )
    body = [
        svg.element("rect", _class="paper", width=sheet.width, height=sheet.height, fill="#fff"),
        furniture.frame(sheet),
        *(_outline(outline) for outline in sheet.outlines),
        *(draw_run(geometry, run) for run in by_size(geometry, sheet)),
        *(draw_part(part, strokes) for part in sheet.parts),
        *(svg.element("circle", _class="junction", cx=x, cy=y, r=JUNCTION, fill=INK) for x, y in sheet.junctions),
        *(continuation.draw(cut) for cut in sheet.continuations),
        *(draw_label(label) for label in (*sheet.labels, *(outline.label for outline in sheet.outlines))),
        *(_mark(mark) for mark in sheet.marks),
        *furniture.draw(geometry, sheet, strokes),
    ]
    drawn = "\n".join(line for line in body if line)
    return f"{head}\n{font.style(drawn)}\n{drawn}\n</svg>\n"


def box_words(box: Box) -> str:
    """A box as `data-box` has it."""
    return " ".join(svg.num(n) for n in (box.x, box.y, box.width, box.height))


def draw_part(part: PlacedPart, strokes: Strokes, look: Look = PLAIN) -> str:
    """A part by its symbol, with its terminals."""
    place = f"translate({svg.num(part.box.x)} {svg.num(part.box.y)})"
    pen = {**GROUP, "stroke": look.ink or GROUP["stroke"], "stroke_width": svg.num(LINE * look.weight)}
    content = [_halo_box(part.box.grown(look.reach), look.halo)] if look.halo else []
    content.append(svg.group([strokes.of(part.shape, part.kind)], _class="symbol", transform=place, **pen))
    content += [_terminal(name, at, part.shape.symbol) for name, at in part.terminals.items()]
    if part.kind in _TITLES:  # an end in the air is a terminal, and no part
        words = f"{_TITLES[part.kind]} {part.id}"
        return svg.group(content, title=words, _class="end", data_box=box_words(part.box), opacity=faint(look))
    return svg.group(
        content,
        title=f"{part.kind} {part.id}",
        _class="part",
        data_part=part.id,
        data_kind=part.kind,
        data_box=box_words(part.box),
        opacity=faint(look),
    )


def faint(look: Look) -> float | None:
    """The opacity where it is not full."""
    return look.opacity if look.opacity < 1.0 else None


def _halo_box(box: Box, colour: str) -> str:
    return svg.element("rect", _class="halo", x=box.x, y=box.y, width=box.width, height=box.height, rx=1.0, fill=colour)


def by_size(geometry: Geometry, sheet: Sheet) -> list[Run]:
    """Runs in the order of painting: where two of one net lie together, the larger is seen."""
    return sorted(sheet.runs, key=lambda run: geometry.sizes.get(run.id, 0.0))


def draw_run(geometry: Geometry, run: Run, look: Look = PLAIN) -> str:
    """The course of a conductor in its insulation colours, or of a link."""
    points, data = svg.corners(run.points), svg.course(run.points)
    if run.kind == "link":
        width = LINK * look.weight
        path = svg.element("path", _class="run", d=data, fill="none", stroke=look.ink or INK, stroke_width=width)
        words = f"{run.from_} joined to {run.to}"
        content = [*_halo(points, width, look), path]
        return svg.group(content, title=words, _class="link", data_from=run.from_, data_to=run.to, opacity=faint(look))
    colours, size = geometry.colours.get(run.id, ()), geometry.sizes.get(run.id, 0.0) or 2.5
    core = look.core or next(width for limit, width in CORES if size <= limit) * look.weight
    paint = list(look.paint) or [printed(colour) for colour in colours] or [UNKNOWN]
    edge = LIGHT_EDGE if not look.paint and light(paint[0]) else EDGE
    content = [
        *_halo(points, core, look),
        svg.element(
            "polyline", _class="edge", points=points, stroke=look.ink or EDGE_INK, stroke_width=core + 2 * edge
        ),
        svg.element("path", _class="run", d=data, stroke=paint[0], stroke_width=core),
    ]
    if look.paint:
        content += [
            svg.element("polyline", _class="shade", points=svg.corners(piece), stroke=colour, stroke_width=core)
            for piece, colour in zip(pieces(run.points, len(paint)), paint, strict=True)
            if len(paint) > 1
        ]
    elif len(paint) > 1:
        content.append(
            svg.element(
                "polyline", _class="stripe", points=points, stroke=paint[1], stroke_width=core, stroke_dasharray=STRIPE
            )
        )
    return svg.group(
        content,
        title=f"{run.id}: {'/'.join(colours)} conductor from {run.from_} to {run.to}".replace(":  ", ": "),
        _class="conductor",
        data_conductor=run.id,
        data_from=run.from_,
        data_to=run.to,
        fill="none",
        stroke_linejoin="round",
        opacity=faint(look),
    )


def _halo(points: str, width: float, look: Look) -> list[str]:
    if not look.halo:
        return []
    reach = width + 2 * (EDGE + look.reach)
    return [
        svg.element(
            "polyline", _class="halo", points=points, fill="none", stroke=look.halo, stroke_width=reach,
            stroke_linejoin="round",
        )
    ]  # fmt: skip


def pieces(points: Sequence[Point], count: int) -> list[list[Point]]:
    """A run in so many stretches of equal length, in order."""
    lengths = [abs(b[0] - a[0]) + abs(b[1] - a[1]) for a, b in pairwise(points)]
    each = sum(lengths) / count
    out: list[list[Point]] = [[points[0]]]
    done = 0.0
    for (a, b), length in zip(pairwise(points), lengths, strict=True):
        while len(out) < count and done + length > each * len(out) + 1e-9:
            share = (each * len(out) - done) / length
            cut = (a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share)
            out[-1].append(cut)
            out.append([cut])
        out[-1].append(b)
        done += length
    return out + [[points[-1]] * 2] * (count - len(out))


def lines_of(label: Label) -> Iterator[str]:
    """The lines of a label as text elements."""
    box, cap = label.box, label.height
    if label.upright:  # read from the right: the box is as high as the text is long
        box = Box(0.0, 0.0, label.box.height, label.box.width)
    x = {"start": box.x, "middle": box.x + box.width / 2, "end": box.right}[label.anchor]
    y = box.y + (box.height - text.height(len(label.lines), cap)) / 2 + text.ASCENT * cap
    for i, line in enumerate(label.lines):
        yield svg.text((x, y + i * text.LINE_PITCH * cap), line, cap, label.anchor, label.strong)


def draw_label(label: Label, look: Look = PLAIN) -> str:
    """A label's lines in its box."""
    content = [line for line in lines_of(label) if line]
    if not content:
        return ""
    if label.upright:
        turned = f"translate({svg.num(label.box.x)} {svg.num(label.box.bottom)}) rotate(-90)"
        content = [svg.group(content, transform=turned)]
    return svg.group(
        content, _class="label", data_for=label.for_, data_box=box_words(label.box), fill=look.ink or INK,
        opacity=faint(look),
    )  # fmt: skip


def _terminal(name: str, at: Point, symbol: str) -> str:
    look: dict[str, str | float | None] = {"fill": "#fff", "stroke": INK, "stroke_width": 0.2}
    if symbol in UNRINGED:
        look = {"fill": "none"}
    return svg.element("circle", _class="terminal", data_terminal=name, cx=at[0], cy=at[1], r=TERMINAL, **look)


def _outline(outline: Outline) -> str:
    return svg.group(
        [
            svg.element(
                "polygon", points=svg.corners(outline.corners), fill="none", stroke=FAINT, stroke_width=0.25,
                stroke_dasharray="6,1.2,0.8,1.2", stroke_linejoin="round",
            )
        ],
        title=outline.title or outline.place,
        _class="place",
        data_place=outline.place,
        data_box=box_words(outline.box),
    )  # fmt: skip


def _mark(mark: FindingMark) -> str:
    box = mark.box
    middle, size = (box.x + box.width / 2, box.y + box.height / 2), min(box.width, box.height)
    return svg.group(
        [furniture.badge(middle, size, mark.number, mark.severity)],
        title=f"{mark.severity} {mark.number}: {mark.rule} on {mark.for_}",
        _class="finding",
        data_rule=mark.rule,
        data_for=mark.for_,
        data_box=box_words(box),
    )
