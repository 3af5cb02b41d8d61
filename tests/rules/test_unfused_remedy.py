"""The remedy of unfused-positive is one that helps."""

from __future__ import annotations

from wiregen.circuit import study
from wiregen.model import read
from wiregen.rules import check

BYPASS = """\
battery start 12 V 70 Ah agm
fuse F1 40 A strip
splice S1
load heater 5 A
start.+ --[W1 red 10 mm2 100 mm]-- F1 --[W2 red 10 mm2 1 m]-- S1 --[W3 red 10 mm2 1 m]-- heater.+
start.+ --[W5 red 10 mm2 1 m]-- S1
heater.- --[W4 black 10 mm2 1 m]-- start.-
"""


def test_a_fuse_that_is_gone_round_is_not_told_to_move() -> None:
    """F1 stands at the post already; once the remedy was to fit it there."""
    job, mistakes = read("job.wnet", data=BYPASS.encode())
    assert job is not None and not mistakes
    (finding,) = (f for f in check(study(job)[0]) if f.rule == "unfused-positive")
    assert finding.subject == "W5" and "round F1" in finding.message
    assert finding.remedy.startswith("fit a fuse or breaker within 200 mm of start.+")
