"""From facts to numbers: what the job says, else its own figures, else the catalogue; every default is noted.

The job and its conductors are in `wires.py`, its parts here. All figures are in V, A, ohm, W, degC.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from wiregen.circuit.fault import Gate
from wiregen.circuit.wires import WireFigures, between
from wiregen.model.job import Contact, Part


class Cell(NamedTuple):
    """A battery as a voltage behind a resistance. `accepts` is the greater resistance that it shows to charge where
    its state is not said (a charged battery takes little), None where it is the same both ways."""

    volts: float
    ohm: float
    accepts: float | None
    nominal: float
    capacity: float | None
    chemistry: str
    lithium: bool


class Draw(NamedTuple):
    """What a load draws. kind: `current` [A], `power` [W] or `resistance` [ohm]."""

    kind: str
    value: float


class Figures(WireFigures):
    """All figures of one job, worked out when they are asked for."""

    def contact_ohm(self, part: Part, contact: Contact) -> float:
        """Resistance of a closed contact. [ohm]"""
        if contact.kind == "solid":
            return 0.0
        given = part.number("resistance")
        if given is not None:
            return given
        rating = part.number("rating")
        if contact.kind in ("fuse", "breaker"):
            return self._fuse_ohm(part, rating)
        if contact.kind == "pole":
            return self.default("pole-resistance", part.id, "resistance of a mated pole", "ohm")
        if rating and contact.kind in ("switch", "relay", "shunt"):
            id = f"{contact.kind}-millivolts"
            return self.default(id, part.id, "contact resistance", "ohm", self.book.default(id) * 1e-3 / rating)
        return self.default("contact-resistance", part.id, "contact resistance", "ohm")

    def family(self, part: Part) -> Mapping[str, Any]:
        """The fuse family of a fuse or breaker. Its id is `` where the netlist does not say the type."""
        word = "breaker" if part.kind == "breaker" else part.word("type")
        row = self.book.row("fuse_family", word) or self.book.row("fuse_family", "")
        assert row is not None
        return row

    def _fuse_ohm(self, part: Part, rating: float | None) -> float:
        family = self.family(part)
        if not rating:
            return self.default("contact-resistance", part.id, "resistance", "ohm")
        for row in self.book.rows("fuse_resistance"):
            if row["family"] == family["id"] and row["rating_a"] == rating:
                ohm = row["milliohm"] * 1e-3
                self.note(part.id, "cold resistance", ohm, "ohm", self.book.basis(row))
                return float(ohm)
        ohm = family["millivolts_cold"] * 1e-3 / rating
        basis = f"{family['millivolts_cold']} mV over its rating: {self.book.basis(family)}"
        self.note(part.id, "cold resistance", ohm, "ohm", basis)
        return float(ohm)

    def gates(self, part: Part) -> tuple[Gate, ...]:
        """The time-current gates of a fuse or breaker, rising by current."""
        name = self.family(part)["gates"]
        return tuple(
            Gate(row["percent"] / 100.0, row["least_s"], row["most_s"])
            for row in self.book.rows("gate")
            if row["gates"] == name
        )

    def fuse_factor(self, part: Part, ambients: Mapping[str, float] = {}) -> float:
        """What is left of a fuse's rating in its place, from the published curve; breakers keep theirs. [1]"""
        if part.kind == "breaker" or not part.place:
            return 1.0
        ambient = self.ambient(part.place, ambients)
        rows = self.book.rows("fuse_derating")
        return between([(row["ambient_c"], row["factor"]) for row in rows], ambient)

    def battery(self, part: Part, state: float | None = None) -> Cell:
        """A battery in numbers. `state` is its state of charge where the part does not say it."""
        number = part.number
        series, parallel = number("series") or 1.0, number("parallel") or 1.0
        unit = number("volts")
        if unit is None:
            unit = self.system / series
            self.note(part.id, "nominal voltage", unit * series, "V", "the system voltage of the job")
        chemistry = part.word("chemistry")
        if not chemistry:
            chemistry = "flooded"
            self.note(part.id, "chemistry", chemistry, "", "not said; flooded lead-acid is taken")
        row = self.book.row("chemistry", chemistry) or self.book.row("chemistry", "flooded")
        assert row is not None
        open_circuit = number("open-circuit")
        own = self.job.own_figures.voltages.get(part.id) if self.job.own_figures else None
        if own:
            open_circuit = own.value / series
            self.note(part.id, "open-circuit voltage", own.value, "V", "the job's own figures")
        if open_circuit is None:
            charge = number("charge")
            if charge is None:
                charge = self.default("battery-state", part.id, "state of charge", "1", state)
            open_circuit = self._open_circuit(row, charge) * unit / 12.0
            self.note(
                part.id,
                f"open-circuit voltage at {charge:.0%} charge",
                open_circuit * series,
                "V",
                self.book.basis(row, "ocv_source"),
            )
        capacity = number("capacity")
        ohm = self._battery_ohm(part, number, row, unit, capacity)
        accepts = None
        if own is None and number("open-circuit") is None and number("charge") is None:
            share = self.book.default("battery-acceptance")
            amps = share * (capacity or self.book.default("battery-capacity"))
            gap = row["absorption_v"] * unit / 12.0 - open_circuit
            accepts = max(gap / amps, ohm) * series / parallel
            basis = self.book.basis(self.book.row("default", "battery-acceptance") or {})
            self.note(part.id, "charge taken at absorption voltage", amps * parallel, "A", basis)
        return Cell(
            open_circuit * series,
            ohm * series / parallel,
            accepts,
            unit * series,
            capacity * parallel if capacity else None,
            chemistry,
            row["compensation_v_per_k"] == 0,
        )

    def _battery_ohm(self, part: Part, number: Any, row: Mapping[str, Any], unit: float, ah: float | None) -> float:
        """Internal resistance of one unit. [ohm]"""
        given = number("resistance")
        if given is not None:
            return float(given)
        full = self._open_circuit(row, 1.0) * unit / 12.0
        if number("short-circuit"):
            ohm = full / number("short-circuit")
            basis = "open-circuit voltage over the given short-circuit current"
        elif number("cranking"):
            ohm = 0.5 * (12.6 - 7.2) * unit / 12.0 / number("cranking")
            source = self.book.sources["cranking"]
            basis = f"{source['text']} (from memory, not read)"
        elif ah:
            ohm = row["ohm_ah"] / ah * unit / 12.0
            basis = self.book.basis(row, "resistance_source")
        else:
            return self.default("battery-resistance", part.id, "internal resistance", "ohm")
        self.note(part.id, "internal resistance", ohm, "ohm", basis)
        return float(ohm)

    def _open_circuit(self, row: Mapping[str, Any], charge: float) -> float:
        rows = self.book.rows("open_circuit")
        return between([(r["state"], r["volts"]) for r in rows if r["chemistry"] == row["ocv"]], charge)

    def nominal(self, part: Part, plus: str = "+", minus: str = "-") -> float:
        """The voltage that a part is meant to work at: its own, else that of the battery that feeds it. [V]"""
        own = part.number("volts") if part.kind in ("load", "lamp", "sensor", "inverter", "battery") else None
        if own:
            return own
        high = self.levels.get(f"{part.id}.{plus}")
        low = self.levels.get(f"{part.id}.{minus}", self.levels.get(f"{part.id}.-", 0.0))
        if high is not None and abs(high - low) > 1.0:
            return abs(high - low)
        return abs(high) if high else self.system

    def draw(self, part: Part) -> Draw | None:
        """What a load, lamp, sensor or inverter draws from its supply; None where the netlist does not say."""
        measure = part.measure("draws")
        if measure is None and part.kind == "inverter" and part.number("rating"):
            efficiency = part.number("efficiency")
            if efficiency is None:
                efficiency = self.default("inverter-efficiency", part.id, "efficiency", "1")
            return Draw("power", (part.number("rating") or 0.0) / efficiency)
        if measure is None:
            return None
        given = {"current": "current", "power": "power", "resistance": "resistance"}.get(measure.dimension, "current")
        behaves = {"constant": "power", "current": "current", "resistance": "resistance"}.get(part.word("power"), "")
        if not behaves:
            behaves = "resistance" if part.kind == "lamp" and part.word("type") == "filament" else given
            words = {"current": "a constant current", "power": "a constant power", "resistance": "a resistance"}
            self.note(part.id, "behaves as", words[behaves], "", "by the unit it is given in")
        return Draw(behaves, convert(measure.value, given, behaves, self.nominal(part)))

    def amps(self, part: Part) -> float:
        """What a load takes at its nominal voltage; 0 where the netlist does not say. [A]"""
        draw = self.draw(part)
        return convert(draw.value, draw.kind, "current", self.nominal(part)) if draw else 0.0

    def profile(self, part: Part) -> tuple[float, str]:
        """Absorption voltage of a charger's output and the chemistry of its profile. [V]"""
        fact = part.fact("profile")
        chemistry = fact.word if fact else ""
        if fact:
            for value in fact.values:
                if value.measure and value.measure.dimension == "voltage":
                    return value.measure.value, chemistry
        row = self.book.row("chemistry", chemistry) or self.book.row("chemistry", "flooded")
        assert row is not None
        nominal = part.number("output-system") or self.nominal(part, "out.+", "out.-")
        volts = row["absorption_v"] * nominal / 12.0
        self.note(part.id, "absorption voltage", volts, "V", self.book.basis(row))
        return float(volts), chemistry or "flooded"


def convert(value: float, given: str, wanted: str, volts: float) -> float:
    """A draw of one kind as another at a nominal voltage: `current` [A], `power` [W], `resistance` [ohm]."""
    if given == wanted:
        return value
    amps = {"current": value, "power": value / volts, "resistance": volts / value if value else 0.0}[given]
    return {"current": amps, "power": amps * volts, "resistance": volts / amps if amps else 1e12}[wanted]
