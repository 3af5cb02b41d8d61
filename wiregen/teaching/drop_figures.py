"""Where the volts go: the drop from a source to a load and back, piece by piece, adding up to the whole."""

from __future__ import annotations

from wiregen.circuit.study import Study, Supply
from wiregen.drawing.look import Look
from wiregen.layout.shown import figure
from wiregen.model.job import Job
from wiregen.teaching import look
from wiregen.teaching.captions import called
from wiregen.teaching.draft import Draft, Table

FEW = 3  # supplies that a set shows
LEAST = 0.0005  # V: less is no row of its own
JOINT = "joint at "


def drop_drafts(study: Study) -> list[Draft]:
    """Each supply that has a limit, in the case in which it loses most, the job's own cases first."""
    own = [s for s in study.supplies if s.case in study.job.cases] or list(study.supplies)
    worst: dict[tuple[str, str], Supply] = {}
    for supply in own:
        key = supply.from_, supply.to
        if supply.limit_ratio is None or whole(supply) < LEAST:
            continue
        if key not in worst or whole(supply) > whole(worst[key]):
            worst[key] = supply
    return [_drops(study, supply, number) for number, supply in enumerate(list(worst.values())[:FEW], 1)]


def whole(supply: Supply) -> float:
    """What is lost in all, of lengths as they are named. [V]"""
    return sum(supply.losses.values())


def legs(job: Job, supply: Supply) -> tuple[float, float] | None:
    """What is lost on the way to the port and on the way back; None where both are not told apart. [V]"""
    reached = None
    for at, id in enumerate(supply.path):
        conductor = job.conductors.get(id)
        ends = (conductor.from_, conductor.to) if conductor else ()
        if any(end.startswith(f"{supply.to}.") and end.endswith("+") for end in ends):
            reached = at
    if reached is None or reached + 1 == len(supply.path):
        return None
    split = list(supply.losses)
    there = sum(supply.losses[id] for id in split if id in supply.path[: reached + 1])
    back = sum(supply.losses[id] for id in split if id in supply.path[reached + 1 :])
    return there, back


def _drops(study: Study, supply: Supply, number: int) -> Draft:
    job = study.job
    most = max(supply.losses.values())
    looks: dict[str, Look] = dict.fromkeys(job.conductors, look.QUIET)
    lines: dict[str, tuple[str, ...]] = {}
    rows = []
    so_far = 0.0
    for id, lost in supply.losses.items():
        so_far += lost
        if lost < LEAST:
            continue
        rows.append((id.removeprefix(JOINT), figure(lost, "V"), f"{so_far:.3f} V"))
        if id in job.conductors:
            looks[id] = Look(weight=1.8, paint=(look.heat(lost / most),))
            lines[id] = (figure(lost, "V"),)
        elif id in job.parts:
            looks[id] = Look(halo=look.heat(lost / most), reach=0.8)
    total = whole(supply)
    case = next((c.title for c in study.cases if c.name == supply.case and c.title), supply.case)
    allowed = f"{100 * (supply.limit_ratio or 0.0):g} %"
    over = total > (supply.limit_ratio or 0.0) * supply.of_v
    caption = [
        f"{case}: {figure(total, 'V')} in all, {100 * total / supply.of_v:.2g} % of {supply.of_v:g} V;"
        + (f" that is more than the {allowed} allowed." if over else f" {allowed} is allowed.")
    ]
    if both := legs(job, supply):
        caption.append(f"{figure(both[0], 'V')} on the way there, {figure(both[1], 'V')} on the way back.")
    cables = sum(lost for id, lost in supply.losses.items() if id in job.conductors)
    caption.append(f"{figure(cables, 'V')} in cables, {figure(total - cables, 'V')} in fuses and joints.")
    caption.append("The darker, the more.")
    title = f"From {supply.from_} to {supply.to}: where the volts go"
    said = "; ".join(
        f"{called(job.conductors[row[0]]) if row[0] in job.conductors else row[0]} {row[1]}, {row[2]} so far"
        for row in rows
    )
    return Draft(
        "cases", f"drop-{number}-{supply.to}", title, tuple(caption), f"{title}. {' '.join(caption)} {said}.",
        looks, lines, blocks=(Table(("", "drop", "so far"), tuple(rows)),),
    )  # fmt: skip
