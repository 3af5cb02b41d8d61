"""Plots for the papers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from wiregen.drawing.plot import FILL, HATCHES, INK, plotted

if TYPE_CHECKING:
    from matplotlib.figure import Figure


def bars(shown: Sequence[tuple[str, float]], unit: str) -> str:
    """Horizontal bars, the first on top, each with its figure; grey with hatching, so that it prints without colour."""

    def draw(figure: Figure) -> None:
        axes = figure.subplots()
        values = [value for _, value in shown]
        drawn = axes.barh([name for name, _ in shown], values, color=FILL, edgecolor=INK, height=0.6)
        for bar, hatch in zip(drawn, HATCHES, strict=False):
            bar.set_hatch(hatch)
        axes.bar_label(drawn, labels=[f"{value:.0f} {unit}" for value in values], padding=4)
        axes.set_xlim(0, max(values) * 1.18)
        axes.invert_yaxis()
        axes.spines[["top", "right"]].set_visible(False)
        axes.set_xlabel(unit)

    return plotted(draw, (6.6, 0.6 + 0.45 * len(shown)))
