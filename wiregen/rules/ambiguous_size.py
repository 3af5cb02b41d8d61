"""ambiguous-size: a size is sold with more or less copper in it, and which of them it is decides.

Hazard
    Auto cable is sold by its outside diameter: how much copper is inside is the maker's choice. A gauge sold to SAE
    holds 3 to 11 % less copper than the same number of AWG. Where the job passes a limit by less than that, it passes
    or fails by which cable is bought.
Test
    Each auto cable that bears its current and its fuse with the usual area, with the least area that is printed; each
    drop that is allowed, with all auto cable on the way at that area, and all gauges at the least area of SAE.
Basis
    Auto cable: only the outside diameter is defined (Australian touring pages). SAE least circular mils (a marine
    cable maker's catalogue; ABYC E-11 gives the same figures, from memory).
Bad
    start.+ -- F1 --[W1 red 5 auto-mm 1 m]-- heater.+
    heater.- --[W2 black 5 auto-mm 3.5 m]-- start.-
    limit 5 % start to heater
Good
    start.+ -- F1 --[W1 red 5 auto-mm 1 m]-- heater.+
    heater.- --[W2 black 5 auto-mm 2 m]-- start.-
    limit 5 % start to heater
Limits
    A gauge is not judged for ampacity: the tables go by its number, or by metric rows that lie below both areas. What
    the job's own figures give for a size is taken as it is. What fails even with the usual area is for
    undersized-conductor and oversized-fuse.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from wiregen.catalogue import catalogue
from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.figures import Figures
from wiregen.circuit.protection import OPEN, feeds, guards
from wiregen.circuit.sizing import with_size
from wiregen.circuit.study import Study, Supply
from wiregen.circuit.unprotected import live_posts
from wiregen.circuit.wires import copper_area
from wiregen.model.job import Conductor
from wiregen.rules.currents import strain, too_thin
from wiregen.rules.drops import excess, too_large, worst_supplies
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import apart, beyond, clearly_more, figure


class Doubt(NamedTuple):
    """Where the smaller reading of a conductor's size decides: in words, with the figure it would have and its limit.

    weight : by how much it is then beyond its limit, 1 is exactly at it
    """

    conductor: Conductor
    words: str
    case: str | None
    value: float
    limit: float

    @property
    def weight(self) -> float:
        """The figure over its limit."""
        return self.value / self.limit if self.limit else 0.0


@rule("ambiguous-size", severity="advice", basis="what is sold under a size; common practice")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each size as sold, on the conductor for which it matters most."""
    job = study.job
    areas = {c.id: area for c in job.conductors.values() if (area := _least_area(c)) is not None}
    if not areas or crossings(job, study.network):
        return
    doubts: dict[str, list[Doubt]] = {}
    for doubt in (*_hot(study, areas), *_lossy(study, areas)):
        doubts.setdefault(doubt.conductor.word("size"), []).append(doubt)
    for conductor in (job.conductors[id] for id in areas):
        if conductor.word("size") not in doubts:
            yield Content(conductor.id, "would pass with {} mm2 of copper too", (figure(areas[conductor.id]),))
    for each in doubts.values():
        yield _bad(study, each, areas)


def _least_area(conductor: Conductor) -> float | None:
    """The least copper that is sold under the conductor's size; None where it is sold with one area only. [mm2]"""
    measure, area = conductor.measure("size"), copper_area(conductor)
    if measure is None or area is None:
        return None
    data = catalogue()
    if measure.dimension == "auto-size":
        row = data.row("constant", "auto-mm-least")
        return area * float(row["value"]) if row else None
    if measure.dimension != "gauge":
        return None
    rows = data.rows("conductor")
    number = next((r["size"] for r in rows if r["family"] == "AWG" and abs(r["area_mm2"] / area - 1) < 0.002), None)
    sae = next((r for r in rows if r["family"] == "SAE" and r["size"] == number), None)
    return float(sae["area_mm2"]) if sae else None


def _auto(conductor: Conductor) -> bool:
    """Whether its size is the outside diameter of an auto cable."""
    measure = conductor.measure("size")
    return measure is not None and measure.dimension == "auto-size"


