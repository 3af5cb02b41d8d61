"""One operating case as a SPICE deck, an open format that trainers can run: `ngspice -b job.cir` prints every voltage.

The deck holds what the study solved: conductors at their working temperature, switches where the case left them,
chargers as they run. Terminals without resistance between them share a node; devices are current sources by formulas.
What the formulas are stands in wiregen/circuit/devices.py.
"""

from __future__ import annotations

from collections.abc import Mapping

from wiregen.circuit.assemble import Branch, Circuit
from wiregen.circuit.cases import operating_cases
from wiregen.circuit.devices import (
    TRACKING,
    VT,
    Accumulator,
    Blocking,
    Converter,
    CurrentLoad,
    Device,
    Diode,
    Limited,
    PowerLoad,
    Regulator,
    SunCurrent,
)
from wiregen.circuit.figures import Figures
from wiregen.circuit.joints import Merged
from wiregen.circuit.settle import settle
from wiregen.model.job import Job

OPTIONS = ".options reltol=1e-7 abstol=1e-8 vntol=1e-8 gmin=1e-15 rshunt=1e12 itl1=1000 itl2=1000"


def case_names(job: Job) -> tuple[str, ...]:
    """The operating cases of a job, in the order of the study."""
    return tuple(state.name for state in operating_cases(job))


def spice_deck(job: Job, case: str | None = None) -> str:
    """The deck of one case, the first where none is named. Raises KeyError for a case that the job does not have.

    Volts, amperes and ohms, for `ngspice -b`; every device is a plain resistance or source at its solved point.

    >>> from wiregen.model import read
    >>> job, _ = read("a.wnet", text="battery b 70 Ah agm")
    >>> spice_deck(job).split("\\n")[0]
    '* a.wnet, case parked-dark'
    """
    states = operating_cases(job)
    state = next((s for s in states if s.name == case or case is None), None)
    if state is None:
        raise KeyError(case)
    rest = settle(job, Figures(job), state)
    title = f"{job.title or job.path}, case {state.name}"
    if rest.solution is None:
        return circuit_deck(rest.circuit, tuple(rest.circuit.references[:1]), title)
    return circuit_deck(rest.circuit, rest.solution.references, title, rest.solution.voltages)


def circuit_deck(
    circuit: Circuit, references: tuple[str, ...], title: str, near: Mapping[str, float | None] | None = None
) -> str:
    """The deck of any circuit; `references` are the terminals held at 0 V, the main one first.

    `near`: voltages to begin the search at, written to one decimal; where a deck has several answers this picks one.
    """
    merged = Merged(circuit)
    names = node_names(circuit, merged)
    lines = ["* " + " ".join(title.split()), "* made by wiregen; voltages in V, currents in A, resistances in ohm"]
    lines += [f"* {name} is {terminal}" for terminal, name in names.items()]
    for k, branch in enumerate(circuit.branches, 1):
        lines += _branch(names, branch, k)
    for k, branch in enumerate((b for b in merged.tree if b.volts), 1):
        lines.append(f"VH{k} {names[branch.a]} {names[branch.b]} {_n(branch.volts)} ; {' '.join(branch.key)}")
    for k, device in enumerate(circuit.devices, 1):
        lines += _device(names, device, k)
    for k, terminal in enumerate(references, 1):
        lines.append(f"VREF{k} {names[terminal]} 0 0 ; reference of an island")
    if near and circuit.devices:
        at = {names[t]: v for t, v in near.items() if v is not None and abs(v) >= 0.05}
        lines += [f".nodeset V({name})={v:.1f}" for name, v in at.items()]
    lines += [OPTIONS, ".control", "set numdgt=14", "op", "print all", "quit", ".endc", ".end"]
    return "\n".join(lines) + "\n"


def node_names(circuit: Circuit, merged: Merged) -> dict[str, str]:
    """Terminal -> node name in the deck: lower case, letters, digits and underscores.

    Terminals at one potential share the name of the first of them.
    """
    found: dict[str, str] = {}
    nodes: dict[tuple[str, float], str] = {}
    taken: set[str] = set()
    ends = [t for b in (*circuit.branches, *circuit.ideal) for t in (b.a, b.b)]
    ends += [t for d in circuit.devices for port in d.ports for t in (port.plus, port.minus)]
    for terminal in dict.fromkeys((*circuit.terminals, *ends)):
        node = merged.find(terminal)
        if node not in nodes:
            plain = terminal.lower().replace("+", "p").replace("-", "m")
            name = "n_" + "".join(c if c.isascii() and c.isalnum() else "_" for c in plain)
            k, wanted = 1, name
            while name in taken:
                k += 1
                name = f"{wanted}_{k}"
            taken.add(name)
            nodes[node] = name
        found[terminal] = nodes[node]
    return found


