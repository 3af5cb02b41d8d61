"""One circuit seen from its devices: the wiring is linear, so a fault in it is a low-rank change of what they see.

The sound wiring is inverted once (Z). Let v be the voltages over the ports of the devices, j(v) the currents that they
draw beyond a resistance that each is given for the sake of the numbers. Then v = v0 - Zp j(v). A cut with the
resistance r carries i = i0 - q.j - k e for a voltage e over it, with e = r i, so that

    v = v0 + q i0/(1/r + k) - (Zp + q q'/(1/r + k)) j(v)

which is the same small system with a change of rank one (Sherman-Morrison); an open cut has 1/r = 0. Newton's method
solves it over the ports alone, begun at the sound answer, with the devices' exact slopes: the answer is that of the
whole circuit solved from scratch, within rounding.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from wiregen.circuit.assemble import Circuit
from wiregen.circuit.devices import Blocking, Converter, CurrentLoad, Device, Limited, PowerLoad
from wiregen.circuit.solve import Solution, Solver
from wiregen.diagnosis.cuts import Cut

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

NEAR = 1e-10  # [V] Newton's method ends when no port is farther from its answer
ROUNDING = 1e-7  # [V] where no step brings it nearer, it is there
MANY = 60  # for the sound circuit, which has to have its answer
STEPS = 14
UNLIT = 1e-6  # [A] that a controller without panels takes from them, at most
FEW = 8  # from the sound answer; where that does not do, it is far
LOWER = 0.75  # of its sound voltage: below, a load of constant power may be on the lower of two answers
BEHIND = 1e-9  # of a cut's own conductance: with less than that beyond it, its answer is rounding


class Answer(NamedTuple):
    """A circuit with one cut. `nodes` by node [V], `ports` by device and port [V], `beyond` the voltage by which all
    beyond the cut stands lower [V], `amps` what flows through the cut, `injected` the ports' currents j [A]."""

    nodes: Array
    ports: Array
    beyond: float
    amps: float
    injected: Array
    cut: Cut | None


class Seen(NamedTuple):
    """A cut as the ports see it: `q`, `z` by port and node, `k` [S], `fixed` what is in i0 of sources [A]."""

    cut: Cut
    q: Array
    z: Array
    k: float
    current: float


class Found(NamedTuple):
    """Where the ports stood in an answer, and the devices."""

    volts: Array
    pieces: list[str | bool | None]
    knees: list[float | None]


