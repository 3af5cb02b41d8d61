"""From facts to numbers: the job as a whole and its conductors.

All figures are in V, A, ohm, m, mm2, degC. `assumptions` collects each figure that the netlist does not give.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from wiregen.catalogue import Catalogue, catalogue
from wiregen.circuit.ampacity import ambient_factor, column_below, row_below
from wiregen.circuit.company import bundle_counts, nominal_levels
from wiregen.circuit.fault import withstand_constant
from wiregen.circuit.resistance import TEMPERATURE_COEFFICIENT, area_of_gauge
from wiregen.circuit.study import Assumption
from wiregen.language.tree import Measure
from wiregen.model.job import Conductor, Job

FAMILIES = {"area": "mm2", "gauge": "AWG", "auto-size": "auto-mm"}  # dimension of a size -> family of conductors


class Stretch(NamedTuple):
    """A part of a conductor's length in one place. `share` of the length, ambient in degC."""

    share: float
    place: str | None
    ambient: float


class Wire(NamedTuple):
    """A conductor in numbers. `table_a` is its ampacity at the table's ambient with the bundle factor (None: unknown),
    `rise` the temperature rise [K] that belongs to it, `fixed` a conductor temperature that the job prescribes."""

    area: float | None
    ohm_20: float
    low_length: float
    high_length: float
    stretches: tuple[Stretch, ...]
    insulation: float
    final: float
    table_a: float | None
    rise: float
    fixed: float | None
    ampacity: float | None
    ampacity_basis: str
    joints: float
    own: bool  # whether the ampacity is the job's own figure


class _Kind(NamedTuple):
    """Copper area [mm2], resistance [ohm/m], temperatures [degC], table ampacity [A], its rise [K] and source."""

    area: float | None
    ohm_per_m: float
    insulation: float
    final: float
    table_a: float | None
    rise: float
    basis: str


