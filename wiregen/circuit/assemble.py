"""One operating case of a job as a circuit of numbers: ideal joints merged, the rest as resistances and devices."""

from __future__ import annotations

from collections.abc import Mapping

from wiregen.circuit.cases import CHARGERS, LOADS, State
from wiregen.circuit.devices import (
    VT,
    Accumulator,
    Blocking,
    Converter,
    CurrentLoad,
    Device,
    Diode,
    Limited,
    Port,
    PowerLoad,
    SunCurrent,
)
from wiregen.circuit.figures import Figures
from wiregen.circuit.panel import lit_panel, panel_figures
from wiregen.circuit.study import Trouble
from wiregen.circuit.wires import copper_at
from wiregen.model.job import Conductor, Contact, Job, Part

Key = tuple[str, ...]  # ("conductor", id), ("contact", part, name), ("link", a, b), ("part", id), ("body", id, earth),
# ("joint", where)
DARK_KNEE = 0.8  # of its open-circuit voltage: where a dark panel begins to conduct
IDEAL = 1e-9  # [ohm] what resists less is merged


class Branch:
    """A resistance with a voltage in series: current from a to b is (v(a) - v(b) - volts) / ohm."""

    __slots__ = ("a", "b", "key", "ohm", "volts")

    def __init__(self, key: Key, a: str, b: str, ohm: float, volts: float = 0.0) -> None:
        self.key = key
        self.a = a
        self.b = b
        self.ohm = ohm
        self.volts = volts


class Circuit:
    """One case in numbers. `ideal` holds v(a) - v(b) = volts at any current; `logic` what was decided by voltages.

    references : where an island's 0 V is, in order of preference
    lit        : see `_lit`; None until a charger asks for it
    """

    __slots__ = ("branches", "devices", "ideal", "lit", "logic", "references", "state", "terminals", "troubles")

    def __init__(self, state: State, logic: Mapping[str, bool] | None = None) -> None:
        self.state = state
        self.branches: list[Branch] = []
        self.ideal: list[Branch] = []
        self.devices: list[Device] = []
        self.terminals: list[str] = []
        self.references: list[str] = []
        self.logic: dict[str, bool] = dict(logic or {})
        self.troubles: list[Trouble] = []
        self.lit: dict[str, list[tuple[str, float]]] | None = None

    def add(self, key: Key, a: str, b: str, ohm: float, volts: float = 0.0) -> None:
        """A branch; ideal where it hardly resists."""
        branch = Branch(key, a, b, ohm, volts)
        (self.ideal if ohm < IDEAL else self.branches).append(branch)


def main_battery(job: Job) -> Part | None:
    """The start battery: called `start`, else the one that an alternator or starter is on, else the first."""
    batteries = [part for part in job.parts.values() if part.kind == "battery"]
    for part in batteries:
        if part.id.rpartition(".")[2].lower() == "start":
            return part
    for part in job.parts.values():
        if part.kind in ("alternator", "starter"):
            at = part.word("on")
            for battery in batteries:
                if at and battery.id.lower() == at.lower():
                    return battery
    return batteries[0] if batteries else None


def assemble(job: Job, figures: Figures, state: State, logic: Mapping[str, bool]) -> Circuit:
    """The circuit of one case. `logic`: parts that voltages switch (relays, chargers) and whether they are on."""
    circuit = Circuit(state, logic)
    circuit.terminals = list(job.terminals)
    _conductors(circuit, job, figures)
    apart = {part.lower() for part in state.apart}
    for link in job.links:
        if link.why != "mated":
            circuit.add(("link", link.a, link.b), link.a, link.b, 0.0)
            continue
        ends = [job.part_of(link.a), job.part_of(link.b)]
        if any(end and end.id.lower() in apart for end in ends):
            continue
        given = [end.number("resistance") for end in ends if end and end.number("resistance") is not None]
        half = ends[0].id if ends[0] else "job"
        ohm = max((g for g in given if g is not None), default=None)
        if ohm is None:
            ohm = figures.default("pole-resistance", half, "resistance of a mated pole", "ohm")
        circuit.add(("link", link.a, link.b), link.a, link.b, ohm)
    main = main_battery(job)
    if main:
        circuit.references.append(f"{main.id}.-")
    for body in job.bodies.values():
        _body(circuit, figures, body.id, body.earths, body.number("resistance"))
    for part in job.parts.values():
        for contact in part.contacts:
            _contact(circuit, figures, part, contact, state)
        _part(circuit, job, figures, part, state)
    if job.joints:
        from wiregen.circuit.worn import plant

        plant(circuit, job)
    return circuit


