"""What is not a plain resistance: loads, chargers, alternators, panels, diodes, as currents that follow voltages.

A device has ports; a port is a pair of terminals, its current flows into the first and out of the second. `flow` gives
the port currents for the port voltages; below a knee voltage a load falls off towards zero, so that every network has
an answer, and `holds` tells whether the device works above its knee.
"""

from __future__ import annotations

from math import exp, log
from typing import NamedTuple

IDLE = 1e-9  # what a load leaks while it is left out, so that what hangs on it has a voltage [S]
KNEE = 0.4  # of the unloaded voltage: below it a load falls off
LEAST_KNEE = 0.5  # where hardly any voltage comes [V]
TRACKING = 1e-3  # slope at which a charger holds its panels at their best voltage [ohm]
VT = 0.025852  # thermal voltage at 300 K [V]


class Port(NamedTuple):
    """A pair of terminals of a device."""

    name: str
    plus: str
    minus: str


class Device:
    """Base: currents by voltages. `part` owns it; `scale` turns loads on step by step while solving."""

    __slots__ = ("linear", "part", "ports", "scale")

    def __init__(self, part: str, ports: tuple[Port, ...]) -> None:
        self.part = part
        self.ports = ports
        self.scale = 1.0
        self.linear = False  # a load as the resistance that it is at its unloaded voltage, to begin a search with

    def flow(self, volts: list[float]) -> list[float]:
        """Current into each port [A] at its voltage [V]."""
        raise NotImplementedError

    def slopes(self, volts: list[float], flow: list[float]) -> list[list[float]]:
        """d flow[i] / d volts[j] [S], by differences where the device has no better way."""
        rows: list[list[float]] = [[0.0] * len(volts) for _ in volts]
        for j, v in enumerate(volts):
            step = 1e-6 * max(abs(v), 0.1)
            moved = self.flow([*volts[:j], v + step, *volts[j + 1 :]])
            for i, before in enumerate(flow):
                rows[i][j] = (moved[i] - before) / step
        return rows

    def expect(self, volts: list[float]) -> None:
        """Told the port voltages without any load, from which a load takes its knee."""

    def own_volts(self) -> float:
        """The voltage that it brings of itself. [V]"""
        return 0.0

    def settle(self, volts: list[float]) -> bool:
        """Changes to the straight piece of its curve that holds at the voltages; tells whether it changed."""
        return False

    def first(self) -> tuple[str, float] | None:
        """A terminal and the voltage over the port's minus at which a search for the answer does well to begin."""
        return None

    def holds(self, volts: list[float]) -> bool:
        """Whether the device works where it is meant to."""
        return True

    def strain(self, volts: list[float]) -> float | None:
        """Voltage over the unloaded voltage, of what draws constant power and is fed at all; None of what does not."""
        return None


class CurrentLoad(Device):
    """A constant current above the knee (0.4 of the unloaded voltage), in proportion to the voltage below it."""

    __slots__ = ("amps", "knee")

    def __init__(self, part: str, plus: str, minus: str, amps: float) -> None:
        super().__init__(part, (Port("in", plus, minus),))
        self.amps = amps
        self.knee = 1.0

    def expect(self, volts: list[float]) -> None:
        self.knee = max(KNEE * abs(volts[0]), LEAST_KNEE)

    def flow(self, volts: list[float]) -> list[float]:
        v, amps = volts[0], self.amps * self.scale
        if not amps:
            return [v * IDLE]
        if self.linear:
            return [amps * v * KNEE / self.knee]
        if v >= self.knee:
            return [amps]
        return [-amps] if v <= -self.knee else [amps * v / self.knee]

    def slopes(self, volts: list[float], flow: list[float]) -> list[list[float]]:
        if not self.scale:
            return [[IDLE]]
        if self.linear:
            return [[self.amps * self.scale * KNEE / self.knee]]
        return [[0.0 if abs(volts[0]) >= self.knee else self.amps * self.scale / self.knee]]

    def holds(self, volts: list[float]) -> bool:
        return abs(volts[0]) >= self.knee


class PowerLoad(Device):
    """A constant power above the knee (0.4 of the unloaded voltage), a resistance below it."""

    __slots__ = ("knee", "watts")

    def __init__(self, part: str, plus: str, minus: str, watts: float) -> None:
        super().__init__(part, (Port("in", plus, minus),))
        self.watts = watts
        self.knee = 1.0

    def expect(self, volts: list[float]) -> None:
        self.knee = max(KNEE * abs(volts[0]), LEAST_KNEE)

    def flow(self, volts: list[float]) -> list[float]:
        v, watts = volts[0], self.watts * self.scale
        if not watts:
            return [v * IDLE]
        if self.linear:
            return [watts * v * (KNEE / self.knee) ** 2]
        return [watts / v if abs(v) >= self.knee else watts * v / (self.knee * self.knee)]

    def slopes(self, volts: list[float], flow: list[float]) -> list[list[float]]:
        v, watts = volts[0], self.watts * self.scale
        if not watts:
            return [[IDLE]]
        if self.linear:
            return [[watts * (KNEE / self.knee) ** 2]]
        if abs(v) > 3.0 * self.knee:  # above what can feed it: a search has gone astray, and must not be drawn on
            return [[0.0]]
        return [[-watts / (v * v) if abs(v) >= self.knee else watts / (self.knee * self.knee)]]

    def holds(self, volts: list[float]) -> bool:
        return abs(volts[0]) >= self.knee

    def strain(self, volts: list[float]) -> float | None:
        return KNEE * abs(volts[0]) / self.knee if self.knee > LEAST_KNEE else None


