"""Nodal analysis of one circuit: voltages of all terminals, currents of all branches, to a stated tolerance.

Kirchhoff's current law holds at every node within the larger of 1e-9 A and 1e-9 of the node's largest current. Node
voltages are kept as a coarse and a fine part, so that tiny resistances do not cost the currents their digits.
"""

from __future__ import annotations

from collections.abc import Mapping
from operator import mul, sub
from typing import NamedTuple

from wiregen.circuit.assemble import Branch, Circuit, Key
from wiregen.circuit.devices import Device
from wiregen.circuit.joints import Merged, ideal_currents
from wiregen.circuit.sparse import Plan
from wiregen.circuit.study import Trouble

ABSOLUTE = 1e-9  # [A]
RELATIVE = 1e-9  # of a node's largest current
SAG = "its supply can bring: at constant power the current rises as the voltage falls, and past half nothing is gained"
STEPS = 60  # Newton's at most
PATIENCE = 20  # steps in which the squared surplus has to halve once: what creeps or goes in circles finds nothing
SHORT = 8  # the same where only a place to begin is sought, and while loads are turned on in steps
SUSPECTS = 8  # devices that are left out in turn to find which one leaves a case without an answer
FEW = 3  # of them where one is on the brink, and so is known even if more than one is too much
BRINK = 0.8  # of its unloaded voltage: a load of constant power that stands below is on the brink
FIRST_LEAP = 500.0  # of a node in the first step, which may find all of its voltage [V]
LEAP = 25.0  # of a node in one step after the first [V]
FLOATING = 1e-3  # [S] in the matrix only: how an island without a path gives way to a surplus; never in the answer


class Solution(NamedTuple):
    """Answers of one circuit. `currents` by key, from a to b; `ports` by device, into each port; `residual` is the
    largest surplus of a node [A], `steps` how many Newton took."""

    voltages: dict[str, float | None]
    currents: dict[Key, float]
    ports: list[list[float]]
    port_volts: list[list[float]]
    references: tuple[str, ...]
    residual: float
    steps: int


def solve(circuit: Circuit) -> tuple[Solution | None, tuple[Trouble, ...]]:
    """Solves one circuit. Without an answer the solution is None and the troubles say why."""
    return Solver(circuit).run()


