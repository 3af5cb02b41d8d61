"""Time against current, both on logarithmic scales: the band in which a fuse opens, what a cable stands, the fault."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from wiregen.circuit.fault import ADIABATIC_LIMIT_S, Gate, clearing_time, withstand_time
from wiregen.drawing.plot import FILL, INK, plotted

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INCHES = (9.2, 7.15)  # in the proportions of the room that a figure has for a plot
LETTERS = 19.0  # points: of a picture's height more than 1/40
SHORTEST, LONGEST = 0.001, 10000.0  # s
FAULT = "#b3001b"


class Race(NamedTuple):
    """A fuse and the cable behind it at one current. `device` or `cable` are `` where there is none.

    `rating`, `lowest`, `highest`, `carries` [A], `area` [mm2], `k` [A s^0.5/mm2], `opens` [s; None: it need not].
    """

    device: str
    rating: float
    gates: tuple[Gate, ...]
    melts: bool
    cable: str
    area: float
    k: float
    carries: float | None
    lowest: float
    highest: float | None
    opens: float | None

    def stands(self, current: float) -> float | None:
        """How long the cable stands a current. [s]"""
        return withstand_time(current=current, area=self.area, k=self.k) if self.cable and self.area else None

    def edges(self) -> list[tuple[float, float, float]]:
        """The band: current [A], soonest and latest time [s], from its first gate to beyond the fault."""
        if not self.gates or not self.rating:
            return []
        out = [(gate.ratio * self.rating, gate.least_s, gate.most_s) for gate in self.gates]
        last = self.gates[-1]
        most = _span(self)[1]
        steps = 24
        for step in range(1, steps + 1):
            ratio = last.ratio * (most / out[len(self.gates) - 1][0]) ** (step / steps)
            latest = clearing_time(self.gates, ratio, melts=self.melts)
            assert latest is not None
            least = last.least_s * ((last.ratio / ratio) ** 2 if self.melts else 1.0)
            out.append((ratio * self.rating, min(least, latest), latest))
        return out


def race_plot(race: Race) -> str:
    """The plot as SVG text."""

    from matplotlib.ticker import LogLocator, NullFormatter

    def draw(figure: Figure) -> None:
        axes = figure.subplots()
        axes.set_xscale("log")
        axes.set_yscale("log")
        low, high = _span(race)
        axes.set_xlim(low, high)
        axes.set_ylim(SHORTEST, LONGEST)
        axes.grid(True, which="major", color="#bbb", linewidth=0.8)
        axes.set_xlabel("current [A]")
        axes.set_ylabel("time [s]")
        axes.xaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
        axes.xaxis.set_minor_formatter(NullFormatter())
        axes.xaxis.set_major_formatter(lambda value, _: f"{value:g}")
        axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
        axes.spines[["top", "right"]].set_visible(False)
        _band(axes, race)
        _cable(axes, race, low, high)
        _fault(axes, race)
        axes.legend(loc="upper right", frameon=True, framealpha=1.0, edgecolor="#999")

    return plotted(draw, INCHES, LETTERS)


def _span(race: Race) -> tuple[float, float]:
    low = race.rating or race.carries or race.lowest / 10.0
    high = 1.6 * max(race.lowest, race.highest or 0.0, (race.gates[-1].ratio if race.gates else 0.0) * race.rating)
    return 0.8 * low, max(high, 10.0 * low)


def _band(axes: Axes, race: Race) -> None:
    edges = race.edges()
    if not edges:
        return
    currents = [edge[0] for edge in edges]
    least = [max(edge[1], SHORTEST) for edge in edges]
    most = [edge[2] for edge in edges]
    axes.fill_between(
        currents, least, most, facecolor=FILL, edgecolor=INK, linewidth=1.0, hatch="//", label=f"{race.device} opens"
    )
    axes.plot(currents, most, color=INK, linewidth=2.5)
    gates = len(race.gates)
    axes.plot(currents[:gates], most[:gates], "o", color=INK, markersize=7)


def _cable(axes: Axes, race: Race, low: float, high: float) -> None:
    if not race.cable or not race.area:
        return
    knee = race.k * race.area / ADIABATIC_LIMIT_S**0.5  # the current that it stands for 5 s

    def line(a: float, b: float) -> tuple[list[float], list[float]]:
        currents = [a * (b / a) ** (step / 40) for step in range(41)]
        return currents, [race.stands(current) or LONGEST for current in currents]

    end = max(high, knee * 1.01)
    axes.plot(*line(knee, end), color=FAULT, linewidth=4.5, label=f"{race.cable} stands")
    axes.plot(*line(min(low, knee), knee), color=FAULT, linewidth=2.5, linestyle=(0, (4, 3)))


def _fault(axes: Axes, race: Race) -> None:
    axes.axvline(race.lowest, color="#000", linewidth=2.5, label=f"the short, {race.lowest:.0f} A")
    if race.highest and race.highest > 1.01 * race.lowest:
        axes.axvline(
            race.highest, color="#000", linewidth=2.0, linestyle=(0, (2, 2)), label=f"at most, {race.highest:.0f} A"
        )
    if race.opens is not None:
        axes.plot(
            [race.lowest],
            [race.opens],
            "o",
            color="#fff",
            markeredgecolor="#000",
            markeredgewidth=3,
            markersize=15,
            zorder=5,
        )
    stands = race.stands(race.lowest)
    if stands is not None:
        axes.plot(
            [race.lowest],
            [stands],
            "s",
            color="#fff",
            markeredgecolor=FAULT,
            markeredgewidth=3,
            markersize=13,
            zorder=5,
        )
