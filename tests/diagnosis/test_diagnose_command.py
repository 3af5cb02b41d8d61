"""`wiregen diagnose`: what it prints, its JSON against its schema, its drawing, its questions, its complaints."""

from __future__ import annotations

import io
import json
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import jsonschema
import pytest

from wiregen.cli import main

ROOT = Path(__file__).parents[2]
JOB = str(ROOT / "examples" / "dual-battery.wnet")
TRUCK = str(ROOT / "examples" / "truck-24v.wnet")
SCHEMA = json.loads((ROOT / "wiregen" / "diagnosis" / "diagnosis.schema.json").read_text(encoding="utf-8"))
SVG = "{http://www.w3.org/2000/svg}"


def told(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(["diagnose", *words]) == 0
    return capsys.readouterr().out


def as_json(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    found = json.loads(told(capsys, *words, "--output", "json"))
    assert isinstance(found, dict)
    jsonschema.validate(found, SCHEMA)
    return found


def test_an_open_fuse_is_found(capsys):
    found = as_json(
        capsys, JOB, "--case", "night", "--reading", "F3 12.6 V", "--reading", "F3.in to start.- 12.7 V",
        "--reading", "X2.a.+ to X2.a.- 0 V",
    )  # fmt: skip
    first = found["faults"][0]
    assert first["alike"][0]["id"] == "open F3" and first["belief"] > 0.9
    total = (
        found["nothing"]
        + found["other"]
        + found["hidden"]["belief"]
        + sum(group["belief"] for group in found["faults"])
    )
    assert 0.9 < total <= 1.0 + 1e-6


def test_a_poor_joint_is_found_with_its_resistance(capsys):
    found = as_json(capsys, JOB, "--case", "night", "--reading", "X2.a.+ to X2.b.+ 0.52 V", "--reading", "R8 4.9 A")
    first = found["faults"][0]
    assert first["alike"][0]["id"] == "joint X2.+"
    assert first["resistance_ohm"] == pytest.approx(0.105, rel=0.15)
    assert found["found"] is True


def test_readings_of_the_sound_job_say_so(capsys):
    found = as_json(
        capsys, JOB, "--case", "night", "--reading", "fridge 12.52 V", "--reading", "R8 5.0 A",
        "--reading", "start 12.65 V", "--reading", "aux 12.82 V", "--reading", "F3 0.03 V", "--reading", "B4 -5.0 A",
    )  # fmt: skip
    assert all(group["belief"] < 0.3 for group in found["faults"])
    assert found["nothing"] + found["hidden"]["belief"] > 0.4


def test_readings_that_no_fault_explains_are_something_else(capsys):
    found = as_json(capsys, JOB, "--case", "night", "--reading", "start 3.1 V", "--reading", "aux 29 V")
    assert found["other"] > 0.9


@pytest.mark.parametrize("path", sorted((ROOT / "examples").glob("*.wnet")), ids=lambda p: p.stem)
def test_every_example_has_a_diagnosis_that_holds_the_schema(path, capsys):
    symptom = "charger does not charge"
    found = as_json(capsys, str(path), "--symptom", symptom)
    assert found["faults"] and found["next"] is not None
    assert {fault["kind"] for group in found["faults"] for fault in group["alike"]} <= {
        "open", "joint", "swapped", "wrong post", "dead", "set wrong",
    }  # fmt: skip


def test_a_symptom_alone_ranks(capsys):
    words = told(capsys, JOB, "--symptom", "fridge does not work", "--case", "night", "--reading", "aux 12.8 V")
    assert "symptom  fridge does not work" in words
    assert re.search(r"\d+ %  Fuse F3 is open", words)
    assert "Local codes" in words and "licensed" in words


def test_the_same_input_gives_the_same_bytes(capsys):
    words = (TRUCK, "--case", "night", "--reading", "X1.a.+ to X1.a.- 0 V")
    assert told(capsys, *words) == told(capsys, *words)


def test_the_drawing_marks_both_leads(capsys, tmp_path):
    target = tmp_path / "next.svg"
    told(capsys, JOB, "--reading", "X1.a.+ to X1.a.- 11.9 V", "--svg", str(target))
    root = ET.fromstring(target.read_bytes())
    marks = [g for g in root.iter(f"{SVG}g") if g.get("class") == "probe"]
    letters = {"".join(text.text or "" for text in mark.iter(f"{SVG}text")) for mark in marks}
    assert letters in ({"R", "B"}, {"A"})
    for mark in marks:
        discs = list(mark.iter(f"{SVG}circle"))
        at = mark.get("data-at")
        spots = [c for c in root.iter(f"{SVG}circle") if c.get("data-terminal") == at]
        assert not spots or (discs[0].get("cx"), discs[0].get("cy")) == (spots[0].get("cx"), spots[0].get("cy"))


# ---------------------------------------------------------------- one reading at a time


def asked(monkeypatch, capsys, answers: str, *words: str) -> str:
    monkeypatch.setattr("sys.stdin", io.StringIO(answers))
    return " ".join(told(capsys, *words).split())


def test_it_asks_for_one_reading_at_a_time(monkeypatch, capsys):
    words = asked(monkeypatch, capsys, "0\n\n12.6 V\n", JOB, "--case", "night")
    assert words.count("how many") >= 2
    assert "What it can be" in words or "Found" in words


def test_the_end_of_the_answers_ends_with_the_ranking(monkeypatch, capsys):
    words = asked(monkeypatch, capsys, "", JOB, "--case", "night")
    assert words.count("how many") == 1
    assert "Nothing is measured yet" in words


def test_an_answer_may_be_another_reading_a_symptom_or_nonsense(monkeypatch, capsys):
    answers = "what?\nsymptom fridge does not work\nF3.in to F3.out 12.6 V\nq\n"
    words = asked(monkeypatch, capsys, answers, JOB, "--case", "night")
    assert "Fuse F3 is open" in words
    assert "has no figure in V, mV, A or mA" in words


def test_the_leads_stay_while_the_vehicle_is_put_into_another_case(monkeypatch, capsys):
    words = asked(monkeypatch, capsys, "swings\n\n" * 3, JOB)
    assert "1. in driving (Engine running), " in words
    assert re.search(r"(leads|clamp) stays?; now in ", words)


def test_a_reading_names_its_case(capsys):
    found = as_json(capsys, JOB, "--case", "driving", "--reading", "X2.a.+ to X2.a.- 0.0 V in night")
    assert found["case"] == "driving" and found["tried_cases"] == ["driving", "night"]
    assert found["readings"][0]["case"] == "night"
    point = found["next"]
    assert {point["case"], *(each["case"] for each in point["also"])} <= {"driving", "night"}
    swings = as_json(capsys, JOB, "--case", "driving", "--reading", "dcdc.in swings")
    assert swings["readings"][0]["swings"] is True and "measured_voltage_v" not in swings["readings"][0]


def test_what_is_read_again_and_again_comes_to_an_end(monkeypatch, capsys):
    words = asked(monkeypatch, capsys, "nan\n" * 500, JOB, "--case", "night")
    assert "Local codes" in words


# ---------------------------------------------------------------- what cannot be understood


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--reading", "X9.a.+ to X1.a.- 3 V"], "X9.a.+"),
        (["--reading", "X1.a.+ to X1.a.- 3"], "no figure"),
        (["--reading", "X1.a.+ to X1.a.+ 3 V"], "both leads"),
        (["--reading", "R77 3 A"], "no conductor"),
        (["--reading", "R2 3 V 4"], "no figure"),
        (["--reading", "R2 99999 A"], "beyond"),
        (["--reading", ""], "no figure"),
        (["--symptom", "it smells of roses"], "not known"),
        (["--symptom", "fridge is purple"], "not known"),
        (["--case", "flying"], "no operating case flying"),
        (["--reading", "R2 3 A in flight"], "no operating case flight"),
    ],
)
def test_a_mistake_is_told_with_reason_and_remedy(words, said, capsys):
    assert main(["diagnose", JOB, *words]) == 2
    told = capsys.readouterr()
    assert not told.out
    assert said in told.err and "why" in told.err and "fix" in told.err


def test_an_unreadable_netlist_is_not_diagnosed(tmp_path, capsys):
    path = tmp_path / "x.wnet"
    path.write_text("battery start 70 Ah flooded, frobs 7\n", encoding="utf-8")
    assert main(["diagnose", str(path), "--reading", "start 12 V"]) == 2
    assert "nothing was computed" in capsys.readouterr().err


def test_a_job_without_a_case_says_so(tmp_path, capsys):
    path = tmp_path / "x.wnet"
    path.write_text(
        'job "J" { system 12 V }\nfuse F1 10 A\nfuse F2 10 A\nF1 --[W1 red 1 mm2 1 m]-- F2\n', encoding="utf-8"
    )
    assert main(["diagnose", str(path), "--reading", "F1 0 V"]) == 2
    assert "no operating case" in capsys.readouterr().err
