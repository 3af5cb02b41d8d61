"""A case without an answer names the part that cannot hold up, and says why: never just that nothing converged."""

from __future__ import annotations

import pytest
from jobs import random_netlist

from wiregen.circuit import study
from wiregen.model import read


def troubles(seed: int) -> list[tuple[str | None, str]]:
    job, _ = read("random.wnet", text=random_netlist(seed, 5 + seed % 40))
    assert job is not None
    done, _ = study(job)
    found = [(t.part, t.words) for case in done.cases if not case.solved for t in case.troubles]
    assert all(case.solved or case.troubles for case in done.cases)
    assert all(part in job.parts and part in words for part, words in found), found
    return found


@pytest.mark.parametrize("seed", [110, 267, 305])
def test_the_part_without_which_there_is_an_answer_is_named(seed):
    assert any("without it it has one" in words for _, words in troubles(seed))


@pytest.mark.parametrize("seed", [161, 196])
def test_else_the_part_where_the_search_ended_farthest_is_named(seed):
    assert any("least of all at" in words for _, words in troubles(seed))


@pytest.mark.long
def test_random_jobs_without_an_answer_name_a_part():
    assert sum(len(troubles(seed)) for seed in range(400)) > 100
