"""Where a joint can fail: a cut of one circuit, by which what is on one side of a place is parted from the other.

A cut is a place in series: a conductor, a contact, a pole, a joint that has no resistance while it is sound, all that
lands on a stud. A fault there is a resistance in the cut; none of the circuit's other elements changes.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import NamedTuple

from wiregen.circuit.assemble import Branch, Circuit, Key
from wiregen.circuit.solve import Solver
from wiregen.circuit.worn import landing_at
from wiregen.model.job import Job

End = tuple[str, int, int, int]  # ("branch", its number, 0, 0 or 1) or ("port", device, port, 0 or 1): 0 its first end


class Cut(NamedTuple):
    """`ends` of elements that are beyond the cut at the node where it is, `terminals` of that node that are beyond.

    `apart` are all terminals that the cut parts from their reference where it is open; empty where another way goes
    round.
    """

    ends: tuple[End, ...]
    terminals: frozenset[str]
    apart: frozenset[str]


class Cuts:
    """The cuts of one circuit, each worked out when it is asked for."""

    def __init__(self, job: Job, solver: Solver) -> None:
        self.job = job
        self.circuit: Circuit = solver.circuit
        self.find = solver.merged.find
        self.branches = {b.key: k for k, b in enumerate(self.circuit.branches)}
        self.ideal = {b.key: b for b in self.circuit.ideal}
        self.at: dict[str, list[End]] = {}  # terminal -> ends of elements on it
        for k, branch in enumerate(self.circuit.branches):
            self.at.setdefault(branch.a, []).append(("branch", k, 0, 0))
            self.at.setdefault(branch.b, []).append(("branch", k, 0, 1))
        for k, device in enumerate(self.circuit.devices):
            for p, port in enumerate(device.ports):
                self.at.setdefault(port.plus, []).append(("port", k, p, 0))
                self.at.setdefault(port.minus, []).append(("port", k, p, 1))
        self.joins: dict[str, list[Branch]] = {}  # terminal -> ideal joints on it
        for branch in self.circuit.ideal:
            self.joins.setdefault(branch.a, []).append(branch)
            self.joins.setdefault(branch.b, []).append(branch)
        self.held = solver.islands()  # terminal -> the one at 0 V of its island
        self.members: dict[str, list[str]] = {}  # root -> its terminals
        self.root: dict[str, str] = {}
        for terminal in list(solver.merged.root):
            root = self.root[terminal] = self.find(terminal)[0]
            self.members.setdefault(root, []).append(terminal)

    def branch(self, key: Key) -> Cut | None:
        """The cut of a branch or of an ideal joint; None where the circuit of this case has none there."""
        k = self.branches.get(key)
        if k is not None:
            branch = self.circuit.branches[k]
            return self._cut(branch.b, (("branch", k, 0, 1),), frozenset())
        joint = self.ideal.get(key)
        if joint is None:
            return None
        beyond = self._beyond(joint.b, {id(joint)}, stop=joint.a)
        if beyond is None:
            return None
        return self._cut(joint.a, tuple(end for t in beyond for end in self.at.get(t, ())), frozenset(beyond))

    def landing(self, terminal: str) -> Cut | None:
        """The cut between a terminal and all that lands on it from outside; None where nothing does."""
        keys = {branch.key for branch in landing_at(self.circuit, self.job, terminal)}
        ends = [e for e in self.at.get(terminal, ()) if e[0] == "branch" and self.circuit.branches[e[1]].key in keys]
        cut = {id(b): b for b in self.joins.get(terminal, ()) if b.key in keys}
        terminals: set[str] = set()
        for joint in cut.values():
            beyond = self._beyond(joint.b if joint.a == terminal else joint.a, set(cut), stop=terminal)
            if beyond is None:
                return None
            terminals |= beyond
        ends += [end for t in sorted(terminals) for end in self.at.get(t, ())]
        return self._cut(terminal, tuple(ends), frozenset(terminals)) if ends else None

    def load(self, part: str) -> Cut | None:
        """The cut between a load and its plus, as if it were not there; None where the circuit has none."""
        found = [(k, device) for k, device in enumerate(self.circuit.devices) if device.part == part]
        if len(found) != 1 or len(found[0][1].ports) != 1:
            return None
        k, device = found[0]
        plus = device.ports[0].plus
        of_it = [
            ("branch", n, 0, int(b.b == plus))
            for n, b in enumerate(self.circuit.branches)
            if b.key[:2] == ("leak", part)
        ]
        return self._cut(plus, (("port", k, 0, 0), *of_it), frozenset())

    def _beyond(self, start: str, without: set[int], stop: str) -> set[str] | None:
        """Terminals that ideal joints join to one; None where they lead round the cut."""
        seen, todo = {start}, [start]
        for at in todo:
            for joint in self.joins.get(at, ()):
                other = joint.b if joint.a == at else joint.a
                if id(joint) not in without and other not in seen:
                    if other == stop:
                        return None
                    seen.add(other)
                    todo.append(other)
        return seen

    def _cut(self, near: str, ends: Sequence[End], terminals: frozenset[str]) -> Cut:
        """With what hangs on the cut alone. The elements of its node are walked through from beyond."""
        beyond, root = set(ends), self.root[near]
        reached: set[str] = set()  # roots
        todo = list(ends)
        for kind, k, p, side in todo:
            for end in self._others(kind, k, p, side):
                if end in beyond:
                    continue
                terminal = self._terminal(end)
                there = self.root[terminal]
                if there == root:
                    if terminal in terminals:
                        continue
                    return Cut(tuple(ends), terminals, frozenset())  # a way round
                if there not in reached:
                    reached.add(there)
                    todo += [e for t in self.members[there] for e in self.at.get(t, ())]
        apart = set(terminals)
        for there in reached:
            apart.update(self.members[there])
        held = self.held[near]
        if held in apart:  # the side without the reference is the one that is apart
            apart = {t for t, reference in self.held.items() if reference == held} - apart
        return Cut(tuple(ends), terminals, frozenset(apart))

    def _others(self, kind: str, k: int, p: int, side: int) -> list[End]:
        """The other ends of an element; all of a device's ports hang together."""
        if kind == "branch":
            return [("branch", k, 0, 1 - side)]
        return [("port", k, q, s) for q in range(len(self.circuit.devices[k].ports)) for s in (0, 1)]

    def _terminal(self, end: End) -> str:
        kind, k, p, side = end
        if kind == "branch":
            branch = self.circuit.branches[k]
            return branch.b if side else branch.a
        port = self.circuit.devices[k].ports[p]
        return port.minus if side else port.plus


def way(circuit: Circuit, starts: Sequence[str], ends: Collection[str]) -> frozenset[Key | str]:
    """The branches and terminals of a shortest way from each start to the nearest end, along what is no part."""
    around: dict[str, list[tuple[Key, str]]] = {}
    for branch in (*circuit.branches, *circuit.ideal):
        if branch.key[0] not in ("part", "leak"):
            around.setdefault(branch.a, []).append((branch.key, branch.b))
            around.setdefault(branch.b, []).append((branch.key, branch.a))
    found: set[Key | str] = set()
    for start in starts:
        before: dict[str, tuple[Key, str] | None] = {start: None}
        todo = [start]
        for at in todo:
            step = before[at]
            if at in ends:
                while step is not None:
                    found |= {step[0], at}
                    at = step[1]
                    step = before[at]
                found.add(at)
                break
            for key, other in around.get(at, ()):
                if other not in before:
                    before[other] = key, at
                    todo.append(other)
    return frozenset(found)
