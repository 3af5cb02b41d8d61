"""A graph in one style and fold, worked out only as far as it takes to know that it does not fit.

Expects a layered graph; the heights come first, then places across, then the whole picture, each when it is asked for.
"""

from __future__ import annotations

from wiregen.layout.across import Across, spread
from wiregen.layout.assemble import Picture, assemble, name_box, symbol_box
from wiregen.layout.geometry import Box
from wiregen.layout.items import Layered
from wiregen.layout.label import measure
from wiregen.layout.order import Mesh, Order, orders, studs
from wiregen.layout.place import Heights, place, stretch, weights
from wiregen.layout.route import Channel, route

CROSSING = 40.0  # what a crossing costs, in the measure of `place` for runs that are not level
EXACT = 1e-6  # lengths that differ by less are the same [mm]


class Trial:
    """One style and fold."""

    def __init__(self, layered: Layered) -> None:
        self.layered = layered
        self.heights = heights_of(layered)
        self._routed: tuple[list[Channel], Across] | None = None
        self._picture: Picture | None = None
        self._bodies: list[Box] | None = None

    def picture(self) -> Picture:
        """All of it."""
        if self._picture is None:
            channels, across = self._across()
            self._picture = assemble(self.layered, self.heights, channels, across)
        return self._picture

    def within(self, area: Box) -> Picture | None:
        """The picture, if it is no larger than an area."""
        if self._picture is None and (self._tall() > area.height + EXACT or self._wide() > area.width + EXACT):
            return None
        picture = self.picture()
        return picture if picture.box.width <= area.width and picture.box.height <= area.height else None

    def bodies(self) -> list[Box]:
        """Symbol and name of each node."""
        if self._bodies is None:
            _, across = self._across()
            layered = self.layered
            self._bodies = []
            for node in layered.graph.nodes:
                box = symbol_box(layered, self.heights, across, node.index)
                if label := layered.labels.get(node.index):
                    box = _around(box, name_box(label, box))
                self._bodies.append(box)
        return self._bodies

    def _across(self) -> tuple[list[Channel], Across]:
        if self._routed is None:
            channels = route(self.layered, self.heights)
            self._routed = channels, spread(self.layered, self.heights, channels)
        return self._routed

    def _tall(self) -> float:
        """At least how high the picture is: its symbols and names."""
        low = high = None
        for item, height in zip(self.layered.items, self.heights, strict=True):
            top, bottom = item.symbol[0], item.symbol[1]
            if item.name:
                top, bottom = min(top, item.name[0]), max(bottom, item.name[1])
            low = height + top if low is None else min(low, height + top)
            high = height + bottom if high is None else max(high, height + bottom)
        return high - low if high is not None and low is not None else 0.0

    def _wide(self) -> float:
        """At least how wide the picture is: its symbols, names and labels."""
        _, across = self._across()
        boxes = self.bodies()
        labels = [(across.label[wire], spot.marks) for wire, spot in self.layered.spots.items()]
        left = [box.x for box in boxes] + [box.x + marks for box, marks in labels]
        right = [box.right for box in boxes] + [box.right for box, _ in labels]
        return max(right, default=0.0) - min(left, default=0.0)


def _around(a: Box, b: Box) -> Box:
    x, y = min(a.x, b.x), min(a.y, b.y)
    return Box(x, y, max(a.right, b.right) - x, max(a.bottom, b.bottom) - y)


def heights_of(layered: Layered) -> list[float]:
    """Heights in the order that crosses least and leaves the trunk straightest."""
    mesh, weight = Mesh(layered), weights(layered)
    choice = orders(layered, mesh)

    def studded(columns: Order) -> list[int]:
        """The order of the studs of all bars that goes with an order of the items."""
        studs(layered, mesh, columns)
        return [p for item in layered.items if mesh.free[item.index] for face in item.pins for p in face]

    tried: list[tuple[float, list[int], Heights]] = []  # cost, order of the studs, heights
    for count, columns in choice:
        order = studded(columns)
        if not tried or order != tried[-1][1]:
            measure(layered)
        heights = place(layered, columns, weight)
        tried.append((heights.bent + CROSSING * count, order, heights))
    best = min(range(len(tried)), key=lambda k: tried[k][0])
    heights = tried[best][2]
    if best < len(choice) - 1:  # the studs stand as the last order left them, and heights hold for one order of studs
        order = studded(choice[best][1])
        measure(layered)
        if order != tried[best][1]:
            heights = place(layered, choice[best][1], weight)
    stretch(layered, heights)
    measure(layered)
    return heights.items
