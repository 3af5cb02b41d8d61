"""Text -> job -> drawing -> netlist: what comes back out of the SVG is what went in, whatever the job."""

from __future__ import annotations

import pytest
from contract import breaches
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import random_netlist

from wiregen.circuit.network import build
from wiregen.circuit.study import Study
from wiregen.drawing import Options, compare, draw_job, rebuild
from wiregen.model import read
from wiregen.model.job import Job


def job_of(seed: int, parts: int) -> Job:
    job, mistakes = read("random.wnet", text=random_netlist(seed, parts))
    assert job is not None, mistakes
    return job


def bare_study(job: Job) -> Study:
    """A study with nothing computed: the drawing of a job needs no more."""
    return Study(job, build(job), (), (), (), {}, ())


def round_trip(seed: int, parts: int) -> None:
    job = job_of(seed, parts)
    svgs, told = draw_job(bare_study(job), (), Options())
    assert svgs is not None, [finding.message for finding in told][:5]
    for svg in svgs:
        assert breaches(svg) == []
    drawn = rebuild(svgs)
    assert drawn.parts == {part.id: part.kind for part in job.parts.values()}
    assert drawn.conductors == {c.id: (c.from_, c.to) for c in job.conductors.values()}
    links = {frozenset((link.a, link.b)) for link in job.links}
    assert {frozenset(link) for link in drawn.links} == links
    assert compare(job, drawn) == ()


@settings(max_examples=25)
@given(seed=st.integers(0, 10**6), parts=st.integers(2, 60))
def test_the_netlist_rebuilt_from_the_svg_is_the_netlist(seed: int, parts: int) -> None:
    round_trip(seed, parts)


@pytest.mark.long
@settings(max_examples=1000)
@given(seed=st.integers(0, 10**6), parts=st.integers(2, 200))
def test_the_netlist_rebuilt_from_the_svg_is_the_netlist_of_large_jobs_too(seed: int, parts: int) -> None:
    round_trip(seed, parts)


def test_a_job_that_is_not_the_one_drawn_is_told_apart() -> None:
    job, other = job_of(7, 12), job_of(8, 12)
    svgs, _ = draw_job(bare_study(job), (), Options())
    assert svgs is not None
    wrong = compare(other, rebuild(svgs))
    assert wrong
    assert {finding.rule for finding in wrong} == {"drawing-failure"}
    assert any("is not drawn" in finding.message for finding in wrong)
