"""The one look of plots, drawn by matplotlib as SVG: the same bytes for the same figures, grey that prints.

matplotlib, since it draws to logarithmic scales with sound ticks, writes SVG whose lettering stays text, and is kept by
many; by its objects and not by pyplot, which keeps a state of its own.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import TYPE_CHECKING

from wiregen.drawing.font import FAMILY, FOLDER

if TYPE_CHECKING:
    from matplotlib.figure import Figure

# lettering stays text that can be searched; ids come from the content, not from the clock
LOOK = {"svg.hashsalt": "wiregen", "svg.fonttype": "none", "font.family": FAMILY}
HATCHES = ("", "//", "..")
INK, FILL = "#222", "#d9d9d9"


def plotted(draw: Callable[[Figure], None], inches: tuple[float, float], size: float = 9.0) -> str:
    """The SVG text of what `draw` puts on a figure, `inches` wide and high, lettered in `size` points."""
    from matplotlib import font_manager, rc_context
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    if FAMILY not in font_manager.fontManager.get_font_names():
        font_manager.fontManager.addfont(str(FOLDER / "WiregenSans-Regular.ttf"))
    with rc_context({**LOOK, "font.size": size}):  # type: ignore[dict-item]
        figure = Figure(figsize=inches, layout="constrained")
        FigureCanvasSVG(figure)
        draw(figure)
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue().replace(f"'{FAMILY}'", f"'{FAMILY}', 'Liberation Sans', Arial, sans-serif")