class WireFigures:
    """The figures of one job and its conductors, worked out when they are asked for."""

    def __init__(self, job: Job, book: Catalogue | None = None) -> None:
        self.job = job
        self.book = book or catalogue()
        self._noted: dict[tuple[str, str], Assumption] = {}
        self._wires: dict[str, tuple[Conductor, Wire]] = {}
        self._kinds: dict[object, _Kind] = {}
        self._ambients: dict[str | None, float] = {}
        self._factors: dict[tuple[float, float], float] = {}
        self._alike: tuple[float | None, float] | None = None
        self.system = self._system()
        self.limits = self._limits()
        self.levels: dict[str, float] = nominal_levels(job, self.system)
        self._bundles = bundle_counts(job)
        table_id = self.limits["table"]
        self._table: Any = self.book.row("ampacity_table", table_id)
        self._rows = [r for r in self.book.rows("ampacity") if r["table"] == table_id]
        self._conductors: dict[str, list[Mapping[str, Any]]] = {}
        for row in self.book.rows("conductor"):
            self._conductors.setdefault(row["family"], []).append(row)
        self._areas = {family: [r["area_mm2"] for r in rows] for family, rows in self._conductors.items()}
        self._table_areas = [row["area_mm2"] for row in self._rows]

    @property
    def assumptions(self) -> tuple[Assumption, ...]:
        """What was taken where the netlist is silent, sorted by subject and quantity."""
        return tuple(self._noted[key] for key in sorted(self._noted))

    def note(self, subject: str, quantity: str, value: float | str, unit: str, basis: str) -> None:
        """Lists an assumption, once for each subject and quantity."""
        self._noted.setdefault((subject, quantity), Assumption(subject, quantity, value, unit, basis))

    def default(self, id: str, subject: str, quantity: str, unit: str = "", value: float | None = None) -> float:
        """A default of the catalogue, listed as an assumption. `value` where it is computed from the default."""
        row = self.book.row("default", id)
        assert row is not None, id
        taken = float(row["value"]) if value is None else value
        self.note(subject, quantity, taken, unit or str(row["unit"]), self.book.basis(row))
        return taken

    # ------------------------------------------------------------ the job

    def _system(self) -> float:
        fact = self.job.facts.get("system")
        if fact and fact.measure:
            return fact.measure.value
        for part in self.job.parts.values():
            volts = part.number("volts")
            if part.kind == "battery" and volts:
                self.note("job", "system voltage", volts, "V", f"the voltage of {part.id}")
                return volts
        self.note("job", "system voltage", 12.0, "V", "a careful choice of ours (common practice, no source)")
        return 12.0

    def _limits(self) -> Mapping[str, Any]:
        fact = self.job.facts.get("limits")
        row = self.book.row("limits", fact.word if fact else "")
        if row is None:
            row = self.book.row("limits", "iso13297")
            assert row is not None
            self.note("job", "limits", "iso13297", "", "the published limits nearest to vehicles (boats)")
        return row

    def own(self, name: str) -> float | None:
        """A figure of the job's own, or None."""
        figures = self.job.own_figures
        fact = figures.facts.get(name) if figures else None
        return fact.measure.value if fact and fact.measure else None

    def ambient(self, place: str | None, ambients: Mapping[str, float] = {}) -> float:
        """The hottest air at a place, what a case says first. [degC]"""
        if place is not None and place in ambients:
            return ambients[place]
        found = self._ambients.get(place)
        if found is None:
            at = self.job.places.get(place) if place is not None else None
            measure = at.measure("ambient") if at else None
            found = measure.high if measure else self.default("ambient", place or "job", "ambient", "degC")
            self._ambients[place] = found
        return found

    # ------------------------------------------------------------ conductors

    def wire(self, conductor: Conductor) -> Wire:
        """A conductor in numbers, in the ambients of the job (not of a case)."""
        found = self._wires.get(conductor.id)
        if found is None or found[0] is not conductor:  # a case may set facts of its own
            found = self._wires[conductor.id] = conductor, self._wire(conductor)
        return found[1]

    def _kind(self, conductor: Conductor) -> _Kind:
        """What conductors of one size, insulation and company have in common; worked out once for each kind."""
        size = conductor.measure("size")
        key = (
            size and (size.dimension, size.value),
            conductor.word("material"),
            conductor.word("insulation-kind"),
            conductor.number("insulation"),
            self._bundles.get(conductor.id, 1),
        )
        found = self._kinds.get(key)
        if found is None:
            area, ohm_per_m = self._size(conductor)
            insulation, final = self._insulation(conductor)
            found = _Kind(area, ohm_per_m, insulation, final, *self._table_ampacity(conductor, area, insulation))
            if area is not None and area >= self._table_areas[0] and key[1] in ("", "copper"):
                self._kinds[key] = found  # the others have something to note for each conductor
        return found

    def _wire(self, conductor: Conductor) -> Wire:
        area, ohm_per_m, insulation, final, table, rise, basis = self._kind(conductor)
        length = conductor.measure("length")
        if length is None:
            self.note(conductor.id, "length", 0.0, "m", "not said: no resistance is counted for it")
        stretches = self._stretches(conductor, length.value if length else 0.0)
        ampacity = None
        if table is not None:
            hottest = max(stretch.ambient for stretch in stretches)
            ampacity = table * self._ambient_factor(hottest, insulation)
        own = self._own_ampacity(conductor, area) if self.job.own_figures else None
        if own is not None:
            title = self.job.own_figures.title if self.job.own_figures else ""
            ampacity, basis = own, f"the job's own figures, {title}"
        fixed, joints = self._of_all()
        return Wire(
            area=area,
            ohm_20=ohm_per_m * (length.value if length else 0.0),
            low_length=length.low if length else 0.0,
            high_length=length.high if length else 0.0,
            stretches=stretches,
            insulation=insulation,
            final=final,
            table_a=own if table is None else table,
            rise=rise,
            fixed=fixed,
            ampacity=ampacity,
            ampacity_basis=basis,
            joints=2.0 * joints,
            own=own is not None,
        )

    def _of_all(self) -> tuple[float | None, float]:
        """What the job's own figures say of every conductor: its temperature [degC] and its joints, each. [ohm]"""
        if self._alike is None:
            joints = self.own("joints")
            if joints is None:
                self.note("job", "joints", 0.0, "ohm", "sound crimps and bolted joints are taken as lossless")
            self._alike = self.own("conductor-temperature"), joints or 0.0
        return self._alike

    def _size(self, conductor: Conductor) -> tuple[float | None, float]:
        """Copper area [mm2] and resistance at 20 degC [ohm/m]."""
        size = conductor.measure("size")
        if size is None:
            self.note(conductor.id, "size", "unknown", "", "not said: no resistance is counted for it")
            return None, 0.0
        family = FAMILIES.get(size.dimension, "mm2")
        rows = self._conductors[family]
        area = size_area(size, rows)
        own = self.own("resistivity")
        if own is not None:
            return area, own * 1e6 / area
        material = conductor.word("material")
        i = row_below(self._areas[family], area)
        row = rows[max(i, 0)]
        ohm_per_m = row["ohm_per_km"] * 1e-3 * row["area_mm2"] / area
        self.note("job", f"resistance of {family} conductors", "by size", "ohm/km", self.book.basis(row))
        if material == "aluminium":
            self.note(conductor.id, "resistance", "1.64 times copper", "", "aluminium, from memory, not read")
            ohm_per_m *= 1.64
        elif material == "tinned":
            self.note(conductor.id, "resistance", "1.03 times plain", "", "IEC 60228, tinned (read in a reprint)")
            ohm_per_m *= 1.03
        return area, ohm_per_m

    def _stretches(self, conductor: Conductor, length: float) -> tuple[Stretch, ...]:
        legs = conductor.route
        if not legs:
            places: list[str] = []
            for terminal in (conductor.from_, conductor.to):
                part = self.job.part_of(terminal)
                if part and part.place and part.place not in places:
                    places.append(part.place)
            if not places:
                return (Stretch(1.0, None, self.ambient(None)),)
            hottest = max(places, key=self.ambient)
            return (Stretch(1.0, hottest, self.ambient(hottest)),)
        said = sum(leg.length_m for leg in legs if leg.length_m is not None)
        silent = sum(1 for leg in legs if leg.length_m is None)
        total = max(length, said) or 1.0
        rest = (total - said) / silent if silent else 0.0
        return tuple(
            Stretch(
                (leg.length_m if leg.length_m is not None else rest) / total if total else 1.0 / len(legs),
                leg.place,
                self.ambient(leg.place),
            )
            for leg in legs
        )

    def _insulation(self, conductor: Conductor) -> tuple[float, float]:
        """Temperature that the insulation bears in service and for the seconds of a fault. [degC]"""
        material = conductor.word("insulation-kind")
        if not material:
            material = "thermoplastic"
            self.note("job", "insulation material", material, "", "where nothing is said (the careful choice)")
        row = self.book.row("insulation", material) or self.book.row("insulation", "thermoplastic")
        assert row is not None
        bears = conductor.number("insulation")
        if bears is None:
            bears = self.default("insulation", "job", "insulation of conductors that do not say", "degC")
        return bears, float(row["final_c"])

    def _table_ampacity(
        self, conductor: Conductor, area: float | None, insulation: float
    ) -> tuple[float | None, float, str]:
        table = self._table
        columns, reference = table["insulation_c"], table["reference_c"]
        if area is None:
            return None, 1.0, ""
        column = column_below(columns, insulation)
        scale = 1.0
        if column < 0:
            column, scale = (
                0,
                ambient_factor(ambient=columns[0] - insulation + reference, insulation=columns[0], reference=reference),
            )
        i = row_below(self._table_areas, area)
        row = self._rows[max(i, 0)]
        amps = row["amps"][column] * scale
        basis = f"{self.book.basis(table)}, {row['size']} at {columns[column]} degC"
        if i < 0:
            amps *= area / row["area_mm2"]
            self.note(conductor.id, "ampacity", amps, "A", f"in proportion to its area, below the table: {basis}")
        if conductor.word("material") == "aluminium":
            amps *= 0.78
            self.note(conductor.id, "ampacity of aluminium", 0.78, "of copper", "from memory, not read")
        count, factor = self._bundles.get(conductor.id, 1), 1.0
        if count > 1 and not (self.limits["id"] == "abyc" and self.system < 50):
            for step in self.book.rows("bundle_factor"):
                if step["table"] == table["id"] and count >= step["count"]:
                    factor = step["factor"]
                    basis_of = self.book.basis(step)
            if factor < 1.0:
                basis = f"{basis}; times {factor:g} for {count} conductors together, {basis_of}"
        return amps * factor, max(columns[column], insulation) - reference, basis

    def _ambient_factor(self, ambient: float, insulation: float) -> float:
        found = self._factors.get((ambient, insulation))
        if found is None:
            table = self._table
            found = ambient_factor(ambient=ambient, insulation=insulation, reference=table["reference_c"])
            for row in self.book.rows("engine_factor"):
                if row["table"] == table["id"] and row["ambient_c"] == ambient and row["insulation_c"] == insulation:
                    found = float(row["factor"])
            self._factors[ambient, insulation] = found
        return found

    def ampacity_in(self, conductor: Conductor, ambients: Mapping[str, float]) -> float | None:
        """A conductor's ampacity where a case makes its places hotter or cooler. [A]"""
        wire = self.wire(conductor)
        if wire.own or wire.table_a is None or not any(s.place in ambients for s in wire.stretches if s.place):
            return wire.ampacity
        hottest = max(ambients.get(s.place or "", s.ambient) for s in wire.stretches)
        return wire.table_a * self._ambient_factor(hottest, wire.insulation)

    def _own_ampacity(self, conductor: Conductor, area: float | None) -> float | None:
        figures = self.job.own_figures
        if figures is None or area is None:
            return None
        best: tuple[float, float] | None = None
        for size, amps, _ in figures.ampacity:
            family = FAMILIES.get(size.dimension, "mm2")
            own_area = size_area(size, self._conductors[family])
            if abs(own_area - area) <= 0.002 * area and (best is None or own_area > best[0]):
                best = own_area, amps.value
        return best[1] if best else None

    def withstand_k(self, wire: Wire) -> float:
        """k of a conductor from the temperature that its insulation bears to its final one. [A s^0.5/mm2]"""
        return withstand_constant(initial=wire.insulation, final=wire.final)


