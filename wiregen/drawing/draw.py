"""Front door of the room: geometry to SVG text, and the whole way from a study to sheets that match their netlist."""

from __future__ import annotations

from wiregen.drawing.sheet import draw_sheet
from wiregen.drawing.strokes import Strokes
from wiregen.layout.geometry import Geometry


def draw(geometry: Geometry) -> tuple[str, ...]:
    """One SVG text for each sheet, by the contract of the SVG marks (see `wiregen.drawing`). One user unit is 1 mm."""
    strokes = Strokes()
    return tuple(draw_sheet(geometry, sheet, strokes) for sheet in geometry.sheets)