class Solver:
    """One circuit's equations. `run` may be called again after resistances, voltages or devices changed in value:
    it then goes on from the last answer.

    A list by node has one place more than there are nodes: the last one, which index -1 means as well, is 0 V.
    `finest` is the smallest share of all loads that is turned on at a time."""

    finest = 0.004

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.merged = Merged(circuit)
        for terminal in (t for branch in circuit.branches for t in (branch.a, branch.b)):
            self.merged.find(terminal)
        for terminal in (t for device in circuit.devices for port in device.ports for t in (port.plus, port.minus)):
            self.merged.find(terminal)
        self.adrift: frozenset[int] = frozenset()  # nodes without a voltage of their own
        self.left_out: Device | None = None  # while it is sought which device leaves the case without an answer
        self.solved: tuple[list[float], list[float]] | None = None  # coarse and fine voltages of the last answer
        self._last: tuple[list[float], list[list[float]], list[list[float]]] = [], [], []  # of it: surplus, ports
        self._number()
        place = self.place
        self.ports = [[(*place[p.plus], *place[p.minus]) for p in d.ports] for d in circuit.devices]
        self.ends = [(*place[b.a], *place[b.b]) for b in circuit.branches]  # node, offset, node, offset
        pairs = [(i, j) for i, _, j, _ in self.ends if i >= 0 and j >= 0]
        for ports in self.ports:
            touched = sorted({n for i, _, j, _ in ports for n in (i, j) if n >= 0})
            pairs += [(i, j) for i in touched for j in touched if i < j]
        self.plan = Plan(self.size, pairs)
        spot = self.plan.place
        self.spots = [(spot(i, j), spot(j, i)) if 0 <= i != j >= 0 else None for i, _, j, _ in self.ends]
        self.device_spots = [self._device_spots(ports) for ports in self.ports]

    def _device_spots(self, ports: list[tuple[int, float, int, float]]) -> list[list[list[tuple[int, float]]]]:
        """For each pair of ports where the slope of one on the other is added, and with which sign."""
        place = self.plan.place
        return [
            [
                [
                    (place(a, c), sa * sc)
                    for a, sa in ((i, 1.0), (j, -1.0))
                    for c, sc in ((k, 1.0), (m, -1.0))
                    if a >= 0 <= c
                ]
                for k, _, m, _ in ports
            ]
            for i, _, j, _ in ports
        ]

    # ------------------------------------------------------------ nodes

    def _number(self) -> None:
        """Gives each root a node, and each island (what branches and devices join) a terminal at 0 V."""
        merged, circuit = self.merged, self.circuit
        number: dict[str, int] = {}  # root -> its number among roots
        roots: list[str] = []
        at: dict[str, tuple[int, float]] = {}  # terminal -> number of its root, offset
        for terminal in list(merged.root):
            root, offset = merged.find(terminal)
            k = number.get(root)
            if k is None:
                k = number[root] = len(roots)
                roots.append(root)
            at[terminal] = k, offset
        parent = list(range(len(roots)))

        def island(k: int) -> int:
            while parent[k] != k:
                parent[k] = k = parent[parent[k]]
            return k

        for branch in circuit.branches:
            parent[island(at[branch.a][0])] = island(at[branch.b][0])
        for device in circuit.devices:
            for port in device.ports:
                parent[island(at[port.plus][0])] = island(at[port.minus][0])
        of = [island(k) for k in range(len(roots))]
        held: dict[int, str] = {}  # island -> the terminal held at 0 V
        sizes = [0] * len(roots)
        for terminal in circuit.references:
            if terminal in at:
                held.setdefault(of[at[terminal][0]], terminal)
        for terminal, (k, _) in at.items():
            held.setdefault(of[k], terminal)
            sizes[of[k]] += 1
        self._islands = at, of, held
        self.references = tuple(t for i, t in held.items() if sizes[i] > 1)
        self.alone = {t for i, t in held.items() if sizes[i] == 1}
        grounds = dict(at[t] for t in held.values())  # root at a reference -> the offset of that reference
        node = [-1] * len(roots)
        self.names: list[str] = []
        for k, root in enumerate(roots):
            if k not in grounds:
                node[k] = len(self.names)
                self.names.append(root)
        self.size = len(self.names)
        self.place = {t: (node[k], offset - grounds.get(k, 0.0)) for t, (k, offset) in at.items()}

    def islands(self) -> dict[str, str]:
        """The terminal at 0 V of each terminal's island."""
        at, of, held = self._islands
        return {terminal: held[of[k]] for terminal, (k, _) in at.items()}

    # ------------------------------------------------------------ equations

    def run(self) -> tuple[Solution | None, tuple[Trouble, ...]]:
        """The answer in full, or why there is none."""
        steps, troubles = self.find()
        return (None, troubles) if troubles else (self.answer(steps), ())

    def find(self) -> tuple[int, tuple[Trouble, ...]]:
        """Voltages without loads first, then with them; the upper of two answers by starting from above.

        Returns how many steps it took, and why there is no answer where there is none.
        """
        if self.merged.conflict is not None:
            return 0, (self._conflict(self.merged.conflict),)
        circuit = self.circuit
        self.branches = [  # nodes, conductance, and what is added to the difference of their voltages
            (i, j, 1.0 / b.ohm, oi - oj - b.volts)
            for (i, oi, j, oj), b in zip(self.ends, circuit.branches, strict=True)
        ]
        self._stamp()
        devices = circuit.devices
        if self.solved is not None:
            coarse, fine = [c + f for c, f in zip(*self.solved, strict=True)], self._zeros()
            ok, steps = self._newton(devices, coarse, fine)
            if ok:
                self.solved = coarse, fine
                return steps, ()
        coarse, fine = self._zeros(), self._zeros()
        for device in devices:
            device.scale = 0.0
        steps = 0
        if devices:
            self._begin(coarse)
            ok, steps = self._newton(devices, coarse, fine, near=1.0)  # enough to take knees from
            most = max([abs(b.volts) for b in (*circuit.branches, *circuit.ideal)] + [d.own_volts() for d in devices])
            for device, ports in zip(devices, self.ports, strict=True):
                device.expect([max(-most, min(most, self._across(port, coarse, fine))) for port in ports])
                device.scale = 1.0
        ok, more = self._newton(devices, coarse, fine)
        if not ok:
            ok, more = self._from_resistances(devices, coarse, fine)
        if not ok:
            ok, more = self._ramp(devices, coarse, fine)
        if not ok:
            self.solved = None
            return steps + more, (self._gives_up(devices, coarse, fine),)
        self.solved = coarse, fine
        return steps + more, ()

    def _zeros(self) -> list[float]:
        return [0.0] * (self.size + 1)

    def _gives_up(self, devices: list[Device], coarse: list[float], fine: list[float]) -> Trouble:
        """The part without which there is an answer, which may be on the brink at the largest share of the loads that
        still has one; else the one on the brink; else the part where the search ended farthest from an answer."""
        strained = []
        for device, ports in zip(devices, self.ports, strict=True):
            ratio = device.strain([self._across(port, coarse, fine) for port in ports])
            if ratio is not None:
                strained.append((ratio, device))
        strained.sort(key=lambda pair: pair[0])
        brink = strained[0][1] if strained and strained[0][0] <= BRINK else None
        on_brink = f"cannot hold up: it wants more than {SAG}"
        farthest = self._farthest(devices, coarse, fine)
        suspects = [device for _, device in strained] + [d for d in farthest if d.strain([0.0] * len(d.ports)) is None]
        for device in suspects[: SUSPECTS if brink is None else FEW]:
            self.left_out = device
            ok, _ = self._ramp(devices, self._zeros(), self._zeros())
            self.left_out = None
            if ok and device is brink:
                return Trouble(device.part, f"{device.part} {on_brink}")
            if ok:
                words = f"{device.part} cannot hold up: with it the case has no steady answer, without it it has one"
                return Trouble(device.part, words)
        if brink is not None:
            return Trouble(brink.part, f"{brink.part} {on_brink}")
        words = "no steady answer was found: the equations of this case do not converge"
        if not farthest:
            return Trouble(None, words)
        return Trouble(farthest[0].part, f"{words}, least of all at {farthest[0].part}")

    def _farthest(self, devices: list[Device], coarse: list[float], fine: list[float]) -> list[Device]:
        """Devices by the surplus of current where they are, with all loads on, the largest first."""
        for device in devices:
            device.scale = 1.0
        out = self._residual(devices, coarse, fine)[0]
        at = [max(abs(out[n]) for i, _, j, _ in ports for n in (i, j)) for ports in self.ports]
        return [devices[k] for k in sorted(range(len(devices)), key=lambda k: -at[k])]

    def _begin(self, coarse: list[float]) -> None:
        """Starts the nodes of panels at their open-circuit voltage, from where the equations are tame."""
        for device, ports in zip(self.circuit.devices, self.ports, strict=True):
            first = device.first()
            i, _, j, _ = ports[0]
            if first and i >= 0 and not coarse[i]:
                coarse[i] = first[1] + (coarse[j] if j >= 0 else 0.0)

    def _conflict(self, branch: Branch) -> Trouble:
        part = branch.key[1] if branch.key[0] == "part" else None
        if part is None:
            held = [b.key[1] for b in self.circuit.ideal if b.key[0] == "part" and b.volts]
            part = held[0] if held else None
        return Trouble(part, f"{part or branch.a} is held at a voltage that a joint without resistance contradicts")

    def _stamp(self) -> None:
        """The matrix of the resistances, kept; devices are added to a copy."""
        linear = [0.0] * self.plan.length
        for (i, j, siemens, _), spots in zip(self.branches, self.spots, strict=True):
            if spots is not None:
                linear[i] += siemens
                linear[j] += siemens
                linear[spots[0]] -= siemens
                linear[spots[1]] -= siemens
            elif i != j:
                linear[max(i, j)] += siemens
        self.linear = linear

    @staticmethod
    def _across(port: tuple[int, float, int, float], coarse: list[float], fine: list[float]) -> float:
        i, oi, j, oj = port
        return coarse[i] + oi - coarse[j] - oj + (fine[i] - fine[j])

    def _residual(
        self, devices: list[Device], coarse: list[float], fine: list[float]
    ) -> tuple[list[float], list[float], list[list[float]], list[list[float]]]:
        """Current out of each node, largest current at each node, port voltages and port currents of each device."""
        out = self._zeros()
        most = self._zeros()
        for i, j, siemens, bias in self.branches:
            current = (coarse[i] - coarse[j] + bias + (fine[i] - fine[j])) * siemens
            out[i] += current
            out[j] -= current
            if current < 0.0:
                current = -current
            if current > most[i]:
                most[i] = current
            if current > most[j]:
                most[j] = current
        across: list[list[float]] = []
        flows: list[list[float]] = []
        for device, ports in zip(devices, self.ports, strict=True):
            volts_of = [coarse[i] + oi - coarse[j] - oj + (fine[i] - fine[j]) for i, oi, j, oj in ports]
            flow = device.flow(volts_of)
            across.append(volts_of)
            flows.append(flow)
            for current, (i, _, j, _) in zip(flow, ports, strict=True):
                out[i] += current
                out[j] -= current
                if current < 0.0:
                    current = -current
                if current > most[i]:
                    most[i] = current
                if current > most[j]:
                    most[j] = current
        out[-1] = most[-1] = 0.0
        return out, most, across, flows

    def _newton(
        self,
        devices: list[Device],
        coarse: list[float],
        fine: list[float],
        near: float = 1e-3,
        patience: int = PATIENCE,
    ) -> tuple[bool, int]:
        """Newton's method with halved steps where a full one does not help. Changes the voltages in place.

        It ends when every node's surplus is below `near` of the tolerance, or within it and no longer falling; without
        an answer after `STEPS`, or after `patience` steps in which the squared surplus did not halve.

        The line search is non-monotone (L. Grippo, F. Lampariello, S. Lucidi, 1986), since kinks need it.
        """
        out, peaks, across, flows = self._residual(devices, coarse, fine)
        if not self.size:
            self._last = out, across, flows
            return True, 0
        sizes: list[float] = []  # of the residual in the last steps: a step may be worse than the last, not than all
        factors: list[float] | None = None
        factored: list[float] = []  # the matrix that `factors` are of: the same again is not factored again
        close = 0
        mark, since = 0.0, 0  # the squared surplus when it last halved, and how many steps ago that was
        for step in range(STEPS):
            worst = _worst(out, peaks)
            changed = False
            for device, volts in zip(devices, across, strict=True):
                changed |= device.settle(volts)
            if changed:
                out, peaks, across, flows = self._residual(devices, coarse, fine)
                sizes = []
            elif worst < near or (worst < 0.5 and close > 2):
                self._last = out, across, flows
                return True, step
            elif worst < 0.5:
                close += 1
            if factors is None or devices:
                values = self._matrix(devices, across, flows)
                if factors is None or values != factored:
                    factored = values
                    replaced: list[int] = []
                    factors = self.plan.factor(list(values), FLOATING, replaced)
                    self.adrift = self._adrift(factors, replaced) if replaced else frozenset()
            move = self.plan.solve(factors, out)
            if devices:  # what hangs on saturated loads alone has hardly a slope: no leaps
                leap = LEAP if step else FIRST_LEAP
                move = [m if -leap <= m <= leap else -leap if m < -leap else leap for m in move]
            size = sum(map(mul, out, out))
            if not step or size < 0.5 * mark:
                mark, since = size, 0
            elif since == patience and worst > 1.0:
                return False, step
            else:
                since += 1
            sizes = [*sizes[-4:], size]
            share, best = 1.0, None
            for _ in range(6):
                if share == 1.0 and worst < 1e6:  # close: into the fine part, so that no digit is lost
                    tried = coarse, list(map(sub, fine, move))
                else:
                    tried = [c - share * m for c, m in zip(coarse, move, strict=True)], fine
                found = self._residual(devices, *tried)
                new = sum(map(mul, found[0], found[0]))
                if best is None or new < best[0]:
                    best = new, tried, found
                if not devices or new < max(sizes) * (1.0 - 0.1 * share) or new < 1e-18:
                    break
                share *= 0.5
            assert best is not None
            coarse[:], fine[:] = best[1]
            out, peaks, across, flows = best[2]
        return False, STEPS

    def sensitivities(self, weights: Mapping[str, float]) -> dict[Key, float]:
        """How a sum of terminal voltages (weights by terminal) moves with each resistance, at the last answer. [V/ohm]

        One adjoint solution: d/dR = (l(a) - l(b)) I / R, with l the solution of the transposed equations.
        """
        if self.solved is None:
            return {}
        coarse, fine = self.solved
        devices = self.circuit.devices
        _, _, across, flows = self._residual(devices, coarse, fine)
        factors = self.plan.factor(self._matrix(devices, across, flows), FLOATING)
        right = self._zeros()
        for terminal, weight in weights.items():
            node = self.place[terminal][0]
            if node >= 0:
                right[node] += weight
        adjoint = self.plan.solve_transposed(factors, right)
        found = {}
        for branch, (i, j, siemens, bias) in zip(self.circuit.branches, self.branches, strict=True):
            current = (coarse[i] - coarse[j] + bias + (fine[i] - fine[j])) * siemens
            found[branch.key] = (adjoint[i] - adjoint[j]) * current * siemens
        return found

    def _matrix(self, devices: list[Device], across: list[list[float]], flows: list[list[float]]) -> list[float]:
        """The matrix of the resistances with the slopes of the devices."""
        values = list(self.linear)
        for device, spots, volts, flow in zip(devices, self.device_spots, across, flows, strict=True):
            for row, spot_row in zip(device.slopes(volts, flow), spots, strict=True):
                for slope, places in zip(row, spot_row, strict=True):
                    if slope:
                        for place, sign in places:
                            values[place] += sign * slope
        return values

    def _adrift(self, factors: list[float], replaced: list[int]) -> frozenset[int]:
        """Nodes that nothing holds: their currents are known, their voltage is not."""
        found = set()
        for k in replaced:
            right = [0.0] * self.size
            right[k] = 1.0
            moves = self.plan.solve(factors, right)
            found |= {i for i, move in enumerate(moves) if abs(move * FLOATING) > 1e-6}
        return frozenset(found)

    def _from_resistances(self, devices: list[Device], coarse: list[float], fine: list[float]) -> tuple[bool, int]:
        """From loads as resistances: shares the voltage out where loads stand in series, as after a lost return."""
        coarse[:], fine[:] = self._zeros(), self._zeros()
        self._begin(coarse)
        for device in devices:
            device.linear = True
        _, steps = self._newton(devices, coarse, fine, patience=SHORT)
        for device in devices:
            device.linear = False
        ok, more = self._newton(devices, coarse, fine)
        return ok, steps + more

    def _ramp(self, devices: list[Device], coarse: list[float], fine: list[float]) -> tuple[bool, int]:
        """Loads turned on in steps, where Newton's method lost its way; ends at the last step with an answer."""
        coarse[:], fine[:] = self._zeros(), self._zeros()
        self._begin(coarse)
        share, stride, total = 0.0, 0.25, 0
        while stride > self.finest:
            tried = min(share + stride, 1.0) if total else 0.0
            for device in devices:
                device.scale = 0.0 if device is self.left_out else tried
            kept = list(coarse), list(fine)
            ok, steps = self._newton(devices, coarse, fine, patience=SHORT)
            total += steps + 1
            if ok and tried == 1.0:
                return True, total
            if ok:
                share, stride = tried, stride * 1.5
            else:
                coarse[:], fine[:] = kept
                stride *= 0.5
        return False, total

    # ------------------------------------------------------------ answers

    def currents(self) -> list[float]:
        """Currents of the circuit's branches at the last answer, in their order. [A]"""
        assert self.solved is not None
        coarse, fine = self.solved
        return [(coarse[i] - coarse[j] + bias + (fine[i] - fine[j])) * siemens for i, j, siemens, bias in self.branches]

    def at_ports(self) -> tuple[list[list[float]], list[list[float]]]:
        """Voltages [V] and currents [A] of the ports of each device at the last answer."""
        _, across, flows = self._last
        return across, flows

    def answer(self, steps: int) -> Solution:
        """The last answer in full, found in so many steps."""
        assert self.solved is not None
        circuit = self.circuit
        out, across, flows = self._last
        volts = [c + f for c, f in zip(*self.solved, strict=True)]
        voltages: dict[str, float | None] = {t: volts[node] + offset for t, (node, offset) in self.place.items()}
        if self.alone or self.adrift:
            for terminal, (node, _) in self.place.items():
                if terminal in self.alone or node in self.adrift:
                    voltages[terminal] = None
        currents: dict[Key, float] = {}
        load = dict.fromkeys(self.place, 0.0)  # current that leaves each terminal through branches and devices
        for branch, current in zip(circuit.branches, self.currents(), strict=True):
            currents[branch.key] = current
            load[branch.a] += current
            load[branch.b] -= current
        for device, flow in zip(circuit.devices, flows, strict=True):
            for port, current in zip(device.ports, flow, strict=True):
                load[port.plus] += current
                load[port.minus] -= current
        currents.update(ideal_currents(self.merged, load))
        residual = max((abs(r) for r in out), default=0.0)
        return Solution(voltages, currents, flows, across, self.references, residual, steps)


def _worst(out: list[float], peaks: list[float]) -> float:
    """The largest surplus of a node over what the tolerance allows it. [1]"""
    worst = least = 0.0
    for surplus, peak in zip(map(abs, out), peaks, strict=True):
        if surplus <= least:  # no more than the worst, even where the tolerance is smallest
            continue
        ratio = surplus / (ABSOLUTE if peak * RELATIVE <= ABSOLUTE else RELATIVE * peak)
        if not ratio <= worst:
            worst, least = ratio, ratio * ABSOLUTE
    return worst