def _conductors(circuit: Circuit, job: Job, figures: Figures) -> None:
    for conductor in job.conductors.values():
        if conductor.id in circuit.state.broken:
            continue
        wire = figures.wire(conductor)
        temperature = wire.fixed if wire.fixed is not None else average_ambient(conductor, figures, circuit.state)
        circuit.add(("conductor", conductor.id), conductor.from_, conductor.to, copper_at(wire, temperature))


def average_ambient(conductor: Conductor, figures: Figures, state: State) -> float:
    """The ambient along a conductor by the shares of its length. [degC]"""
    stretches = figures.wire(conductor).stretches
    return sum(s.share * state.ambients.get(s.place or "", s.ambient) for s in stretches)


def _body(circuit: Circuit, figures: Figures, id: str, earths: tuple[str, ...], ohm: float | None) -> None:
    """A body as a star, so that any two of its earths are `ohm` apart."""
    if not earths:
        return
    if ohm is None:
        ohm = figures.default("body-resistance", id, "between any two of its earths", "ohm")
    centre = f"body:{id}"
    circuit.terminals.append(centre)
    for earth in earths:
        circuit.add(("body", id, earth), earth, centre, ohm / 2 if len(earths) > 1 else 0.0)


def contact_closed(part: Part, contact: Contact, circuit: Circuit) -> bool:
    """Whether a contact is closed in the circuit's case."""
    state = circuit.state
    if contact.kind == "solid":
        return True
    if part.id in state.closed:
        return state.closed[part.id]
    if contact.kind == "pole":
        return contact.closed and part.id not in state.apart
    if contact.kind == "relay":
        active = circuit.logic.get(part.id, False)
        return contact.closed != active
    if contact.kind == "switch":
        if part.id in state.on or part.id in state.off:
            return part.id in state.on
        return circuit.logic.get(part.id, contact.closed)
    return contact.closed


def _contact(circuit: Circuit, figures: Figures, part: Part, contact: Contact, state: State) -> None:
    if not contact_closed(part, contact, circuit):
        return
    if contact.kind == "diode":
        rating = part.number("rating") or 10.0
        drop = part.number("forward") or figures.default("diode-volts", part.id, "forward voltage at its rating", "V")
        knee = figures.book.default("diode-knee") * drop
        circuit.devices.append(Blocking(part.id, contact.a, contact.b, knee, (drop - knee) / rating))
        return
    circuit.add(("contact", part.id, contact.name), contact.a, contact.b, figures.contact_ohm(part, contact))


def _part(circuit: Circuit, job: Job, figures: Figures, part: Part, state: State) -> None:
    plus, minus = f"{part.id}.+", f"{part.id}.-"
    kind = part.kind
    if kind == "battery":
        _battery(circuit, job, figures, part, state)
    elif kind == "alternator":
        _alternator(circuit, job, figures, part, state)
    elif kind in LOADS:
        if state.runs(part.id, kind != "sensor" or part.has("draws")):
            duty = state.facts.get(part.id, {}).get("duty")
            _load(circuit, figures, part, plus, minus, duty.measure.value if duty and duty.measure else 1.0)
    elif kind == "starter":
        if state.runs(part.id, state.starting):
            nominal = figures.nominal(part)
            measure = part.measure("draws")
            if measure is None:
                amps = figures.default("starter-current", part.id, "current", "A")
            else:
                amps = measure.value / nominal if measure.dimension == "power" else measure.value
            circuit.add(("part", part.id), plus, minus, part.number("resistance") or nominal / amps)
    elif kind in CHARGERS:
        _charger(circuit, job, figures, part, state)
    elif kind == "panel":
        _panel(circuit, job, figures, part, state)
    elif kind == "feed":
        _feed(circuit, job, figures, part, state)
    elif kind == "relay":
        _coil(circuit, job, figures, part)


