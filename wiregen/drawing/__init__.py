"""Symbols and sheets: Geometry -> SVG -> PDF and PNG, and the netlist back out of the SVG."""

from wiregen.drawing.draw import draw
from wiregen.drawing.export import to_pdf, to_png
from wiregen.drawing.netlist import Netlist, compare, rebuild

__all__ = ["Netlist", "compare", "draw", "rebuild", "to_pdf", "to_png"]
