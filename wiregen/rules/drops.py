"""Supplies that lose too much voltage: the worst of each port, and whether conductors or something else decide it."""

from __future__ import annotations

from wiregen.circuit.study import Study, Supply
from wiregen.model.job import Job
from wiregen.rules.words import beyond, clearly_more


def worst_supplies(study: Study) -> list[Supply]:
    """For each port, the supply that is farthest beyond its limit, or nearest to it; in the order of the study."""
    found: dict[tuple[str, str], Supply] = {}
    for supply in study.supplies:
        key = (supply.from_, supply.to)
        old = found.get(key)
        if old is None or clearly_more(excess(supply), excess(old)):
            found[key] = supply
    return list(found.values())


def excess(supply: Supply) -> float:
    """How many times its limit a drop is; -1 where one of them is unknown."""
    if supply.drop_ratio is None or supply.limit_ratio is None:
        return -1.0
    return supply.drop_ratio / supply.limit_ratio


def split(job: Job, supply: Supply) -> tuple[float, dict[str, float]]:
    """What all conductors on the way lose together [V], and what each other thing on it loses [V]."""
    copper = sum(volts for id, volts in supply.losses.items() if id in job.conductors)
    return copper, {id: volts for id, volts in supply.losses.items() if id not in job.conductors}


def decided_by(job: Job, supply: Supply) -> str | None:
    """The part, body or joint (`joint at X1.+`) that decides a drop which is too large; None where copper mends it.

    It is the joint that loses the most where all would be well without such joints; else the one that loses the most,
    where all of them lose more than is allowed without any conductor, or where it loses more than all conductors
    together.
    """
    if supply.limit_ratio is None:
        return None
    copper, others = split(job, supply)
    most = max(others, key=lambda id: others[id], default=None)
    if most is None:
        return None
    worn = {id: volts for id, volts in others.items() if id.startswith("joint at ")}
    if worn and not beyond((copper + sum(others.values()) - sum(worn.values())) / supply.of_v, supply.limit_ratio):
        return max(worn, key=lambda id: worn[id])
    if clearly_more(sum(others.values()), supply.limit_ratio * supply.of_v) or clearly_more(others[most], copper):
        return most
    return None


def too_large(supply: Supply) -> bool:
    """Whether a supply loses more than is allowed; false where that is not known."""
    return (
        supply.drop_ratio is not None
        and supply.limit_ratio is not None
        and beyond(supply.drop_ratio, supply.limit_ratio)
    )