def _held(circuit: Circuit, part: str, plus: str, minus: str, volts: float) -> None:
    """A source held at a voltage; of a range the low end, where constant power draws most current."""
    circuit.ideal.append(Branch(("part", part), plus, minus, 0.0, volts))


def _battery(circuit: Circuit, job: Job, figures: Figures, part: Part, state: State) -> None:
    plus, minus = f"{part.id}.+", f"{part.id}.-"
    circuit.references.append(minus)
    if part.id in state.off:
        return
    held = state.held.get(part.id)
    if held:
        _held(circuit, part.id, plus, minus, held.low)
        return
    cell = figures.battery(part, state.charge)
    if cell.accepts is None or cell.ohm < IDEAL:
        circuit.add(("part", part.id), plus, minus, cell.ohm, cell.volts)
    else:
        circuit.devices.append(Accumulator(part.id, plus, minus, cell.volts, cell.ohm, cell.accepts))


def _return(circuit: Circuit, job: Job, figures: Figures, part: Part) -> str:
    """The negative of an alternator: its own terminal, else the start battery's, as its housing is earthed there."""
    minus = f"{part.id}.-"
    if minus in job.terminals and job.terminals[minus].used:
        return minus
    main = main_battery(job)
    if main is None:
        return minus
    if minus not in circuit.terminals:
        circuit.terminals.append(minus)
    figures.note(part.id, "return", f"{main.id}.-", "", "its housing is taken as earthed at the battery's negative")
    circuit.add(("link", minus, f"{main.id}.-"), minus, f"{main.id}.-", 0.0)
    return minus


def _alternator(circuit: Circuit, job: Job, figures: Figures, part: Part, state: State) -> None:
    plus = f"{part.id}.+"
    if plus not in job.terminals:
        return
    minus = _return(circuit, job, figures, part)
    if not state.runs(part.id, state.engine) or not circuit.logic.get(part.id, True):
        return
    held = state.held.get(part.id)
    if held:
        _held(circuit, part.id, plus, minus, held.low)
        return
    nominal = figures.nominal(part)
    volts = part.number("volts")
    if volts is None or volts < 1.1 * nominal:
        low = state.low and part.word("control") == "variable"
        id = "alternator-low" if low else "alternator-fixed"
        value = figures.book.default(id) * nominal / 12.0
        quantity = "regulated voltage at its low end" if low else "regulated voltage"
        volts = figures.default(id, part.id, quantity, "V", value)
    ohm = part.number("resistance")
    if not ohm:
        ohm = figures.default("alternator-slope", part.id, "slope of the regulated voltage", "ohm")
    circuit.devices.append(Limited(part.id, plus, minus, volts, ohm, part.number("rating") or 1e6))


def _load(circuit: Circuit, figures: Figures, part: Part, plus: str, minus: str, duty: float) -> None:
    """A load that draws all it takes, or its average where the case sets the share of the time that it runs."""
    draw = figures.draw(part)
    if draw is None or draw.value <= 0 or duty <= 0:
        return
    if draw.kind == "resistance":
        circuit.add(("part", part.id), plus, minus, draw.value / duty)
    elif draw.kind == "current":
        circuit.devices.append(CurrentLoad(part.id, plus, minus, draw.value * duty))
    else:
        circuit.devices.append(PowerLoad(part.id, plus, minus, draw.value * duty))


def sun_key(part: str) -> str:
    """The entry of `logic` that tells whether a charger's panels could give more than it wants."""
    return f"{part} sun"


def dark_key(part: str) -> str:
    """The entry of `logic` that tells whether a charger's panels cannot reach the voltage where it would hold them."""
    return f"{part} dark"


