"""Sizes for a whole job: each need decides where it should, and computing again bears it out."""

from __future__ import annotations

from itertools import product

import pytest

from wiregen.circuit import study
from wiregen.circuit.size_job import Sizing, size_job
from wiregen.circuit.sizing import with_size
from wiregen.circuit.study_json import sizes_json
from wiregen.circuit.study_text import sizes_text
from wiregen.findings.json import dumps
from wiregen.model import read
from wiregen.model.job import Job

FED = """job "Sizes" {{ system 12 V, limits iso13297, each insulation 105 degC }}
battery start 100 Ah agm, resistance 5 mohm
fuse F1 {fuse}
load fan {load}
start.+ --[W1 red 10 mm2 0.2 m]-- F1 --[W2 red 10 mm2 {length} m]-- fan --[W3 black 10 mm2 {length} m]-- start.-
limit {limit} % start to fan
"""


def job(**said: object) -> Job:
    made, findings = read("sizes.wnet", text=FED.format(**{"fuse": "40 A blade", **said}))
    assert made is not None and not findings, [f.message for f in findings]
    return made


def by_id(sizing: Sizing) -> dict[str, tuple[str, str]]:
    return {s.conductor: (s.size, s.decided_by) for s in sizing.conductors}


def test_a_long_run_is_decided_by_its_drop():
    found = size_job(job(load="10 A", length=8, limit=3))
    assert found.settled and found.exact
    assert by_id(found)["W2"][1] == "drop"
    assert not found.over
    (supply,) = [s for s in found.study.supplies if s.to == "fan"]
    assert supply.drop_ratio <= supply.limit_ratio


def test_a_short_run_is_decided_by_its_fuse_or_its_load():
    found = size_job(job(load="24 A", length=0.5, limit=10))
    # 24 A times 1.25 is 30 A: the 30 A blade; 1.5 mm2 carries 25 A and 2.5 mm2 35 A at 105 degC (annex A, from memory)
    assert [(f.fuse, f.rating_a) for f in found.fuses] == [("F1", 30.0)]
    assert by_id(found)["W2"] == ("2.5 mm2", "fuse")


def test_a_slow_breaker_close_to_a_stiff_battery_is_decided_by_withstand():
    text = FED.format(load="12 A", length=1, limit=10, fuse="")
    made, _ = read("sizes.wnet", text=text.replace("fuse F1 ", "breaker F1 15 A"))
    found = size_job(made)
    assert found.settled
    assert by_id(found)["W2"][1] == "withstand"
    at_its_end = next(f for f in found.study.faults if f.terminal == "fan.+")
    assert at_its_end.clearing_s <= at_its_end.withstand_s


def test_what_no_size_can_reach_is_told():
    found = size_job(job(load="30 A", length=100, limit=0.01))
    assert [s.to for s in found.over] == ["fan"]
    assert "No size on offer" in sizes_text(found)


def test_no_other_choice_of_standard_sizes_has_less_copper():
    made = job(load="10 A", length=6, limit=3, fuse="15 A blade")
    found = size_job(made)
    assert [f.rating_a for f in found.fuses] == [15.0]
    rows = [row for row in _rows() if 1.5 <= row["area_mm2"] <= 16]
    least = {s.conductor: s.area_mm2 for s in found.conductors}
    best = None
    for picks in product(rows, repeat=3):
        areas = dict(zip(("W1", "W2", "W3"), (row["area_mm2"] for row in picks), strict=True))
        if areas["W2"] < 1.5 or sum(areas[w] * n for w, n in LENGTHS) >= sum(least[w] * n for w, n in LENGTHS) - 1e-9:
            continue
        tried = made
        for id, row in zip(("W1", "W2", "W3"), picks, strict=True):
            tried = with_size(tried, [id], f"{row['size']} mm2", row)
        done, _ = study(tried)
        fits = all(s.drop_ratio <= s.limit_ratio for s in done.supplies)
        carries = all((done.ampacities[id] or 0) >= 15 for id in areas)  # the fuse that fits 10 A is 15 A
        faults = {f.conductor: f for f in done.faults if f.clearing_s and f.withstand_s}
        stands = all(f.clearing_s <= f.withstand_s for f in faults.values())
        if fits and carries and stands:
            best = areas
    assert best is None


LENGTHS = (("W1", 0.2), ("W2", 6.0), ("W3", 6.0))


def _rows():
    from wiregen.catalogue import catalogue

    return [row for row in catalogue().rows("conductor") if row["family"] == "mm2"]


def test_sizes_print_and_go_to_machines():
    found = size_job(job(load="10 A", length=3, limit=3))
    assert "decided by" in sizes_text(found)
    assert '"wiregen-sizes/1"' in dumps(sizes_json(found))


@pytest.mark.parametrize("length", [1, 3, 9])
def test_the_same_job_gives_the_same_sizes(length):
    assert by_id(size_job(job(load="8 A", length=length, limit=3))) == by_id(
        size_job(job(load="8 A", length=length, limit=3))
    )


def test_a_signal_lead_is_sized_no_thinner_than_leads_are_made():
    """Trigger and signal leads are 0.5 to 1 mm2 (from memory): a few milliamps alone would allow a hair."""
    text = FED.format(fuse="40 A blade", load="10 A", length=3, limit=3)
    text += "charger dcdc 10 A, trigger-current 50 mA\nstart.+ --[T1 blue 1 mm2 2 m]-- dcdc.trigger\n"
    text += "start.- --[T2 black 1 mm2 2 m]-- dcdc.in.-\n"
    made, _ = read("sizes.wnet", text=text)
    assert made is not None
    assert by_id(size_job(made))["T1"] == ("0.5 mm2", "minimum")


def test_the_bond_to_the_body_bears_the_largest_fuse_of_its_battery():
    """A positive that chafes through on the body comes back through the bond, however little it carries by day."""
    text = """job "Bond" { system 12 V, limits iso13297, each insulation 105 degC }
    battery aux 100 Ah agm, resistance 5 mohm
    fuse F1 30 A strip, volts 58 V, breaks 3 kA
    fuse F2 5 A blade
    load fan 24 A
    lamp glow 5 W
    body frame bonded
    earth E1 on frame
    earth E2 on frame
    aux.+ --[W1 red 10 mm2 0.2 m]-- F1 --[W2 red 10 mm2 0.5 m]-- fan --[W3 black 10 mm2 0.5 m]-- aux.-
    aux.+ --[W4 red 1.5 mm2 0.2 m]-- F2 --[W5 red 1.5 mm2 2 m]-- glow --[W6 black 1.5 mm2 0.3 m]-- E2
    aux.- --[B1 black 16 mm2 1 m]-- E1
    """
    made, findings = read("bond.wnet", text=text)
    assert made is not None and not findings
    sizes = by_id(size_job(made))
    assert sizes["B1"] == sizes["W2"] == ("2.5 mm2", "fuse")
    assert sizes["W6"] == ("1 mm2", "minimum")