class Blocking(Device):
    """A diode in straight lines: nothing up to its knee voltage, from there on a slope.

    `knee` [V], `ohm` of the slope. Source: the constant-drop model of handbooks, with a slope.
    """

    __slots__ = ("conducts", "knee", "ohm")

    def __init__(self, part: str, plus: str, minus: str, knee: float, ohm: float) -> None:
        super().__init__(part, (Port("through", plus, minus),))
        self.knee = knee
        self.ohm = ohm
        self.conducts = False

    def flow(self, volts: list[float]) -> list[float]:
        return [(volts[0] - self.knee) / self.ohm if self.conducts else 0.0]

    def slopes(self, volts: list[float], flow: list[float]) -> list[list[float]]:
        return [[1.0 / self.ohm if self.conducts else 0.0]]

    def settle(self, volts: list[float]) -> bool:
        before, self.conducts = self.conducts, volts[0] > self.knee
        return self.conducts != before


class Diode(Device):
    """The diode of a panel: i = Is (exp(v / (n VT)) - 1); far beyond its current it goes on straight.

    `saturation` Is [A], `emission` n times the number of junctions in series. Source: Shockley's equation.
    """

    __slots__ = ("emission", "most", "saturation")

    def __init__(self, part: str, plus: str, minus: str, saturation: float, emission: float) -> None:
        super().__init__(part, (Port("in", plus, minus),))
        self.saturation = saturation
        self.emission = emission
        self.most = log(1e5 / saturation)

    def flow(self, volts: list[float]) -> list[float]:
        x = volts[0] / (self.emission * VT)
        if x > self.most:
            return [self.saturation * (exp(self.most) * (1.0 + x - self.most) - 1.0)]
        return [self.saturation * (exp(max(x, -200.0)) - 1.0)]

    def slopes(self, volts: list[float], flow: list[float]) -> list[list[float]]:
        slope = self.emission * VT
        x = min(volts[0] / slope, self.most)
        return [[self.saturation * exp(max(x, -200.0)) / slope]]


class Accumulator(Device):
    """A battery whose state is not said: a voltage behind a resistance that is greater to charge than to discharge."""

    __slots__ = ("accepts", "ohm", "volts")

    def __init__(self, part: str, plus: str, minus: str, volts: float, ohm: float, accepts: float) -> None:
        super().__init__(part, (Port("post", plus, minus),))
        self.volts = volts
        self.ohm = ohm
        self.accepts = accepts

    def own_volts(self) -> float:
        return self.volts

    def flow(self, volts: list[float]) -> list[float]:
        over = volts[0] - self.volts
        return [over / (self.accepts if over > 0 else self.ohm)]

    def slopes(self, volts: list[float], flow: list[float]) -> list[list[float]]:
        return [[1.0 / (self.accepts if volts[0] > self.volts else self.ohm)]]


class Regulator:
    """A voltage behind a small slope up to a greatest current, nothing back: three straight pieces.

    piece : `volts` (regulates), `amps` (at its limit) or `rest` (the wiring is above its voltage). A step from one
    limit to the other always leads over `volts`, so that a search for the answer cannot jump to and fro.
    """

    __slots__ = ("most", "ohm", "piece", "volts")

    def __init__(self, volts: float, ohm: float, most: float) -> None:
        self.volts = volts
        self.ohm = ohm
        self.most = most
        self.piece = "volts"

    def amps(self, volts: float) -> float:
        """Current that it gives on the piece where it stands. [A]"""
        if self.piece == "volts":
            return (self.volts - volts) / self.ohm
        return self.most if self.piece == "amps" else 0.0

    def bounded(self, volts: float) -> float:
        """Current that it gives at a voltage, whatever the piece. [A]"""
        return min(max((self.volts - volts) / self.ohm, 0.0), self.most)

    def settle(self, volts: float) -> bool:
        """Goes to the piece that holds at a voltage; tells whether it changed."""
        before = self.piece
        over = (self.volts - volts) / self.ohm
        if before == "volts":
            self.piece = "amps" if over > self.most * (1 + 1e-12) else "rest" if over < 0 else "volts"
        elif (before == "amps" and over < self.most) or (before == "rest" and over > 0):
            self.piece = "volts"
        return self.piece != before