def charger_minus(job: Job, part: Part, side: str) -> str:
    """The negative terminal of a charger's side: its own, or the one stud `dcdc.-`."""
    own = f"{part.id}.{side}.-"
    return own if own in job.terminals else f"{part.id}.-"


def _charger(circuit: Circuit, job: Job, figures: Figures, part: Part, state: State) -> None:
    sides = [side for side in ("in", "out", "solar") if f"{part.id}.{side}.+" in job.terminals]
    ports = {side: Port(side, f"{part.id}.{side}.+", charger_minus(job, part, side)) for side in sides}
    if "out" not in ports:
        return
    circuit.references.append(ports["out"].minus)
    running = circuit.logic.get(part.id, True)
    if part.kind == "mains-charger":
        if part.id in state.on:
            volts, _ = figures.profile(part)
            ohm = figures.book.default("charger-slope")
            most = part.number("rating") or 1e6
            circuit.devices.append(Limited(part.id, ports["out"].plus, ports["out"].minus, volts, ohm, most))
        return
    _control_leads(circuit, job, figures, part, ports, running)
    if part.id in state.off:
        return
    held = state.held.get(part.id)
    if held:
        _held(circuit, part.id, ports["out"].plus, ports["out"].minus, held.low)
        return
    best = panel_best(circuit, job, figures, ports.get("solar"))
    used = [ports["in"]] if "in" in ports and running else []
    used.append(ports["out"])
    lit = state.sun > 0 and any(p.kind == "panel" and p.id not in state.off for p in job.parts.values())
    if "solar" in ports and best and lit:
        used.append(ports["solar"])
    if len(used) == 1:
        return
    volts, _ = figures.profile(part)
    efficiency = part.number("efficiency")
    if efficiency is None:
        efficiency = figures.default("charger-efficiency", part.id, "efficiency", "1")
    ohm = figures.default("charger-slope", part.id, "slope of the output voltage", "ohm")
    own = part.number("own-use")
    if own:
        circuit.devices.append(CurrentLoad(part.id, used[0].plus, used[0].minus, own))
    circuit.devices.append(
        Converter(
            part.id,
            tuple(used),
            volts=volts,
            most=part.number("rating") or 1e6,
            ohm=ohm,
            efficiency=efficiency,
            input_most=part.number("input-max"),
            best=best,
            sun_most=part.number("solar-max-current"),
            ample=circuit.logic.get(sun_key(part.id), False),
        )
    )


def _control_leads(
    circuit: Circuit, job: Job, figures: Figures, part: Part, ports: Mapping[str, Port], running: bool
) -> None:
    trigger, indicator = f"{part.id}.trigger", f"{part.id}.indicator"
    if "in" not in ports:
        return
    used = job.terminals.get(trigger)
    if used and used.used:
        amps = part.number("trigger-current")
        if amps is None:
            amps = figures.default("signal-current", part.id, "trigger current", "A")
        circuit.devices.append(CurrentLoad(part.id, trigger, ports["in"].minus, amps))
    used = job.terminals.get(indicator)
    if used and used.used and running and part.id not in circuit.state.off:
        circuit.add(("indicator", part.id), ports["in"].plus, indicator, 1.0)
        figures.note(part.id, "indicator output", 1.0, "ohm", "from its input positive while it runs (common practice)")


def panel_best(circuit: Circuit, job: Job, figures: Figures, port: Port | None) -> float:
    """The voltage at which the lit panels of a port give most, strings in series added up; 0 where none is lit. [V]"""
    if port is None:
        return 0.0
    if circuit.lit is None:
        circuit.lit = _lit(job, figures, circuit.state)
    level, todo = {port.minus: 0.0}, [port.minus]
    while todo:
        at = todo.pop()
        for other, volts in circuit.lit.get(at, ()):
            if other not in level:
                level[other] = level[at] + volts
                todo.append(other)
    return max(level.get(port.plus, 0.0), 0.0)


