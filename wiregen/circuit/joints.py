"""Terminals joined without resistance: merged for the equations, their currents found from Kirchhoff's law after."""

from __future__ import annotations

from wiregen.circuit.assemble import Branch, Circuit, Key
from wiregen.circuit.sparse import Plan


class Merged:
    """Terminals merged by ideal joints: each has a root and stands `offset` volts above it."""

    __slots__ = ("conflict", "loops", "offset", "root", "tree")

    def __init__(self, circuit: Circuit) -> None:
        self.root: dict[str, str] = {t: t for t in circuit.terminals}
        self.offset: dict[str, float] = dict.fromkeys(circuit.terminals, 0.0)
        self.tree: list[Branch] = []
        self.loops: list[Branch] = []
        self.conflict: Branch | None = None
        for branch in circuit.ideal:
            ra, va = self.find(branch.a)
            rb, vb = self.find(branch.b)
            if ra == rb:
                self.loops.append(branch)
                if abs(va - vb - branch.volts) > 1e-9 and self.conflict is None:
                    self.conflict = branch
                continue
            self.tree.append(branch)
            self.root[ra] = rb  # v(ra) = v(rb) + offset, so that v(a) - v(b) = volts
            self.offset[ra] = branch.volts + vb - va

    def find(self, terminal: str) -> tuple[str, float]:
        """Root of a terminal and its voltage above it; terminals that nobody named before are added."""
        root, offset = self.root, self.offset
        if terminal not in root:
            root[terminal] = terminal
            offset[terminal] = 0.0
            return terminal, 0.0
        path = []
        at = terminal
        while root[at] != at:
            path.append(at)
            at = root[at]
        total = 0.0
        for t in reversed(path):
            total += offset[t]
            root[t] = at
            offset[t] = total
        return at, (offset[terminal] if path else 0.0)


def ideal_currents(merged: Merged, load: dict[str, float]) -> dict[Key, float]:
    """Currents of the ideal joints from what leaves each terminal otherwise.

    Where ideal joints form no loop the answer is exact; in a loop they are taken as equal small resistances.
    """
    edges = merged.tree + merged.loops
    if not edges:
        return {}
    found: dict[Key, float] = {}
    at: dict[str, list[int]] = {}
    for k, edge in enumerate(edges):
        at.setdefault(edge.a, []).append(k)
        at.setdefault(edge.b, []).append(k)
    need = {t: load.get(t, 0.0) for t in at}
    degree = {t: len(near) for t, near in at.items()}
    done = [edge.a == edge.b for edge in edges]
    for k, edge in enumerate(edges):
        if done[k]:
            found[edge.key] = 0.0
            degree[edge.a] -= 2
    leaves = [t for t, d in degree.items() if d == 1]
    while leaves:
        t = leaves.pop()
        open_joints = [k for k in at[t] if not done[k]]
        if not open_joints:
            continue
        k = open_joints[0]
        done[k] = True
        edge = edges[k]
        other = edge.b if edge.a == t else edge.a
        into = need[t]  # what leaves t otherwise has to come in through this joint
        found[edge.key] = -into if edge.a == t else into
        need[other] += into
        degree[other] -= 1
        degree[t] -= 1
        if degree[other] == 1:
            leaves.append(other)
    rest = [k for k in range(len(edges)) if not done[k]]
    if rest:
        found.update(_loop_currents([edges[k] for k in rest], need))
    return found


def _loop_currents(edges: list[Branch], need: dict[str, float]) -> dict[Key, float]:
    """Shares in loops of ideal joints, all taken as equally small resistances."""
    names = list(dict.fromkeys(t for edge in edges for t in (edge.a, edge.b)))
    number = {t: k for k, t in enumerate(names)}
    plan = Plan(len(names), [(number[e.a], number[e.b]) for e in edges])
    values = [0.0] * plan.length
    for edge in edges:
        i, j = number[edge.a], number[edge.b]
        values[i] += 1.0
        values[j] += 1.0
        values[plan.place(i, j)] -= 1.0
        values[plan.place(j, i)] -= 1.0
    right = [-need[t] for t in names]
    factors = plan.factor(values, 1.0)
    level = plan.solve(factors, right)
    return {edge.key: level[number[edge.a]] - level[number[edge.b]] for edge in edges}
