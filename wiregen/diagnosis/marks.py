"""The job's sheet with the places of one reading marked: red and black lead, or a clamp, each with its letter too."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from html import unescape
from itertools import pairwise
from math import hypot

from wiregen.circuit.study import Study
from wiregen.diagnosis.points import Probe
from wiregen.drawing import Options, draw_job, svg

TERMINAL = re.compile(r'<circle class="terminal" data-terminal="([^"]*)" cx="([\d.-]+)" cy="([\d.-]+)"')
RUN = re.compile(r'<g class="conductor" data-conductor="([^"]*)".*?<path class="run" d="([^"]*)"', re.DOTALL)
BOX = re.compile(r'data-box="([\d.-]+ [\d.-]+ [\d.-]+ [\d.-]+)"')
NUMBER = re.compile(r"-?[\d.]+")
RED, BLACK, CLAMP = "#b3001b", "#000000", "#0b4f9e"
OUT, DISC, LETTER = 7.0, 3.2, 3.4  # how far off the disc stands, its radius, height of its letter [mm]
MOST_COVERED = 3000.0  # [mm2]
Point = tuple[float, float]


def marked(study: Study, probe: Probe, caption: str) -> str | None:
    """The SVG of the sheet where the reading is taken; all on one sheet where its ends are on two. None where the
    drawing fails its own check."""
    for options in (Options(), Options(one_sheet=True)):
        sheets, _ = draw_job(study, (), options)
        if not sheets:
            return None
        found = next((made for sheet in sheets if (made := _on_sheet(sheet, probe, caption))), None)
        if found is not None:
            return found
    return None


def _on_sheet(sheet: str, probe: Probe, caption: str) -> str | None:
    wanted = {"R": probe.red, "B": probe.black} if probe.kind == "V" else {"A": probe.red}
    places = _terminals(sheet) if probe.kind == "V" else _middles(sheet)
    if any(name not in places for name in wanted.values()):
        return None
    parts = []
    taken = [places[name] for name in wanted.values()]
    for letter, name in wanted.items():
        disc = _away(letter, places[name], taken, sheet)
        taken.append(disc)
        parts.append(_disc(letter, name, places[name], disc))
    parts.append(_legend(sheet, caption))
    return sheet[: sheet.rindex("</svg>")] + "\n".join(parts) + "\n</svg>\n"


def _terminals(sheet: str) -> Mapping[str, Point]:
    return {unescape(name): (float(x), float(y)) for name, x, y in TERMINAL.findall(sheet)}


def _middles(sheet: str) -> Mapping[str, Point]:
    """The middle of the longest stretch of each conductor."""
    found = {}
    for name, path in RUN.findall(sheet):
        numbers = [float(n) for n in NUMBER.findall(path)]
        points = list(zip(numbers[::2], numbers[1::2], strict=True))
        stretches = [(abs(a[0] - b[0]) + abs(a[1] - b[1]), a, b) for a, b in pairwise(points)]
        if stretches:
            _, a, b = max(stretches)
            found[unescape(name)] = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    return found


def _away(letter: str, at: Point, taken: Sequence[Point], sheet: str) -> Point:
    """Where the disc stands: off the point, on the paper, clear of lettering and symbols where there is room."""
    width, height = _size(sheet)
    boxes = [tuple(float(n) for n in box.split()) for box in BOX.findall(sheet)]
    up = -1.0 if letter != "B" else 1.0
    best: tuple[float, Point] | None = None
    for out in (OUT, 1.5 * OUT, 2.2 * OUT):
        for dx, dy in ((-1, up), (1, up), (0, up), (-1, 0), (1, 0), (-1, -up), (1, -up), (0, -up)):
            length = hypot(dx, dy)
            x, y = at[0] + out * dx / length, at[1] + out * dy / length
            if not (DISC + 1 < x < width - DISC - 1 and DISC + 6 < y < height - DISC - 1):
                continue
            worse = sum(_covers(box, (x, y)) for box in boxes) + 0.01 * out
            worse += 2.0 * sum(hypot(x - spot[0], y - spot[1]) < 2.1 * DISC for spot in taken)
            if best is None or worse < best[0]:
                best = worse, (x, y)
    return best[1] if best else at


def _covers(box: tuple[float, ...], at: Point) -> bool:
    """Whether a disc lies on a box; what is as large as a place or a block is drawn over."""
    x, y, width, height = box
    if width * height > MOST_COVERED:
        return False
    return x - DISC < at[0] < x + width + DISC and y - DISC < at[1] < y + height + DISC


def _size(sheet: str) -> Point:
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', sheet)
    assert box is not None
    return float(box[1]), float(box[2])


def _disc(letter: str, name: str, at: Point, disc: Point) -> str:
    colour = {"R": RED, "B": BLACK, "A": CLAMP}[letter]
    what = {"R": "red lead", "B": "black lead", "A": "clamp"}[letter]
    drawn: Sequence[str] = (
        svg.line(at, disc, stroke="#fff", stroke_width=1.6),
        svg.line(at, disc, stroke=colour, stroke_width=0.7),
        svg.element("circle", cx=at[0], cy=at[1], r=1.6, fill="none", stroke=colour, stroke_width=0.7),
        svg.element("circle", cx=disc[0], cy=disc[1], r=DISC, fill=colour, stroke="#fff", stroke_width=0.5),
        svg.text((disc[0], disc[1] + LETTER / 2), letter, LETTER, "middle", strong=True, fill="#fff"),
    )
    return svg.group(drawn, title=f"{what} on {name}", _class="probe", data_lead=what, data_at=name)


def _legend(sheet: str, caption: str) -> str:
    return svg.group([svg.text((20.0, 4.2), caption, 2.5, "start", strong=True)], _class="probe-words")
