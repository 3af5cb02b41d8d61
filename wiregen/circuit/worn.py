"""Planted joints (`Job.joints`) in a circuit: what a loose, corroded or badly crimped joint adds."""

from __future__ import annotations

from math import isfinite

from wiregen.circuit.assemble import Branch, Circuit
from wiregen.model.alter import INSIDE
from wiregen.model.job import Job

THROUGH = frozenset({"plug", "socket", "splice", "fuse-block"})  # kinds with terminals that only pass current on


def plant(circuit: Circuit, job: Job) -> None:
    """Puts each joint in its place, as a branch ("joint", where) of its resistance.

    A conductor's is in series at its far end, a connector's in series with the contact of its pole. A terminal's is
    between the terminal and all that lands on it from outside (what is inside its part stays on the terminal); where
    nothing inside meets the terminal, between what lands on it first and the rest. An infinite resistance parts both.
    """
    branches = {branch.key: branch for branch in (*circuit.branches, *circuit.ideal)}
    for at in job.joints:
        owner, _, pole = at.rpartition(".")
        branch = branches.get(("conductor", at)) or branches.get(("contact", owner, pole))
        if at not in job.terminals and branch is not None:
            end, branch.b = branch.b, f"joint:{at}"
            if isfinite(job.joints[at]):
                circuit.add(("joint", at), branch.b, end, job.joints[at])
    for at, ohm in job.joints.items():
        if at in job.terminals:
            _on_terminal(circuit, job, at, ohm)


def _on_terminal(circuit: Circuit, job: Job, at: str, ohm: float) -> None:
    landing = landing_at(circuit, job, at)
    node = f"joint:{at}"
    for branch in landing:
        branch.a = node if branch.a == at else branch.a
        branch.b = node if branch.b == at else branch.b
    if landing and isfinite(ohm):
        circuit.add(("joint", at), node, at, ohm)


def landing_at(circuit: Circuit, job: Job, at: str) -> list[Branch]:
    """The branches that a joint at a terminal carries."""
    part = job.part_of(at)
    landing = [branch for branch in (*circuit.branches, *circuit.ideal) if _lands(job, branch, at)]
    inside = {end for link in job.links if link.why in INSIDE for end in (link.a, link.b)}
    inside |= {end for contact in (part.contacts if part else ()) for end in (contact.a, contact.b)}
    if part is not None and part.kind in THROUGH and at not in inside:
        landing = landing[1:]
    return landing


def _lands(job: Job, branch: Branch, at: str) -> bool:
    """Whether a branch comes to a terminal from outside its part."""
    if at not in (branch.a, branch.b):
        return False
    kind = branch.key[0]
    if kind == "link":
        return not any((link.a, link.b) == branch.key[1:] and link.why in INSIDE for link in job.links)
    part = job.part_of(at)
    return kind in ("conductor", "joint") or (kind == "body" and (part is None or part.kind != "earth"))