class Limited(Device):
    """An alternator or a mains charger: a regulator. The current into its port is negative, since it feeds."""

    __slots__ = ("regulator",)

    def __init__(self, part: str, plus: str, minus: str, volts: float, ohm: float, most: float) -> None:
        super().__init__(part, (Port("out", plus, minus),))
        self.regulator = Regulator(volts, ohm, most)

    def own_volts(self) -> float:
        return self.regulator.volts

    def flow(self, volts: list[float]) -> list[float]:
        return [-self.regulator.amps(volts[0])]

    def slopes(self, volts: list[float], flow: list[float]) -> list[list[float]]:
        return [[1.0 / self.regulator.ohm if self.regulator.piece == "volts" else 0.0]]

    def settle(self, volts: list[float]) -> bool:
        return self.regulator.settle(volts[0])


class SunCurrent(Device):
    """The light current of a panel, out of its plus side. `open_volts`: the panel's open-circuit voltage."""

    __slots__ = ("amps", "open_volts")

    def __init__(self, part: str, plus: str, minus: str, amps: float, open_volts: float) -> None:
        super().__init__(part, (Port("sun", plus, minus),))
        self.amps = amps
        self.open_volts = open_volts

    def settle(self, volts: list[float]) -> bool:
        """Changes to the straight piece of its curve that holds at the voltages; tells whether it changed."""
        return False

    def first(self) -> tuple[str, float] | None:
        return self.ports[0].plus, self.open_volts

    def own_volts(self) -> float:
        return self.open_volts

    def flow(self, volts: list[float]) -> list[float]:
        return [-self.amps]

    def slopes(self, volts: list[float], flow: list[float]) -> list[list[float]]:
        return [[0.0]]


class Converter(Device):
    """A charger: what it puts out comes from the sun first, then from its input at its efficiency.

    Output: a voltage behind a small slope up to the rated current. Input: constant power, up to a greatest current.
    Sun: holds the panels at their best voltage; where they could give more than is wanted (`ample`) it draws what is
    wanted at a higher voltage. `ports` are any of `in`, `out`, `solar` in this order; `out` is always there.
    """

    __slots__ = ("ample", "best", "bulk", "efficiency", "input_most", "knee", "regulator", "sun_most", "where")

    def __init__(
        self,
        part: str,
        ports: tuple[Port, ...],
        *,
        volts: float,
        most: float,
        ohm: float,
        efficiency: float,
        input_most: float | None = None,
        best: float = 0.0,
        sun_most: float | None = None,
        ample: bool = False,
    ) -> None:
        super().__init__(part, ports)
        self.where = {port.name: i for i, port in enumerate(ports)}
        self.regulator = Regulator(volts, ohm, most)
        self.efficiency = efficiency
        self.input_most = input_most
        self.best = best
        self.sun_most = sun_most
        self.ample = ample
        self.bulk = False  # whether it gives its full current whatever the voltage
        self.knee = 1.0

    def expect(self, volts: list[float]) -> None:
        if "in" in self.where:
            self.knee = max(KNEE * abs(volts[self.where["in"]]), LEAST_KNEE)

    def own_volts(self) -> float:
        return self.regulator.volts

    def settle(self, volts: list[float]) -> bool:
        return not (self.bulk and self.scale) and self.regulator.settle(volts[self.where["out"]])

    def flow(self, volts: list[float]) -> list[float]:
        where = self.where
        found = [0.0] * len(volts)
        out = volts[where["out"]]
        amps = self.regulator.most if self.bulk and self.scale else self.regulator.amps(out)
        if not self.scale:
            if "in" in where:
                found[where["out"]] = -amps
            return found
        power = max(out, 0.0) * amps  # [W] at the output
        sun = 0.0
        if "solar" in where:
            v = volts[where["solar"]]
            if self.ample:
                knee = 0.5 * self.best
                watts = power / self.efficiency
                found[where["solar"]] = watts / v if v > knee else watts * max(v, 0.0) / (knee * knee)
                sun = power
            else:
                taken = (v - self.best) / TRACKING
                if self.sun_most is not None:
                    taken = min(taken, self.sun_most)
                found[where["solar"]] = taken
                sun = taken * v * self.efficiency
        if "in" in where:
            v = volts[where["in"]]
            watts = max(power - sun, 0.0) / self.efficiency
            taken = watts / v if v >= self.knee else watts * max(v, 0.0) / (self.knee * self.knee)
            if self.input_most is not None and taken > self.input_most:
                taken = self.input_most
                amps = min(amps, (sun + taken * v * self.efficiency) / max(out, 0.1))
            found[where["in"]] = taken
        elif not self.ample:
            amps = sun / max(out, 1.0)
        found[where["out"]] = -amps
        return found

    def enough_sun(self, volts: list[float]) -> bool:
        """Whether the panels can give more than is wanted, by the solved port voltages."""
        if "solar" not in self.where:
            return False
        v = volts[self.where["solar"]]
        if self.ample:
            return v > self.best
        out = volts[self.where["out"]]
        wanted = self.regulator.most if self.bulk else self.regulator.bounded(out)
        return (v - self.best) / TRACKING * v * self.efficiency > max(out, 0.0) * wanted

    def holds(self, volts: list[float]) -> bool:
        return "in" not in self.where or volts[self.where["in"]] >= self.knee

    def strain(self, volts: list[float]) -> float | None:
        if "in" not in self.where or self.knee <= LEAST_KNEE:
            return None
        return KNEE * volts[self.where["in"]] / self.knee
