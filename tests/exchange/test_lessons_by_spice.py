"""What a lesson shows of its sound job and of each of its planted faults, solved again by the reference solver."""

from pathlib import Path

import pytest
import test_spice
from by_ngspice import needs_ngspice

from wiregen.model import read
from wiregen.model.alter import altered

pytestmark = needs_ngspice
LESSONS = sorted((Path(__file__).resolve().parents[2] / "examples" / "lessons").glob("*.wnet"))


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_and_its_faults_agree(path: Path) -> None:
    job, said = read(str(path))
    assert job is not None and not said
    faults = [lesson for lesson in job.lessons if lesson.kind == "fault"]
    for name, steps in [("sound", ()), *((fault.name, fault.steps) for fault in faults)]:
        changed, problems = altered(job, steps)
        assert not problems
        compared, failed = test_spice.compare(changed, f"{path.stem}, {name}")
        assert compared > 0 and failed == 0, name
