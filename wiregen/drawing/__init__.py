"""Symbols and sheets: Geometry -> SVG -> PDF and PNG, and the netlist back out of the SVG."""

from wiregen.drawing.draw import draw, draw_job
from wiregen.drawing.export import to_pdf, to_png
from wiregen.drawing.netlist import Netlist, compare, rebuild
from wiregen.layout import Options

__all__ = ["Netlist", "Options", "compare", "draw", "draw_job", "rebuild", "to_pdf", "to_png"]
