"""Plots for the papers, drawn by matplotlib as SVG: the same bytes for the same figures."""

from __future__ import annotations

import io
from collections.abc import Sequence

from wiregen.drawing.font import FAMILY, FOLDER

# lettering stays text that can be searched; ids come from the content, not from the clock
LOOK = {"svg.hashsalt": "wiregen", "svg.fonttype": "none", "font.family": FAMILY, "font.size": 9}
HATCHES = ("", "//", "..")


def bars(shown: Sequence[tuple[str, float]], unit: str) -> str:
    """Horizontal bars, the first on top, each with its figure; grey with hatching, so that it prints without colour."""
    import matplotlib
    from matplotlib import font_manager
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    if FAMILY not in font_manager.fontManager.get_font_names():
        font_manager.fontManager.addfont(str(FOLDER / "WiregenSans-Regular.ttf"))
    with matplotlib.rc_context(LOOK):  # type: ignore[arg-type]
        figure = Figure(figsize=(6.6, 0.6 + 0.45 * len(shown)), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.subplots()
        values = [value for _, value in shown]
        drawn = axes.barh([name for name, _ in shown], values, color="#d9d9d9", edgecolor="#222", height=0.6)
        for bar, hatch in zip(drawn, HATCHES, strict=False):
            bar.set_hatch(hatch)
        axes.bar_label(drawn, labels=[f"{value:.0f} {unit}" for value in values], padding=4)
        axes.set_xlim(0, max(values) * 1.18)
        axes.invert_yaxis()
        axes.spines[["top", "right"]].set_visible(False)
        axes.set_xlabel(unit)
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None})
    return out.getvalue().replace(f"'{FAMILY}'", f"'{FAMILY}', 'Liberation Sans', Arial, sans-serif")
