"""What a conductor or terminal is by the company it keeps: how many run together, which voltage it is meant for."""

from __future__ import annotations

from wiregen.model.job import Job

SIGNALS = ("sense", "trigger", "indicator")  # terminals of a charger that carry no supply current


def bundle_counts(job: Job) -> dict[str, int]:
    """How many conductors that carry supply current run together with each one, itself included."""
    groups: dict[str, list[str]] = {}
    for conductor in job.conductors.values():
        ends = (conductor.from_, conductor.to)
        if any(job.terminals[end].name in SIGNALS for end in ends if end in job.terminals):
            continue
        for name in (conductor.word("bundle"), conductor.cable or ""):
            if name:
                groups.setdefault(name, []).append(conductor.id)
    counts: dict[str, int] = {}
    for members in groups.values():
        for id in members:
            counts[id] = max(counts.get(id, 1), len(members))
    return counts


def nominal_levels(job: Job, system: float) -> dict[str, float]:
    """Nominal voltage of each terminal above its negative, from the batteries' nominal voltages outward. [V]"""
    above: dict[str, str] = {}  # terminal -> another of its net, until the one that stands for the net

    def find(t: str) -> str:
        while (up := above.get(t)) is not None:
            top = above.get(up)
            if top is None:
                return up
            above[t] = top
            t = top
        return t

    def join(a: str, b: str) -> None:
        a, b = find(a), find(b)
        if a != b:
            above[a] = b

    for conductor in job.conductors.values():
        join(conductor.from_, conductor.to)
    for link in job.links:
        join(link.a, link.b)
    for part in job.parts.values():
        for contact in part.contacts:
            join(contact.a, contact.b)
    for body in job.bodies.values():
        for earth in body.earths:
            join(earth, f"body:{body.id}")
    cells = []
    for part in job.parts.values():
        if part.kind == "battery":
            volts = part.number("volts")
            volts = volts * (part.number("series") or 1.0) if volts else system
            cells.append((find(f"{part.id}.-"), find(f"{part.id}.+"), volts))
        elif part.kind in ("charger", "solar-controller", "mains-charger") and part.number("output-system"):
            minus = next((t for t in (f"{part.id}.out.-", f"{part.id}.-") if t in job.terminals), f"{part.id}.out.-")
            cells.append((find(minus), find(f"{part.id}.out.+"), part.number("output-system") or 0.0))
    level: dict[str, float] = {}
    waiting = list(cells)
    while waiting:
        for cell in waiting:
            if cell[0] in level or cell[1] in level:
                break
        else:
            cell = next((c for c in waiting if all(c[0] != other[1] for other in waiting)), waiting[0])
            level.setdefault(cell[0], 0.0)
        minus, plus, volts = cell
        if minus in level:
            level.setdefault(plus, level[minus] + volts)
        else:
            level.setdefault(minus, level[plus] - volts)
        waiting.remove(cell)
    found = ((t, level.get(find(t))) for t in job.terminals)
    return {t: volts for t, volts in found if volts is not None}
