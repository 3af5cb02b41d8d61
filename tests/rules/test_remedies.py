"""A remedy can be carried out as it is written: nothing in it is impossible, and it mends what the finding says."""

from __future__ import annotations

import pytest
from rule_cases import found, standard

from wiregen.circuit import study
from wiregen.model import read
from wiregen.rules import judge

BLOCK = """fuse-block FB1 60 A, blade, volts 32 V, breaks 1 kA, wire red black {
    1: 10 A --[P1 N1 2.5 mm2 1.2 m]-- load fridge 4.5 A
}
"""
REMEDIES = [
    (
        "the fuse of a way stays in its block",
        BLOCK + "start.+ --[R1 red 6 mm2 0.7 m]-- FB1.in\nstart.- --[B1 black 6 mm2 0.7 m]-- FB1.-\n",
        "unfused-positive",
        "fit a fuse or breaker within 200 mm of start.+",
    ),
    (
        "a fuse that stands too far away is moved",
        "start.+ --[R1 red 6 mm2 3 m]-- F1 --[R2 red 6 mm2 1 m]-- pump.+\npump.- --[B1 black 6 mm2 4 m]-- start.-\n",
        "unfused-positive",
        "fit F1 within 200 mm of start.+",
    ),
    (
        "a battery's conductor on the wrong terminal may be wrong at either end",
        BLOCK + "start.+ -- F2 --[R1 red 6 mm2 0.7 m]-- FB1.in\nstart.+ --[B1 black 6 mm2 0.7 m]-- FB1.-\n",
        "reversed-polarity",
        "or from start.+ to a negative one",
    ),
    (
        "a smaller fuse for a thin return is one that is made",
        "start.+ -- F2 --[R1 red 10 mm2 1 m]-- pump.+\npump.- --[B1 black 2.5 mm2 1 m]-- start.-\n",
        "undersized-return",
        "fit F2 at 30 A or less",
    ),
    (
        "a sense lead on the wrong battery, where the charger does not say how it senses",
        """charger c1 18 A, profile agm, efficiency 90 %
start.+ -- F2 --[R1 red 10 mm2 1 m]-- c1.in.+
start.- --[B1 black 10 mm2 1 m]-- c1.in.-
c1.out.+ --[R2 red 10 mm2 1 m]-- F1 -- aux.+
c1.out.- --[B2 black 10 mm2 1 m]-- aux.-
c1.sense --[S1 grey 0.5 mm2 1 m]-- start.-
""",
        "misplaced-sense-lead",
        "end the lead on the post (which one, the maker says) of aux",
    ),
]


@pytest.mark.parametrize(
    ("text", "rule", "remedy"), [each[1:] for each in REMEDIES], ids=[each[0] for each in REMEDIES]
)
def test_a_remedy_can_be_carried_out(text: str, rule: str, remedy: str) -> None:
    (finding,) = [each for each in found(standard(text)) if each.rule == rule]
    assert remedy in finding.remedy
    assert "  " not in finding.remedy


def test_without_remedies_the_findings_are_the_same_and_no_size_is_sought(monkeypatch: pytest.MonkeyPatch) -> None:
    text = standard(
        "start.+ --[red 6 mm2 100 mm]-- F1 --[W2 red 0.5 mm2 6 m]-- heater.+\nheater.- --[black 4 mm2 6 m]-- start.-\n"
    )
    job, _ = read("job.wnet", text=text)
    assert job is not None
    computed = study(job)[0]
    full = judge(computed).findings
    thin = next(f for f in full if f.rule == "undersized-conductor")
    assert thin.remedy and thin.fix and thin.values["size_that_passes"]
    monkeypatch.setattr("wiregen.circuit.sizing._again", None)
    bare = judge(computed, remedies=False).findings
    assert next(f for f in bare if f.rule == "undersized-conductor").remedy == ""
    assert [(f.rule, f.subject, f.message, f.related, f.case, f.reason) for f in bare] == [
        (f.rule, f.subject, f.message, f.related, f.case, f.reason) for f in full
    ]
