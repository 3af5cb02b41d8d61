"""The description tells the circuit in words: every part and conductor, from source to load, none twice."""

from __future__ import annotations

from pathlib import Path

import pytest

from wiregen.layout.telling import describe
from wiregen.model import read

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.wnet"))
JOB = """\
job "Van"
battery start "Start battery" 12 V 75 Ah flooded
battery house 12 V 100 Ah agm
charger dcdc 18 A
fuse F1 30 A
fuse F2 25 A
load pump 5 A
start.+ --[ W1 red 6 mm2 0.2 m ]-- F1 --[ W2 red 6 mm2 4 m ]-- dcdc.in.+
start.- --[ B1 black 6 mm2 4 m ]-- dcdc.in.-
dcdc.out.+ --[ W3 red 6 mm2 0.3 m ]-- F2 --[ W4 red 6 mm2 0.2 m ]-- house.+
dcdc.out.- --[ B2 black 6 mm2 0.5 m ]-- house.-
house.+ --[ W5 red/white 2.5 mm2 2 m ]-- pump.+
house.- --[ B3 black 2.5 mm2 2 m ]-- pump.-
"""


def test_each_way_goes_from_its_source_to_what_it_feeds() -> None:
    job, _ = read("van.wnet", text=JOB)
    assert job is not None
    words = describe(job)
    assert (
        "From start.+ (Start battery) through W1 (red, 6 mm², 0.2 m), fuse F1 30 A, W2 (red, 6 mm², 4 m) to dcdc.in.+."
        in words
    )
    assert "From dcdc.out.+ through W3 (red, 6 mm², 0.3 m), fuse F2 25 A, W4 (red, 6 mm², 0.2 m) to house.+." in words
    assert "From house.+ through W5 (red/white, 2.5 mm², 2 m) to pump.+." in words
    assert "B3 (black, 2.5 mm², 2 m) from house.- to pump.-." in words
    assert words.endswith("The drawing is not a statement that the installation is safe.")


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_conductor_is_told_once_and_every_part_is_named(path: Path) -> None:
    job, _ = read(str(path))
    assert job is not None
    words = describe(job)
    for conductor in job.conductors.values():
        if conductor.named:
            assert words.count(f" {conductor.id} (") == 1, conductor.id
    for part in job.parts.values():
        assert (part.title or part.id) in words, part.id