def copper_area(conductor: Conductor) -> float | None:
    """Copper area of a conductor's size as sold; None where no size is said. [mm2]"""
    size = conductor.measure("size")
    if size is None:
        return None
    family = FAMILIES.get(size.dimension, "mm2")
    return size_area(size, [row for row in catalogue().rows("conductor") if row["family"] == family])


def size_range(size: Measure) -> tuple[float, float]:
    """Copper areas of the two ends of a range of sizes, the smaller first. [mm2]"""
    family = FAMILIES.get(size.dimension, "mm2")
    rows = [row for row in catalogue().rows("conductor") if row["family"] == family]
    ends = [size_area(size._replace(value=end), rows) for end in (size.low, size.high)]
    return min(ends), max(ends)


def size_area(size: Measure, rows: Sequence[Mapping[str, Any]]) -> float:
    """Copper area of a size as sold. [mm2]"""
    if size.dimension == "gauge":
        return area_of_gauge(size.value)
    if size.dimension == "auto-size":
        points = [(float(row["size"]), float(row["area_mm2"])) for row in rows]
        if size.value < points[0][0]:
            return points[0][1] * (size.value / points[0][0]) ** 2
        if size.value > points[-1][0]:
            return points[-1][1] * (size.value / points[-1][0]) ** 2
        return between(points, size.value)
    return size.value


def between(points: list[tuple[float, float]], at: float) -> float:
    """Straight line between published points, their end values beyond."""
    if at <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in itertools.pairwise(points):
        if at <= x1:
            return y0 + (y1 - y0) * (at - x0) / (x1 - x0)
    return points[-1][1]


def copper_at(wire: Wire, temperature: float) -> float:
    """Resistance of a wire at one temperature, joints included. [ohm]"""
    return wire.ohm_20 * (1.0 + TEMPERATURE_COEFFICIENT * (temperature - 20.0)) + wire.joints
