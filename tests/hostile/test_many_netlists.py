"""Thousands of netlists through one `check --jobs 2`: each as if it were alone, the same bytes in any order."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest
from jobs import random_netlist
from measured import measured

DAY = "2026-11-25"


def checked(folder: Path, paths: list[str], jobs: int) -> tuple[bytes, float]:
    """The report on these netlists as JSON, and the largest process in MB."""
    (folder / "out.json").unlink(missing_ok=True)
    words = ["check", *paths, "--jobs", str(jobs), "--output", "json", "--today", DAY, "-o", "out.json"]
    found = measured(folder, words)
    assert found.code in (0, 1)
    return (folder / "out.json").read_bytes(), found.memory


def written(folder: Path, count: int) -> list[str]:
    """So many netlists, the sound random ones of `jobs.py`."""
    paths = [f"{n % 50:02}/{n:04}.wnet" for n in range(count)]
    for n, path in enumerate(paths):
        (folder / path).parent.mkdir(exist_ok=True)
        (folder / path).write_text(random_netlist(n, 2 + n % 12), encoding="utf-8")
    return sorted(paths)


@pytest.mark.parametrize("count", [40, pytest.param(5_000, marks=pytest.mark.long)])
def test_many_netlists(count: int, tmp_path: Path) -> None:
    paths = written(tmp_path, count)
    whole, memory = checked(tmp_path, ["."], 2)
    assert memory < 500
    shuffled = random.Random(1).sample(paths, count)
    assert checked(tmp_path, shuffled, 2)[0] == whole
    report = json.loads(whole)
    assert [each["path"] for each in report["files"]] == paths
    some = sorted(random.Random(2).sample(paths, min(count, 20)))
    alone = json.loads(checked(tmp_path, some, 1)[0])
    theirs = [f for f in report["findings"] if any(path in json.dumps(f) for path in some)]
    assert theirs == alone["findings"]