def _n(value: float) -> str:
    return f"{value:.17g}"


def _branch(names: dict[str, str], branch: Branch, k: int) -> list[str]:
    a, b, words = names[branch.a], names[branch.b], " ".join(branch.key)
    if not branch.volts:
        return [f"R{k} {a} {b} {_n(branch.ohm)} ; {words}"]
    return [f"R{k} {a} e_{k} {_n(branch.ohm)} ; {words}", f"V{k} e_{k} {b} {_n(branch.volts)}"]


def _device(names: dict[str, str], device: Device, k: int) -> list[str]:
    flows = _flows(names, device)
    return [
        f"B{k}{port.name} {names[port.plus]} {names[port.minus]} I={flow} ; {device.part}"
        for port, flow in zip(device.ports, flows, strict=True)
    ]


def _flows(names: dict[str, str], device: Device) -> list[str]:
    """The current into each port of a device as a formula of node voltages."""
    volts = [f"V({names[port.plus]},{names[port.minus]})" for port in device.ports]
    v = volts[0]
    if isinstance(device, CurrentLoad):
        amps, knee = _n(device.amps), _n(device.knee)
        return [f"{amps}*max(-1,min(1,{v}/{knee}))"]
    if isinstance(device, PowerLoad):
        watts, knee = _n(device.watts), _n(device.knee)
        return [f"(abs({v})>={knee}) ? {watts}/{v} : {watts}*{v}/({knee}*{knee})"]
    if isinstance(device, Diode):
        return [f"{_n(device.saturation)}*(exp(max(-200,min({v}/{_n(device.emission * VT)},{_n(device.most)})))-1)"]
    if isinstance(device, Blocking):
        return [f"max(0,{v}-{_n(device.knee)})/{_n(device.ohm)}"]
    if isinstance(device, Accumulator):
        over = f"({v}-{_n(device.volts)})"
        return [f"max(0,{over})/{_n(device.accepts)}+min(0,{over})/{_n(device.ohm)}"]
    if isinstance(device, SunCurrent):
        return [f"-{_n(device.amps)}"]
    if isinstance(device, Limited):
        return [f"-{_regulated(device.regulator, v)}"]
    if isinstance(device, Converter):
        return _converter(device, volts)
    raise TypeError(device)


def _regulated(regulator: Regulator, v: str) -> str:
    return f"max(0,min({_n(regulator.most)},({_n(regulator.volts)}-{v})/{_n(regulator.ohm)}))"


def _converter(device: Converter, volts: list[str]) -> list[str]:
    where = device.where
    out = volts[where["out"]]
    amps = _n(device.regulator.most) if device.bulk else _regulated(device.regulator, out)
    power = f"max(0,{out})*{amps}"
    efficiency = _n(device.efficiency)
    flows = [""] * len(volts)
    sun = "0"
    if "solar" in where:
        v = volts[where["solar"]]
        if device.ample:
            knee = _n(0.5 * device.best)
            flows[where["solar"]] = (
                f"({v}>{knee}) ? {power}/{efficiency}/{v} : {power}/{efficiency}*max(0,{v})/({knee}*{knee})"
            )
            sun = power
        else:
            taken = f"({v}-{_n(device.best)})/{_n(TRACKING)}"
            if device.sun_most is not None:
                taken = f"min({taken},{_n(device.sun_most)})"
            flows[where["solar"]] = taken
            sun = f"({taken})*{v}*{efficiency}"
    if "in" in where:
        v, knee = volts[where["in"]], _n(device.knee)
        watts = f"max(0,{power}-{sun})/{efficiency}"
        flow = f"({v}>={knee}) ? {watts}/{v} : {watts}*max(0,{v})/({knee}*{knee})"
        if device.input_most is not None:
            most, free = _n(device.input_most), flow
            flow = f"min({most},({free}))"
            given = f"({sun}+{most}*{v}*{efficiency})/max({out},0.1)"
            amps = f"(({free})>{most}) ? min({amps},{given}) : {amps}"
        flows[where["in"]] = flow
    elif not device.ample:
        amps = f"({sun})/max({out},1)"
    flows[where["out"]] = f"-({amps})"
    return flows
