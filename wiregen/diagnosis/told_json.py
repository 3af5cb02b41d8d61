"""A diagnosis for other programs, `wiregen-diagnosis/1`; its schema lies beside this module."""

from __future__ import annotations

from wiregen.diagnosis.diagnose import Diagnosis, Expected, Group
from wiregen.diagnosis.points import Probe
from wiregen.diagnosis.told import CAUTION


def as_json(path: str, found: Diagnosis) -> dict[str, object]:
    """The document as plain data: V, A and ohm in the key names, beliefs from 0 to 1."""
    return {
        "format": "wiregen-diagnosis/1",
        "file": path,
        "job": found.job.title,
        "case": found.states[0].name,
        "cases": list(found.cases),
        "tried_cases": [state.name for state in found.states],
        "tried": found.tried,
        "symptoms": [{"words": s.words, "meaning": s.means, "of": list(s.parts)} for s in found.symptoms],
        "readings": [_expected(told) for told in found.explained],
        "faults": [_group(group) for group in found.groups],
        "hidden": {"belief": found.unseen, "ids": [fault.id for fault in found.hidden]},
        "nothing": found.nothing,
        "other": found.other,
        "found": found.found,
        "next": _next(found) if found.next else None,
        "notice": CAUTION,
    }


def _next(found: Diagnosis) -> dict[str, object]:
    """The first reading, and those `also` to be taken at the same point in other cases."""
    first, *others = found.next
    return {**_expected(first), "bits": found.bits, "also": [_expected(told) for told in others]}


def _group(group: Group) -> dict[str, object]:
    return {
        "belief": group.belief,
        "resistance_ohm": group.ohm,
        "blown": list(group.blown),
        "unsteady": list(group.unsteady),
        "alike": [
            {"id": f.id, "kind": f.kind, "subject": f.subject, "words": f.words, "remedy": f.remedy}
            for f in group.faults
        ],
    }


def _expected(told: Expected) -> dict[str, object]:
    unit = "voltage_v" if told.probe.kind == "V" else "current_a"
    found: dict[str, object] = {**_probe(told.probe), "case": told.case.name, f"sound_{unit}": told.sound}
    if told.swings:
        found["swings"] = True
    if told.measured is not None:
        found[f"measured_{unit}"] = told.measured
    found[f"expected_{unit}"] = list(told.faults)
    return found


def _probe(probe: Probe) -> dict[str, object]:
    return {"red": probe.red, "black": probe.black} if probe.kind == "V" else {"clamp": probe.red}