def _hot(study: Study, areas: Mapping[str, float]) -> Iterator[Doubt]:
    """Auto cable that bears its current and its fuse only with the usual area."""
    job = study.job
    mine = [id for id in areas if _auto(job.conductors[id])]
    if not mine:
        return
    network = without(study.network, crossings(job, study.network))
    fuses = guards(job, network, (*live_posts(job, network), *feeds(job)))
    figures, thin = Figures(job), too_thin(study)
    for id in mine:
        conductor, usual = job.conductors[id], study.ampacities.get(id)
        if usual is None or id in thin or figures.wire(conductor).own:
            continue
        row = {"family": "mm2", "size": figure(areas[id]), "area_mm2": areas[id]}
        thinner = with_size(job, (id,), f"{row['size']} mm2", row)
        least = Figures(thinner).wire(thinner.conductors[id]).ampacity
        load, guard = strain(study, conductor), fuses.get(id)
        if least is None:
            continue
        if load is not None and beyond(load.current * usual, load.ampacity * least):  # in that case's ambient
            then = load.ampacity * least / usual
            carries, bears = apart(load.current, then)
            yield Doubt(conductor, f"it would bear {bears} A and carries {carries} A", load.case, load.current, then)
        elif guard is not None and guard.rating != OPEN and beyond(guard.rating, least) > beyond(guard.rating, usual):
            lets, bears = apart(guard.rating, least)
            words = f"it would bear {bears} A and {guard.device} lets {lets} A into it"
            yield Doubt(conductor, words, None, guard.rating, least)


def _lossy(study: Study, areas: Mapping[str, float]) -> Iterator[Doubt]:
    """Drops that are allowed only with the usual area, on the conductor in doubt that loses the most."""
    job = study.job
    for supply in worst_supplies(study):
        if excess(supply) < 0 or too_large(supply):
            continue
        more = _more(study, supply, areas)
        drop, allowed = (supply.drop_v or 0.0) + sum(more.values()), (supply.limit_ratio or 0.0) * supply.of_v
        if more and beyond(drop, allowed):
            subject = max(more, key=lambda id: more[id])
            loses, may = apart(100 * drop / supply.of_v, 100 * (supply.limit_ratio or 0.0))
            words = f"{supply.to} would lose {loses} % in {supply.case}, {may} % is allowed"
            yield Doubt(job.conductors[subject], words, supply.case, drop, allowed)


def _more(study: Study, supply: Supply, areas: Mapping[str, float]) -> dict[str, float]:
    """What each conductor in doubt would lose more with the least copper, at the same current. [V]"""
    more = {}
    for id, lost in supply.losses.items():
        area = copper_area(study.job.conductors[id]) if id in areas else None
        if area is not None:
            more[id] = lost * (area / areas[id] - 1.0)
    return more


def _bad(study: Study, doubts: list[Doubt], areas: Mapping[str, float]) -> Bad:
    worst = doubts[0]
    for doubt in doubts[1:]:
        if clearly_more(doubt.weight, worst.weight):
            worst = doubt
    conductor = worst.conductor
    id, size = conductor.id, conductor.word("size")
    auto, area = _auto(conductor), copper_area(conductor)
    assert area is not None
    usual, least = figure(area), figure(areas[id])
    alike = [c for c in areas if c != id and study.job.conductors[c].word("size") == size]
    sold = "by its outside diameter" if auto else "to AWG and, thinner, to SAE"
    row = catalogue().row("constant", "auto-mm-least") if auto else None
    sizes = [r for r in catalogue().rows("conductor") if r["family"] == "mm2"]
    by_area = next(f"{r['size']} mm2" for r in sizes if r["area_mm2"] >= area)
    return Bad(
        subject=id,
        message=f"{size} is sold {sold}: with {least} mm2 of copper in place of {usual} mm2, {worst.words}",
        at=mark(conductor, "size", f"{least} or {usual} mm2"),
        related=tuple(dict.fromkeys((*(d.conductor.id for d in doubts if d.conductor.id != id), *alike))),
        case=worst.case,
        reason=f"which cable is bought decides whether {id} passes",
        remedy=(
            f"write the copper area that is printed on the cable or its drum, as in {usual} mm2, and buy no less; or"
            f" take {by_area}, which is sold by area"
        ),
        values={
            "usual_mm2": area,
            "least_mm2": areas[id],
            "value": worst.value,
            "limit": worst.limit,
        },
        through=conductor.through,
        basis=catalogue().basis(row)
        if row
        else "SAE least circular mils, a cable maker's catalogue (read in a reprint)",
    )
