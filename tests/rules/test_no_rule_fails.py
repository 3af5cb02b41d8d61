"""No rule stops on a mistake of its own, whatever is missing from a job."""

from __future__ import annotations

from pathlib import Path

import pytest
from planting import EXAMPLES

from wiregen.circuit import study
from wiregen.model import read
from wiregen.rules import check

FAULTY = sorted((EXAMPLES[0].parent / "faulty").glob("*.wnet"))


def failures(path: Path, text: str) -> list[str]:
    """What failed in the rules on that text; a job that cannot be read whole is judged as far as it goes."""
    job, _ = read(str(path), text=text)
    if job is None:
        return []
    computed, earlier = study(job)
    return [f.message for f in check(computed, earlier=earlier) if f.rule == "rule-failure"]


@pytest.mark.long
@pytest.mark.parametrize("path", [*EXAMPLES, *FAULTY], ids=lambda path: path.stem)
def test_a_job_with_any_one_line_taken_out(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    for i, line in enumerate(lines):
        if line.strip():
            assert failures(path, "".join(lines[:i] + lines[i + 1 :])) == [], line


@pytest.mark.parametrize("path", FAULTY[:2], ids=lambda path: path.stem)
def test_a_small_job_with_any_two_lines_taken_out(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    for i in range(len(lines)):
        rest = lines[:i] + lines[i + 2 :]
        assert failures(path, "".join(rest)) == [], lines[i : i + 2]
