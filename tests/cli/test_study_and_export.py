"""`wiregen study --size` and `wiregen export --to spice`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from wiregen.cli import main

JOB = """job "Small" { system 12 V, limits iso13297 }
battery start 70 Ah agm
fuse F1 15 A blade
load fan 8 A
start.+ --[W1 red 4 mm2 0.2 m]-- F1 --[W2 red 4 mm2 3 m]-- fan --[W3 black 4 mm2 3 m]-- start.-
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "small.wnet"
    path.write_text(JOB)
    return path


def test_sizes_for_people_and_for_programs(job, capsys):
    assert main(["study", str(job), "--size"]) == 0
    assert "decided by" in capsys.readouterr().out
    assert main(["study", str(job), "--size", "--output", "json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["format"] == "wiregen-sizes/1"
    assert [row["id"] for row in document["conductors"]] == ["W1", "W2", "W3"]


def test_a_deck_is_written_beside_the_netlist(job, capsys):
    assert main(["export", str(job), "--to", "spice"]) == 0
    deck = job.with_suffix(".cir").read_text()
    assert deck.startswith("* Small, case parked-dark")
    assert main(["export", str(job), "--to", "spice", "-o", "-"]) == 0
    assert capsys.readouterr().out == deck


def test_a_case_that_is_not_there(job, capsys):
    assert main(["export", str(job), "--to", "spice", "--case", "flying"]) == 2
    assert "parked-dark" in capsys.readouterr().err
    assert not job.with_suffix(".cir").exists()
