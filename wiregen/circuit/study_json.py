"""The study as plain data for machines, `wiregen-study/1`: SI units in the key names, null where unknown."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from wiregen.catalogue import catalogue
from wiregen.circuit.study import CaseResult, Study
from wiregen.circuit.wires import copper_area
from wiregen.model.job import Body, Conductor

if TYPE_CHECKING:
    from wiregen.circuit.size_job import Sizing

Plain = dict[str, object]


def as_json(study: Study) -> Plain:
    """The document of the contract, in the order of the file. Numbers are rounded where they are written."""
    job = study.job
    return {
        "format": "wiregen-study/1",
        "netlist": {
            "parts": [{"id": p.id, "kind": p.kind, "place": p.place} for p in job.parts.values()],
            "links": [[link.a, link.b] for link in job.links if link.a != link.b],
            "inside": list(_solid(study)),
            "bonds": [bond for body in job.bodies.values() for bond in _bonds(study, body)],
            "conductors": [_conductor(c) for c in job.conductors.values()],
        },
        "assumptions": [
            {"subject": a.subject, "quantity": a.quantity, "value": a.value, "unit": a.unit, "basis": a.basis}
            for a in study.assumptions
        ],
        "cases": [_case(case) for case in study.cases],
        "supplies": [
            {
                "case": s.case,
                "from": s.from_,
                "to": s.to,
                "drop_v": s.drop_v,
                "drop_percent": None if s.drop_ratio is None else 100.0 * s.drop_ratio,
                "of_v": s.of_v,
                "limit_percent": None if s.limit_ratio is None else 100.0 * s.limit_ratio,
                "path": list(s.path),
                "basis": s.basis,
                "nominal_drop_v": s.nominal_drop_v,
            }
            for s in study.supplies
        ],
        "faults": [
            {
                "conductor": f.conductor,
                "terminal": f.terminal,
                "max_current_a": f.max_current_a,
                "min_current_a": f.min_current_a,
                "cleared_by": f.cleared_by,
                "clearing_s": f.clearing_s,
                "withstand_s": f.withstand_s,
            }
            for f in study.faults
        ],
        "energy": dict(study.energy),
    }


def sizes_json(sizing: Sizing) -> Plain:
    """The chosen sizes, `wiregen-sizes/1`."""
    return {
        "format": "wiregen-sizes/1",
        "conductors": [
            {
                "id": s.conductor,
                "size_sold_now": s.now or None,
                "size_sold": s.size,
                "size_mm2": s.area_mm2,
                "copper_kg": s.mass_kg,
                "decided_by": s.decided_by,
                "fuse": s.fuse,
            }
            for s in sizing.conductors
        ],
        "fuses": [
            {"id": f.fuse, "rating_now_a": f.now_a, "rating_a": f.rating_a, "load_a": f.load_a} for f in sizing.fuses
        ],
        "copper_kg": sizing.mass_kg,
        "out_of_reach": [{"case": s.case, "from": s.from_, "to": s.to} for s in sizing.over],
        "settled": sizing.settled,
    }


def _solid(study: Study) -> Iterable[list[str]]:
    """Pairs within a part that are one piece of metal: studs of a busbar, the common negative of a charger."""
    for part in study.job.parts.values():
        for contact in part.contacts:
            if contact.kind == "solid":
                yield [contact.a, contact.b]


def _bonds(study: Study, body: Body) -> Iterable[Plain]:
    """Earths of one body in pairs. The body is a star in which any two earths are its resistance apart; as pairs that
    is a mesh whose members each have half the number of earths times as much."""
    given = body.number("resistance")
    ohm = catalogue().default("body-resistance") if given is None else given
    earths = body.earths
    for i, a in enumerate(earths):
        for b in earths[i + 1 :]:
            yield {"body": body.id, "from": a, "to": b, "resistance_ohm": ohm * len(earths) / 2.0}


def _conductor(conductor: Conductor) -> Plain:
    size = conductor.fact("size")
    return {
        "id": conductor.id,
        "from": conductor.from_,
        "to": conductor.to,
        "size_sold": size.word if size else None,
        "size_mm2": copper_area(conductor),
        "length_m": conductor.number("length"),
        "colour": "/".join(conductor.colours) or None,
    }


def _case(case: CaseResult) -> Plain:
    return {
        "name": case.name,
        "title": case.title,
        "solved": case.solved,
        "troubles": [{"part": t.part, "words": t.words} for t in case.troubles],
        "ranged": list(case.ranged),
        "references": list(case.references),
        "terminals": {terminal: {"voltage_v": volts} for terminal, volts in case.voltages.items()},
        "conductors": {
            id: {
                "current_a": flow.current_a,
                "drop_v": flow.drop_v,
                "resistance_ohm": flow.resistance_ohm,
                "temperature_c": flow.temperature_c,
                "ampacity_a": flow.ampacity_a,
            }
            for id, flow in case.flows.items()
        },
        "parts": {id: dict(values) for id, values in case.parts.items()},
    }
