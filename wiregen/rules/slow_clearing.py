"""slow-clearing: a fault at the far end of a conductor is not cut off before the conductor burns.

Hazard
    On a long or thin run a dead short draws so little that the fuse takes its time, or never opens, while the conductor
    glows.
Test
    The lowest current of a bolted fault at each end of each conductor (weak battery, hot conductors): the time in which
    the fuse on its way opens at the latest, against the time for which the conductor stands that current.
Basis
    time-current gates of the fuse's family; I2t = k2 S2 of the conductor (IEC 60364-4-43, 434.5.2, read in a reprint);
    beyond the last gate a fuse or breaker is taken to need the same I2t (from memory), as the study does; of a breaker
    `--explain-silence` says where that decides, since its maker's curve is the one to go by
Bad
    fuse F1 20 A blade
    start.+ -- F1 --[W1 red 1.5 mm2 26 m]-- lamp1.+
    lamp1.- --[W2 black 1.5 mm2 26 m]-- start.-
Good
    fuse F1 5 A blade
    start.+ -- F1 --[W1 red 1.5 mm2 26 m]-- lamp1.+
    lamp1.- --[W2 black 1.5 mm2 26 m]-- start.-
Limits
    A conductor that carries less than its fuse is rated is for oversized-fuse; one that is too thin for its own
    current, and what lies behind it, for undersized-conductor. The fault is to the negative of the
    battery itself: through a long return it draws less still.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from wiregen.circuit.crossing import crossings
from wiregen.circuit.figures import Figures
from wiregen.circuit.protection import OPEN, Guard, feeds, guards
from wiregen.circuit.questions import way_back
from wiregen.circuit.study import Fault, Study
from wiregen.circuit.unprotected import live_posts
from wiregen.circuit.ways_back import lost
from wiregen.rules.currents import too_thin
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, beyond, figure, listed


class Slow(NamedTuple):
    """A fault that outlasts its conductor: its least current [A], and when the fuse opens [s] (None: never)."""

    fault: Fault
    guard: Guard
    draws: float
    opens: float | None


@rule(
    "slow-clearing", severity="danger", basis="gates of the fuse's family; IEC 60364-4-43, 434.5.2 (read in a reprint)"
)
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each fuse, on the conductor that fares worst."""
    job = study.job
    if crossings(job, study.network):
        yield Content("job", "positive meets negative somewhere: faults say nothing until that is put right")
        return
    figures = Figures(job)
    thin = too_thin(study)
    on_guard = guards(job, study.network, (*live_posts(job, study.network), *feeds(job)))
    found: dict[str, list[Slow]] = {}
    for fault in study.faults:
        guard = on_guard.get(fault.conductor)
        carries = study.ampacities.get(fault.conductor)
        if guard is None or guard.rating == OPEN or not fault.min_current_a or fault.withstand_s is None:
            continue
        on_way = way_back(study, fault.terminal, {guard.source}) or () if thin else ()
        if thin.intersection((fault.conductor, *(c.id for c in on_way))) or (
            carries is not None and beyond(guard.rating, carries)
        ):
            continue
        opens = fault.clearing_s
        if opens is None and lost(job, study.network):  # a battery that brings no current need not be cut off
            yield Content(fault.conductor, "something does not get back to its source: judged when that is put right")
        elif opens is None or beyond(opens, fault.withstand_s):
            found.setdefault(guard.device, []).append(Slow(fault, guard, fault.min_current_a, opens))
        else:
            told = (figure(opens), figure(fault.withstand_s), _beyond_gates(study, figures, guard, opens))
            yield Content(fault.conductor, "a fault at its end is cut off in {} s, it stands {} s{}", told)
    for slow in found.values():
        yield _bad(study, sorted(slow, key=lambda one: one.draws))


def _beyond_gates(study: Study, figures: Figures, guard: Guard, opens: float) -> str:
    """What has to be said where a breaker's time is worked out, not known: it opens sooner than at its last gate."""
    device = study.job.parts[guard.device]
    if device.kind != "breaker" or opens >= figures.gates(device)[-1].most_s:
        return ""
    return f" (beyond the last gate of {device.id}, by constant I2t: its maker's curve decides)"


def _bad(study: Study, slow: list[Slow]) -> Bad:
    worst = slow[0]
    fault, device = worst.fault, study.job.parts[worst.guard.device]
    conductor = study.job.conductors[fault.conductor]
    others = [name for name in dict.fromkeys(one.fault.conductor for one in slow) if name != conductor.id]
    current = worst.draws
    when = f"opens only after {figure(worst.opens)} s" if worst.opens is not None else "need not open at all"
    stands = f"{conductor.id} stands it for {figure(fault.withstand_s or 0.0)} s"
    return Bad(
        subject=conductor.id,
        message=f"a short at {fault.terminal} draws {amps(current)}: {device.id} {when}, {stands}",
        at=mark(conductor, "length", "too far or too thin for its fuse"),
        related=(device.id, fault.terminal, *others),
        marks=(mark(device, "fused" if device.kind == "feed" else "rating", "opens too late"),),
        reason="the conductor burns before the fuse opens" + (f"; so too {listed(others)}" if others else ""),
        remedy=f"fit {device.id} smaller, or size {conductor.id} larger",
        values={"fault_a": current, "opens_s": worst.opens, "withstand_s": fault.withstand_s, "device": device.id},
        through=conductor.through,
    )
