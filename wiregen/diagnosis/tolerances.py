"""How far the readings of a sound job may be from the computed ones: what is not known exactly, and what it moves.

Each unknown (a length, a battery's state, a load's draw) moves many readings together; their common part is kept, so
that a battery that is a little low does not look like a poor joint. The figures are common practice, no source.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from wiregen.circuit.devices import Accumulator, Converter, CurrentLoad, Device, Limited, PowerLoad, SunCurrent
from wiregen.diagnosis.reduced import Reduced
from wiregen.diagnosis.signatures import Bench

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

LENGTH = 0.10  # of a conductor's resistance: its length as run, its joints
BATTERY = 0.15 / 12.0  # of its voltage: its state of charge
REGULATED = 0.10 / 12.0  # of what an alternator or charger holds
LOAD = 0.15  # of what a load draws
SUN = 0.2  # of what a panel gives


def tolerances(bench: Bench) -> dict[object, tuple[Array, Array]]:
    """How each unknown at one standard deviation moves terminals [V] and channels [A]. Its key tells what it is, the
    same in every case: a length, a load's draw, what a charger holds do not change with the case. The sun does, and the
    voltage at which a case holds a source."""
    import numpy as np

    context = bench.context(bench.logic)
    assert context is not None
    reduced = context.reduced
    answer = reduced.answer(None, None)
    assert answer is not None
    inverse = _inverse(reduced)
    n = reduced.size
    found: dict[object, tuple[Array, Array]] = {}
    case = bench.state.name

    def moved(
        key: object, right: Array, own: Array | None = None, beyond: list[int] | None = None, by: float = 0.0
    ) -> None:
        nodes = inverse @ right
        amps = (nodes[reduced.a] - nodes[reduced.b]) * reduced.g
        if own is not None:
            amps += own
        terminals = nodes[context.rows]
        if beyond:
            terminals = terminals.copy()
            terminals[beyond] -= by
        found[key] = terminals, np.append(amps, 0.0)[context.branches]

    flows = reduced.branch_amps(answer)
    for k, branch in enumerate(reduced.circuit.branches):
        right, own = np.zeros(n + 1), np.zeros(len(flows))
        i, j = int(reduced.a[k]), int(reduced.b[k])
        if branch.key[0] in ("conductor", "contact", "link", "body") and abs(flows[k]) > 1e-3:
            right[i] += LENGTH * flows[k]
            right[j] -= LENGTH * flows[k]
            own[k] = -LENGTH * flows[k]
        elif branch.key[0] == "part" and branch.volts:
            push = BATTERY * branch.volts * float(reduced.g[k])
            right[i] += push
            right[j] -= push
            own[k] = -push
        elif branch.key[0] == "part" and abs(flows[k]) > 1e-3:
            right[i] -= LOAD * flows[k]
            right[j] += LOAD * flows[k]
            own[k] = LOAD * flows[k]
        else:
            continue
        moved((branch.key, case if branch.key[1] in bench.state.held else ""), right, own)
    for branch in reduced.circuit.ideal:
        if branch.volts:
            cut = context.cuts.branch(branch.key)
            seen = reduced.seen(cut) if cut else None
            if cut is None or seen is None:
                continue
            by = REGULATED * branch.volts
            right = np.zeros(n + 1)
            for kind, k, p, side in cut.ends:
                at = k if kind == "branch" else reduced.slices[k][0] + p
                a, b, g = (reduced.a, reduced.b, reduced.g) if kind == "branch" else (reduced.pi, reduced.pj, None)
                slope = float(g[at]) if g is not None else _slope(reduced, k, p)
                sign = -1.0 if side else 1.0
                right[a[at]] += sign * slope * by
                right[b[at]] -= sign * slope * by
            moved(
                (branch.key, case if branch.key[1] in bench.state.held else ""),
                right,
                None,
                [bench.terminals[t] for t in cut.terminals if t in bench.terminals],
                by,
            )
    for k, device in enumerate(reduced.devices):
        at, end = reduced.slices[k]
        volts = answer.ports[at:end].tolist()
        push_of = _push(device, volts)
        if any(push_of):
            right = np.zeros(n + 1)
            for p, push in enumerate(push_of):
                right[reduced.pi[at + p]] -= push
                right[reduced.pj[at + p]] += push
            piece = device.regulator.piece if isinstance(device, Limited | Converter) else ""
            moved((device.part, device.ports[0], piece, case if isinstance(device, SunCurrent) else ""), right)
    return found


def _push(device: Device, volts: list[float]) -> list[float]:
    """By how much a device's currents may be off. [A]"""
    flow = device.flow(volts)
    if isinstance(device, CurrentLoad | PowerLoad):
        return [LOAD * i for i in flow]
    if isinstance(device, SunCurrent):
        return [SUN * i for i in flow]
    if isinstance(device, Accumulator):
        return [BATTERY * device.volts * device.slopes(volts, flow)[0][0]]
    if isinstance(device, Limited):
        if device.regulator.piece == "volts":
            return [-REGULATED * device.regulator.volts / device.regulator.ohm]
        return [LOAD * i for i in flow]
    if isinstance(device, Converter) and device.regulator.piece == "amps":
        return [LOAD * i for i in flow]
    if isinstance(device, Converter) and device.regulator.piece == "volts":
        out = device.where["out"]
        rows = device.slopes(volts, flow)
        return [
            -REGULATED * device.regulator.volts * abs(row[out]) * (1 if k == out else -1) for k, row in enumerate(rows)
        ]
    return [0.0] * len(flow)


def _slope(reduced: Reduced, k: int, p: int) -> float:
    at, end = reduced.slices[k]
    volts = reduced.sound_ports[at:end].tolist()
    device = reduced.devices[k]
    return device.slopes(volts, device.flow(volts))[p][p]


def _inverse(reduced: Reduced) -> Array:
    """Of the circuit with the slopes of its devices at the sound answer."""
    import numpy as np

    n = reduced.size
    matrix = np.zeros((n + 1, n + 1))
    np.add.at(matrix, (reduced.a, reduced.a), reduced.g)
    np.add.at(matrix, (reduced.b, reduced.b), reduced.g)
    np.add.at(matrix, (reduced.a, reduced.b), -reduced.g)
    np.add.at(matrix, (reduced.b, reduced.a), -reduced.g)
    for device, (at, end) in zip(reduced.devices, reduced.slices, strict=True):
        volts = reduced.sound_ports[at:end].tolist()
        for p, row in enumerate(device.slopes(volts, device.flow(volts))):
            for q, slope in enumerate(row):
                for one, sign in ((reduced.pi[at + p], slope), (reduced.pj[at + p], -slope)):
                    matrix[one, reduced.pi[at + q]] += sign
                    matrix[one, reduced.pj[at + q]] -= sign
    found = np.zeros((n + 1, n + 1))
    found[:n, :n] = np.linalg.inv(matrix[:n, :n])
    return found
