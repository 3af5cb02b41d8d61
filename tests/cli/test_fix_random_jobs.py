"""`check --fix` on random jobs: nothing new comes, what is said to be fixed is gone, and all else stays."""

from collections import Counter
from pathlib import Path

import pytest
from jobs import random_netlist

from wiregen.cli import fix
from wiregen.cli.check import Task
from wiregen.cli.jobs import Looked, look
from wiregen.findings import Source
from wiregen.language import parse


def counted(looked: Looked) -> Counter[tuple[str, str | None]]:
    return Counter((f.rule, f.subject) for f in looked.findings)


def mended_holds(seed: int) -> int:
    """Mend one random job, assert what has to hold, and return how many fixes were kept."""
    text = random_netlist(seed, 8 + seed % 10)
    task = Task("job.wnet", (), "2026-11-25", "", False, None)
    mended = fix.mend(task, text)
    before, after = look("job.wnet", (), text=text), look("job.wnet", (), text=mended.after)
    kept = [line for line in mended.said if " is fixed: " in line]
    assert after.readable and counted(after) <= counted(before), (seed, mended.said)
    assert (mended.after == text) == (not kept)
    for line in kept:
        rule, subject = line.removeprefix("job.wnet: ").partition(" is fixed: ")[0].split(" on ")
        assert counted(after)[rule, subject] < counted(before)[rule, subject], (seed, line)
    old, new = text.splitlines(), mended.after.splitlines()
    assert len(old) == len(new)
    again = fix.mend(task, mended.after)
    assert again.after == mended.after, (seed, again.said)
    file, findings = parse(Source("job.wnet", mended.after))
    assert file.complete and not findings
    return len(kept)


@pytest.fixture(autouse=True)
def empty_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_a_few_random_jobs() -> None:
    assert sum(mended_holds(seed) for seed in range(12)) > 0


@pytest.mark.long
def test_many_random_jobs() -> None:
    assert sum(mended_holds(seed) for seed in range(12, 300)) > 50
