"""What voltage-drop says of joints that are loose or corroded, and when it is not for them to be mended."""

from __future__ import annotations

from dataclasses import replace

from rule_cases import standard, studied

from wiregen.circuit import study
from wiregen.findings import Finding
from wiregen.rules import check

TEXT = standard("""
connector X1 50 A, poles + -, resistance 0 mohm
shunt SH 50 A, resistance 0.1 mohm
limit 5 % start to heater
start.+ -- F1 --[W1 red 16 mm2 0.5 m]-- X1.+ --[W2 red 16 mm2 0.5 m]-- heater.+
start.- -- SH --[W3 black 16 mm2 0.5 m]-- X1.- --[W4 black 16 mm2 0.5 m]-- heater.-
""")
SOUND = studied(TEXT).job


def worn(text: str = TEXT, /, **ohms: float) -> list[Finding]:
    """The findings with joints of so many milliohms; `X1_p` is X1.+, `heater_n` heater.-."""
    job = SOUND if text is TEXT else studied(text).job
    joints = {name.replace("_p", ".+").replace("_n", ".-"): ohm / 1000 for name, ohm in ohms.items()}
    return [
        f for f in check(study(replace(job, joints=joints))[0]) if f.rule in ("voltage-drop", "undersized-conductor")
    ]


def test_a_sound_joint_is_not_named() -> None:
    assert worn() == worn(X1_p=10) == []


def test_a_joint_that_decides_is_named_with_what_it_may_lose() -> None:
    (finding,) = worn(X1_p=60)
    assert (finding.rule, finding.subject) == ("voltage-drop", "X1")
    assert "joint at X1.+ alone loses 0.9 V" in finding.message
    assert "joint at X1.+ 0.9 V" in finding.reason
    assert finding.remedy == "make the joint at X1.+ anew: clean, crimped, tight, so that it loses at most 0.501 V"
    assert "joint at X1.+" not in finding.related


def test_on_a_conductor_and_on_a_part_s_terminal() -> None:
    (finding,) = worn(W1=60)
    assert finding.subject == "W1" and finding.remedy.startswith("make the joint at W1 anew")
    (finding,) = worn(heater_n=60)
    assert finding.subject == "heater" and finding.remedy.startswith("make the joint at heater.- anew")


def test_of_two_the_worse_is_named_where_all_would_be_well_without_them() -> None:
    (finding,) = worn(W1=40, heater_n=41)
    assert finding.subject == "heater" and "joint at heater.- alone" in finding.message
    (finding,) = worn(W1=41, heater_n=40)
    assert finding.subject == "W1"


def test_a_part_that_loses_too_much_without_the_joint_is_named_if_it_loses_more() -> None:
    text = TEXT.replace("resistance 0.1 mohm", "resistance 60 mohm")
    (finding,) = worn(text, X1_p=30)
    assert finding.subject == "SH"
    (finding,) = worn(text, X1_p=70)
    assert finding.subject == "X1", "of what loses too much the one that loses the most"


def test_thin_conductors_stay_thin_behind_a_small_joint() -> None:
    text = TEXT.replace("16 mm2 0.5 m", "2.5 mm2 2 m")
    assert [f.rule for f in worn(text, X1_p=1)] == ["undersized-conductor"]


def test_a_joint_that_is_all_that_is_too_much_decides_even_beside_conductors_that_lose_more() -> None:
    text = TEXT.replace("16 mm2 0.5 m", "6 mm2 2 m")
    assert worn(text) == []
    (finding,) = worn(text, X1_p=15)
    assert finding.subject == "X1" and finding.remedy.startswith("make the joint at X1.+ anew")


def test_inside_a_kit() -> None:
    text = standard("""
kit lead {
    ends plus minus
    connector X1 50 A, poles + -, resistance 0 mohm
    load oven 15 A
    plus --[W1 red 16 mm2 0.5 m]-- X1.+ --[W2 red 16 mm2 0.5 m]-- oven.+
    minus --[W3 black 16 mm2 0.5 m]-- X1.- --[W4 black 16 mm2 0.5 m]-- oven.-
}
lead U
limit 5 % start to U.oven
start.+ -- F1 -- U.plus
start.- -- U.minus
""")
    job = studied(text).job
    (finding,) = check(study(replace(job, joints={"U.X1.+": 0.06}))[0])
    assert (finding.subject, [use.name for use in finding.through]) == ("U.X1", ["U"])
