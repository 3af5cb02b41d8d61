"""Insulation colours on paper, dark and light enough apart that most can be told in grey print too."""

from __future__ import annotations

PRINT = {
    "black": "#1a1a1a",
    "brown": "#7a4a21",
    "red": "#d3222a",
    "orange": "#f08010",
    "yellow": "#f7d70a",
    "green": "#1f8a3b",
    "blue": "#1f56b5",
    "light-blue": "#7db8e8",
    "violet": "#7d3fa0",
    "grey": "#8e8e8e",
    "white": "#ffffff",
    "pink": "#f2a0b5",
    "turquoise": "#2fb8b0",
    "gold": "#c9a227",
    "silver": "#c8c8c8",
}
LIGHT = 170.0  # of 255, where a colour in grey print is hardly darker than the paper
UNKNOWN = "#555555"  # a conductor whose colour is not said
BY_LETTERS = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue",
    "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "GD": "gold", "TQ": "turquoise", "SR": "silver",
    "GNYE": "green",
}  # fmt: skip


def printed(colour: str) -> str:
    """The colour on paper of an insulation colour's name."""
    return PRINT.get(colour, UNKNOWN)


def light(paint: str) -> bool:
    """Whether a colour on paper (`#rrggbb`) is nearly as light as it, by the weights of ITU-R BT.601 (from memory)."""
    red, green, blue = (int(paint[k : k + 2], 16) for k in (1, 3, 5))
    return 0.299 * red + 0.587 * green + 0.114 * blue > LIGHT