def _lit(job: Job, figures: Figures, state: State) -> dict[str, list[tuple[str, float]]]:
    """Terminal -> those joined to it, with how much higher each is: by the best voltage of a lit panel between. [V]"""
    pairs = [(c.from_, c.to, 0.0) for c in job.conductors.values()]
    pairs += [(link.a, link.b, 0.0) for link in job.links]
    for part in job.parts.values():
        pairs += [(contact.a, contact.b, 0.0) for contact in part.contacts]
        if part.kind == "panel" and state.runs(part.id, state.sun > 0):
            best = lit_panel(figures, part, state.sun, state.ambients).best_volts
            pairs.append((f"{part.id}.-", f"{part.id}.+", best))
    steps: dict[str, list[tuple[str, float]]] = {}
    for a, b, volts in pairs:
        steps.setdefault(a, []).append((b, volts))
        steps.setdefault(b, []).append((a, -volts))
    return steps


def _panel(circuit: Circuit, job: Job, figures: Figures, part: Part, state: State) -> None:
    plus, minus = f"{part.id}.+", f"{part.id}.-"
    voc, _, isc, imp = panel_figures(figures, part)
    held = state.held.get(part.id)
    if held:
        _held(circuit, part.id, plus, minus, held.low)
        return
    if imp <= 0 or part.has("regulated"):
        return
    circuit.references.append(minus)
    lit = lit_panel(figures, part, state.sun, state.ambients)
    cell = f"{part.id}.cell"
    circuit.terminals.append(cell)
    circuit.add(("cell", part.id), cell, plus, lit.ohm)
    if state.runs(part.id, state.sun > 0):
        circuit.devices.append(Diode(part.id, cell, minus, lit.saturation, lit.a / VT))
        circuit.devices.append(SunCurrent(part.id, cell, minus, lit.light, lit.open_volts))
    else:  # in the dark it lets current in only near its own voltage; bypass diodes are left out
        circuit.devices.append(Blocking(part.id, cell, minus, DARK_KNEE * voc, (1.0 - DARK_KNEE) * voc / isc))


def _feed(circuit: Circuit, job: Job, figures: Figures, part: Part, state: State) -> None:
    live = part.word("state") == "live"
    if not state.runs(part.id, live or state.engine):
        return
    source = part.word("from")
    battery = next((p for p in job.parts.values() if p.kind == "battery" and p.id.lower() == source.lower()), None)
    battery = battery or main_battery(job)
    if battery is None or part.id not in job.terminals:
        return
    ohm = part.number("resistance")
    if ohm is None:
        ohm = figures.default("feed-resistance", part.id, "resistance of the vehicle's own wiring", "ohm")
    circuit.add(("part", part.id), part.id, f"{battery.id}.+", ohm)


def _coil(circuit: Circuit, job: Job, figures: Figures, part: Part) -> None:
    ends = coil_ends(job, part)
    if ends is not None:
        circuit.add(("coil", part.id), ends[0], ends[1], coil_ohm(figures, part, ends))


def coil_ohm(figures: Figures, part: Part, ends: tuple[str, str]) -> float:
    """Resistance of a relay's coil, from what it takes at its nominal voltage. [ohm]"""
    nominal = figures.nominal(part, *(end[len(part.id) + 1 :] for end in ends))
    fact = part.fact("coil")
    values = fact.values if fact else ()
    measure = next((v.measure for v in values if v.measure and v.measure.dimension != "count"), None)
    if measure is None:
        watts = figures.default("coil-power", part.id, "power of the coil", "W")
        return nominal * nominal / watts
    if measure.dimension == "resistance":
        return measure.value
    watts = measure.value if measure.dimension == "power" else measure.value * nominal
    return nominal * nominal / watts


def coil_ends(job: Job, part: Part) -> tuple[str, str] | None:
    """The two terminals of a relay's coil, the positive one (86) first; None where it has none."""
    fact = part.fact("coil")
    names = [v.text for v in fact.values if not (v.measure and v.measure.dimension != "count")] if fact else []
    if len(names) != 2:
        names = ["85", "86"]
    ends = [f"{part.id}.{name}" for name in names]
    return (ends[1], ends[0]) if all(end in job.terminals for end in ends) else None