class Reduced:
    """One circuit, solved, reduced to the ports of its devices. Raises ArithmeticError where it cannot be."""

    def __init__(self, circuit: Circuit, solver: Solver, solution: Solution) -> None:
        import numpy as np

        self.np = np
        self.circuit, self.solver, self.solution = circuit, solver, solution
        self.devices: list[Device] = circuit.devices
        n = solver.size
        self.size = n
        ends = solver.ends
        self.a = np.array([i for i, _, _, _ in ends], dtype=int)
        self.b = np.array([j for _, _, j, _ in ends], dtype=int)
        self.g = np.array([1.0 / b.ohm for b in circuit.branches])
        self.bias = np.array(
            [oi - oj - b.volts for (_, oi, _, oj), b in zip(ends, circuit.branches, strict=True)], dtype=float
        )
        flat = [port for ports in solver.ports for port in ports]
        self.pi = np.array([i for i, _, _, _ in flat], dtype=int)
        self.pj = np.array([j for _, _, j, _ in flat], dtype=int)
        self.off = np.array([oi - oj for _, oi, _, oj in flat], dtype=float)
        self.slices: list[tuple[int, int]] = []
        at = 0
        for ports in solver.ports:
            self.slices.append((at, at + len(ports)))
            at += len(ports)
        self.count = at
        volts = np.array([v for port_volts in solution.port_volts for v in port_volts], dtype=float)
        self.given = np.array(self._given(solution), dtype=float)
        matrix = np.zeros((n + 1, n + 1))
        right = np.zeros(n + 1)
        for i, j, g, volt in (
            *zip(self.a, self.b, self.g, self.g * self.bias, strict=True),
            *zip(self.pi, self.pj, self.given, self.given * self.off, strict=True),
        ):
            matrix[i, i] += g
            matrix[j, j] += g
            matrix[i, j] -= g
            matrix[j, i] -= g
            right[i] -= volt
            right[j] += volt
        inverse = np.zeros((n + 1, n + 1))
        inverse[:n, :n] = np.linalg.inv(matrix[:n, :n])
        self.z = (inverse + inverse.T) / 2.0
        self.zp = self.z[:, self.pi] - self.z[:, self.pj]  # node by port
        self.zpp = self.zp[self.pi, :] - self.zp[self.pj, :]
        self.v0_nodes = self.z @ right
        self.v0 = self.v0_nodes[self.pi] - self.v0_nodes[self.pj] + self.off
        self.sound_ports = volts
        self.knees = [_knee(device) for device in self.devices]
        self.opened: dict[bytes, Found | None] = {}  # what was found of breaks, by what they are to the ports
        self.pieces = [_piece(device) for device in self.devices]
        rows = list(zip(self.devices, self.slices, strict=True))
        self.rest = [(d, at, end) for d, (at, end) in rows if not isinstance(d, CurrentLoad | PowerLoad)]
        self.loads = [(d, at) for d, (at, _) in rows if isinstance(d, CurrentLoad | PowerLoad)]
        self.constant = np.array([at for d, at in self.loads if isinstance(d, CurrentLoad)], dtype=int)
        self.power = np.array([at for d, at in self.loads if isinstance(d, PowerLoad)], dtype=int)
        self.drawn = np.zeros(self.count)  # by port: what a load draws [A] or [W]
        self.knee = np.ones(self.count)  # by port, as it stands at present [V]
        for d, at in self.loads:
            self.drawn[at] = d.amps if isinstance(d, CurrentLoad) else d.watts
        self.of_constant = self.drawn[self.constant], self.knee[self.constant]  # what they draw, and their knees
        self.of_power = self.drawn[self.power], self.knee[self.power]
        self.scale = 1.0
        branches = (*circuit.branches, *circuit.ideal)
        self.most = max([abs(b.volts) for b in branches] + [d.own_volts() for d in self.devices], default=0.0)

    def _given(self, solution: Solution) -> list[float]:
        """A resistance for each port, near to what the device is at the answer. [S]"""
        found: list[float] = []
        for device, volts, flow in zip(self.devices, solution.port_volts, solution.ports, strict=True):
            slopes = device.slopes(volts, flow)
            for k, (v, i) in enumerate(zip(volts, flow, strict=True)):
                chord = abs(i / v) if abs(v) > 0.1 else 0.0
                found.append(max(min(chord, 1e4), min(slopes[k][k], 1e4), 0.0))
        return found

    # ------------------------------------------------------------ cuts

    def seen(self, cut: Cut) -> Seen | None:
        """A cut as the ports see it; None where hardly anything is beyond it."""
        np = self.np
        weights: dict[int, float] = {}
        m = np.zeros(self.count)
        kappa = fixed = 0.0
        both = {(kind, k, p) for kind, k, p, _ in cut.ends}
        twice = {key for key in both if (*key, 0) in cut.ends and (*key, 1) in cut.ends}
        for kind, k, p, side in cut.ends:
            if (kind, k, p) in twice:
                continue
            sign = -1.0 if side else 1.0
            if kind == "branch":
                i, j, g, volt = int(self.a[k]), int(self.b[k]), float(self.g[k]), float(self.bias[k])
            else:
                at = self.slices[k][0] + p
                i, j, g, volt = int(self.pi[at]), int(self.pj[at]), float(self.given[at]), float(self.off[at])
                m[at] += sign
            weights[i] = weights.get(i, 0.0) + sign * g
            weights[j] = weights.get(j, 0.0) - sign * g
            kappa += g
            fixed += sign * g * volt
        nodes = np.array(list(weights), dtype=int)
        values = np.array(list(weights.values()), dtype=float)
        z = self.z[:, nodes] @ values
        q = z[self.pi] - z[self.pj] - m
        k_beyond = kappa - float(values @ z[nodes])
        if not kappa or k_beyond < BEHIND * kappa:
            return None
        current = fixed + float(values @ self.v0_nodes[nodes])
        return Seen(cut, q, z, k_beyond, current)

    # ------------------------------------------------------------ answers

    def without(self, part: str) -> Answer | None:
        """The circuit with a load at rest. None as for `answer`."""
        kept = self.drawn
        at = [at for device, at in self.loads if device.part == part]
        self.drawn = kept.copy()
        self.drawn[at] = 0.0
        found = self.answer(None, None)
        self.drawn = kept
        return found

    def answer(self, seen: Seen | None, ohm: float | None) -> Answer | None:
        """The circuit with a resistance in a cut, open where `ohm` is None; the sound circuit without a cut. None
        where Newton's method does not get there."""
        self._as_sound()
        alike: bytes | None = None
        if seen is None:
            v0, z = self.v0, self.zpp
        else:
            y = seen.k + (0.0 if ohm is None else 1.0 / ohm)
            v0 = self.v0 + seen.q * (seen.current / y)
            z = self.zpp + self.np.outer(seen.q, seen.q / y)
        opened = seen is not None and ohm is None  # what was fed through it is far from where it was
        found = None if opened else self._newton(self.sound_ports, v0, z, FEW if seen else MANY)
        if seen is not None and opened:
            alike = self.np.round([v0, seen.q * seen.q / y], 6).tobytes()
            if alike in self.opened:
                found = self._as_found(self.opened[alike], v0, z)
                if found is None and self.opened[alike] is None:
                    return None
        if found is None or self._low(found[0]):
            found = self._from_idle(v0, z)
        if found is None and opened:  # a controller's panels alone may not get there; a search among the loads may
            self._as_sound()
            found = self._newton(self.sound_ports, v0, z)
            found = None if found is None or self._low(found[0]) else found
        if found is None or self._below(found[0]) or (opened and self._unlit(found[0])):
            if alike is not None:
                self.opened[alike] = None
            return None
        if alike is not None:
            self.opened[alike] = Found(found[0], [_piece(d) for d in self.devices], [_knee(d) for d in self.devices])
        v, j = found
        nodes = self.v0_nodes - self.zp @ j
        if seen is None:
            return Answer(nodes, v, 0.0, 0.0, j, None)
        e = (seen.current - float(seen.q @ j)) / y
        return Answer(nodes + e * seen.z, v, e, 0.0 if ohm is None else e / ohm, j, seen.cut)

    def _as_found(self, found: Found | None, v0: Array, z: Array) -> tuple[Array, Array] | None:
        """From where a break that is the same to all ports, one in series with it, was found."""
        if found is None:
            return None
        self._stand(found.pieces, found.knees)
        answer = self._newton(found.volts, v0, z, FEW)
        if answer is None:
            self._as_sound()
        return answer

    def _as_sound(self) -> None:
        """All devices as they stand in the sound circuit."""
        self._stand(self.pieces, self.knees)

    def _stand(self, pieces: Sequence[str | bool | None], knees: Sequence[float | None]) -> None:
        for device, piece, knee in zip(self.devices, pieces, knees, strict=True):
            _put(device, piece)
            if knee is not None:
                device.knee = knee  # type: ignore[attr-defined]
        self._load(1.0)

    def _low(self, v: Array, fed: Sequence[bool] | None = None) -> bool:
        """Whether a load stands below its knee, which is then taken anew from the voltage without loads, or where it
        may be on the lower of two answers. Only ports that are `fed` count."""
        for device, knee, (at, _) in zip(self.devices, self.knees, self.slices, strict=True):
            if knee is None:
                continue
            at += device.where.get("in", 0) if isinstance(device, Converter) else 0
            if abs(self.sound_ports[at]) < knee or (fed is not None and not fed[at]):  # dead
                continue
            least = knee if isinstance(device, CurrentLoad) else max(knee, LOWER * abs(self.sound_ports[at]))
            if abs(v[at]) < least:
                return True
        return False

    def _below(self, v: Array) -> bool:
        """Whether a charger with sun to spare stands on the lower of its two answers."""
        pairs = [(d, at) for d, (at, _) in zip(self.devices, self.slices, strict=True) if isinstance(d, Converter)]
        return any("solar" in d.where and d.ample and v[at + d.where["solar"]] < 0.5 * d.best for d, at in pairs)

    def _unlit(self, v: Array) -> bool:
        """Whether a controller has lost its panels, and so looks at nothing any more."""
        pairs = [
            (d, at, end) for d, (at, end) in zip(self.devices, self.slices, strict=True) if isinstance(d, Converter)
        ]
        solar = [(d, d.where["solar"], at, end) for d, at, end in pairs if "solar" in d.where]
        return any(
            abs(d.flow(v[at:end].tolist())[p]) < UNLIT < abs(d.flow(self.sound_ports[at:end].tolist())[p])
            for d, p, at, end in solar
        )

    def _from_idle(self, v0: Array, z: Array) -> tuple[Array, Array] | None:
        """As the circuit is solved from scratch: without loads first, then with them."""
        for device, piece in zip(self.devices, self.pieces, strict=True):
            _put(device, piece)
        self._load(0.0)
        idle = self._newton(self.sound_ports, v0, z)
        if idle is None:
            return None
        np = self.np
        volts = np.clip(idle[0], -self.most, self.most).tolist()
        for device, (at, end) in zip(self.devices, self.slices, strict=True):
            device.expect(volts[at:end])
        stands = [_piece(device) for device in self.devices]
        self._load(1.0)
        # first with what is still fed as it was, and what is not as it is without loads
        for device, piece in zip(self.devices, self.pieces, strict=True):
            _put(device, piece)
        fed = np.abs(idle[0]) > LOWER * np.abs(self.sound_ports)
        found = self._newton(np.where(fed, self.sound_ports, idle[0]), v0, z)
        if found is not None and not self._low(found[0], fed):
            return found
        for device, piece in zip(self.devices, stands, strict=True):
            _put(device, piece)
        return self._newton(idle[0], v0, z)

    def _load(self, scale: float) -> None:
        """Loads on or off, at the knees that they have."""
        self.scale = scale
        for device, _, _ in self.rest:
            device.scale = scale
        for device, at in self.loads:
            self.knee[at] = device.knee
        self.of_constant = self.drawn[self.constant], self.knee[self.constant]
        self.of_power = self.drawn[self.power], self.knee[self.power]

    def _newton(self, start: Array, v0: Array, z: Array, steps: int = STEPS) -> tuple[Array, Array] | None:
        np = self.np
        v = start.copy()
        j, away, size = self._away(v, v0, z)
        eye = np.eye(self.count)
        for _ in range(steps):
            changed = False
            volts = v.tolist()
            for device, at, end in self.rest:
                changed |= device.settle(volts[at:end])
            if changed:
                j, away, size = self._away(v, v0, z)
            elif size < NEAR:
                return v, j
            try:
                move = np.linalg.solve(eye + z @ self._slopes(v), away)
            except np.linalg.LinAlgError:
                return None
            share, best = 1.0, None
            for _ in range(6):
                tried = v - share * move
                found = self._away(tried, v0, z)
                if best is None or found[2] < best[1][2]:
                    best = tried, found
                if found[2] < size or changed:
                    break
                share *= 0.5
            assert best is not None
            if not np.isfinite(best[1][2]):
                return None
            if best[1][2] >= size and size < ROUNDING and not changed:
                return v, j
            v, (j, away, size) = best
        return None

    def _away(self, v: Array, v0: Array, z: Array) -> tuple[Array, Array, float]:
        np = self.np
        j = -self.given * v
        if self.scale:
            drawn, knee = self.of_constant
            j[self.constant] += drawn * np.minimum(np.maximum(v[self.constant] / knee, -1.0), 1.0)
            if self.power.size:
                drawn, knee = self.of_power
                across = v[self.power]
                above = np.abs(across) >= knee
                j[self.power] += drawn * (
                    1.0 / np.where(above, across, np.inf) + np.where(above, 0.0, across / knee**2)
                )
        volts = v.tolist()
        for device, first, end in self.rest:
            for at, amps in enumerate(device.flow(volts[first:end]), first):
                j[at] += amps
        away = v - v0 + z @ j
        return j, away, float(np.abs(away).max(initial=0.0))

    def _slopes(self, v: Array) -> Array:
        """Slopes of the ports' currents, as the devices have them (`wiregen/circuit/devices.py`)."""
        np = self.np
        own = -self.given
        if self.scale:
            own = own.copy()
            drawn, knee = self.of_constant
            own[self.constant] += np.where(np.abs(v[self.constant]) >= knee, 0.0, drawn / knee)
            if self.power.size:
                drawn, knee = self.of_power
                size = np.abs(v[self.power])
                above = np.where(size > 3.0 * knee, 0.0, -drawn / np.maximum(size, 1e-9) ** 2)
                own[self.power] += np.where(size >= knee, above, drawn / knee**2)
        found: Array = np.diag(own)
        volts = v.tolist()
        for device, first, end in self.rest:
            across = volts[first:end]
            slopes = device.slopes(across, device.flow(across))
            if end == first + 1:
                found[first, first] += slopes[0][0]
            else:
                found[first:end, first:end] += slopes
        return found

    # ------------------------------------------------------------ what a meter reads

    def volts(self, answer: Answer, terminal: str) -> float:
        """A terminal against the 0 V of its island. [V]"""
        node, offset = self.solver.place[terminal]
        volts = float(answer.nodes[node]) + offset
        return volts - answer.beyond if answer.cut and terminal in answer.cut.terminals else volts

    def branch_amps(self, answer: Answer) -> Array:
        """Currents of the circuit's branches, in their order. [A]"""
        amps: Array = (answer.nodes[self.a] - answer.nodes[self.b] + self.bias) * self.g
        for kind, k, _, side in answer.cut.ends if answer.cut else ():
            if kind == "branch":
                amps[k] += self.g[k] * (answer.beyond if side else -answer.beyond)
        return amps


def _knee(device: Device) -> float | None:
    """Below which voltage a device of constant current or power draws less."""
    found: float | None = getattr(device, "knee", None)
    return found


def _piece(device: Device) -> str | bool | None:
    """The straight piece of its curve where a device stands."""
    if isinstance(device, Limited | Converter):
        return device.regulator.piece
    return device.conducts if isinstance(device, Blocking) else None


def _put(device: Device, piece: str | bool | None) -> None:
    if isinstance(device, Limited | Converter):
        device.regulator.piece = str(piece)
    elif isinstance(device, Blocking):
        device.conducts = bool(piece)
