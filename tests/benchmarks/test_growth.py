"""How time and memory grow with the size of a job: `pytest -m benchmark -s tests/benchmarks`; whole processes."""

from __future__ import annotations

from pathlib import Path

import pytest
from growth import EMPTY, EXPONENT, MEMORY, grown

SIZES = (250, 500, 1000, 2000)


@pytest.mark.benchmark
@pytest.mark.parametrize("command", ["check", "study", "draw"])
def test_time_and_memory_grow_gently(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """From 250 to 2,000 parts, and no more memory than is said for each part."""
    with capsys.disabled():
        print()
        power, costs = grown(command, SIZES, tmp_path)
    assert power <= EXPONENT
    assert all(cost.memory <= EMPTY + MEMORY * parts for cost, parts in zip(costs, SIZES, strict=True))
