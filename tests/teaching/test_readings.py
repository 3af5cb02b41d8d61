"""Reading practice: one fault alone fits, every reading is the study's, every explanation is true."""

from __future__ import annotations

import re
from functools import cache
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest
from jobs import random_netlist
from test_figures import LESSON, SVG
from test_figures import computed as look_at

from wiregen.circuit import study as solve
from wiregen.circuit.study import CaseResult, Study
from wiregen.model import read
from wiregen.model.alter import altered
from wiregen.teaching import Figure, figure_set
from wiregen.teaching.draft import Draft, Items, Table
from wiregen.teaching.readings import CHOICE, TELLS, Exercise, exercise, reading_sheets

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
JOBS = sorted(str(p) for p in [*EXAMPLES.glob("*.wnet"), *EXAMPLES.glob("lessons/*.wnet")])
SEEDS = range(1, 13)


@cache
def computed(path: str) -> Study:
    return look_at(path)[0]


def drawn(study: Study, seed: int | None = None) -> Exercise:
    made = exercise(study, seed)
    assert made is not None
    return made


def printed(volts: float | None) -> str:
    return "nothing" if volts is None else f"{volts + 0.0:.2f} V".replace("-0.00", "0.00").replace("-", "−")


def volts_of(words: str) -> float:
    return float(words.removesuffix(" V").replace("−", "-"))


def apart(one: str, other: str) -> bool:
    """Whether a class sees two readings as different ones."""
    if "nothing" in (one, other):
        return one != other
    return abs(volts_of(one) - volts_of(other)) >= TELLS - 1e-9


def table_of(draft: Draft) -> Table:
    return next(block for block in draft.blocks if isinstance(block, Table))


def items_of(draft: Draft) -> dict[str, tuple[str, ...]]:
    return {item.number: item.words for block in draft.blocks if isinstance(block, Items) for item in block.rows}


def solved_again(study: Study, made: Exercise, key: str) -> CaseResult:
    """The whole study of the job with a fault in it, as `study` has it; the exercise solves one case alone."""
    suspect = next(m.suspect for m in made.choice if m.suspect.key == key)
    job, problems = altered(study.job, suspect.steps)
    assert not problems
    return next(c for c in solve(job)[0].cases if c.name == made.case.name)


@pytest.mark.parametrize("path", JOBS, ids=lambda p: Path(p).stem)
def test_one_fault_alone_fits_the_readings(path: str) -> None:
    study = computed(path)
    for seed in (None, 1, 2):
        made = drawn(study, seed)
        assert 2 <= len(made.choice) <= CHOICE
        every = [made.sound, *(m.volts for m in made.choice)]
        for one, other in combinations(every, 2):
            assert any(apart(printed(one[t]), printed(other[t])) for t in made.points), seed


@pytest.mark.parametrize("path", [p for p in JOBS if "camper" not in p], ids=lambda p: Path(p).stem)
def test_readings_are_those_of_the_whole_study_of_the_faulty_job(path: str) -> None:
    study = computed(path)
    made = drawn(study, 5)
    sheet, answer = (drafts[0] for drafts in reading_sheets(study, 5)[:2])
    sound = next(c for c in study.cases if c.name == made.case.name)
    faulty = solved_again(study, made, made.hidden.suspect.key)
    shown_, beside = table_of(sheet).rows, table_of(answer).rows
    assert len(shown_) == len(beside) == len(made.points) >= 2
    black = faulty.voltages[made.black]
    assert black is not None
    for terminal, (where, now), (_, before, now_too, _) in zip(made.points, shown_, beside, strict=True):
        assert where.endswith(terminal) and now == now_too
        volts, was = faulty.voltages[terminal], sound.voltages[terminal]
        assert was is not None and before == printed(was - (sound.voltages[made.black] or 0.0))
        if now != "nothing":
            assert volts is not None and now == printed(volts - black)
        else:
            assert volts is None or len(faulty.references) > 1


def test_the_answer_speaks_against_every_other_fault_by_a_reading_that_it_would_have() -> None:
    study = computed(LESSON)
    for seed in SEEDS:
        made = drawn(study, seed)
        answer = reading_sheets(study, seed).answers[0]
        said = items_of(answer)
        letters = "ABCDEFGH"[: len(made.choice)]
        right = letters[[m.suspect.key for m in made.choice].index(made.hidden.suspect.key)]
        assert said["(1)"][0] == f"{right}: {made.hidden.suspect.words}"
        for letter, other in zip(letters, made.choice, strict=True):
            if letter == right:
                assert letter not in said
                continue
            told = re.fullmatch(r"No: point (\d) would read (.+), not (.+)\.", said[letter][0])
            assert told
            terminal = made.points[int(told.group(1)) - 1]
            assert told.group(2) == printed(other.volts[terminal])
            assert told.group(3) == printed(made.hidden.volts[terminal]) != told.group(2)


def test_each_reading_is_explained_by_its_difference() -> None:
    study = computed(LESSON)
    for seed in SEEDS:
        for _, before, now, why in table_of(reading_sheets(study, seed).answers[0]).rows:
            if now == "nothing":
                assert why == "cut off"
                continue
            gap = volts_of(now) - volts_of(before)
            told = re.fullmatch(r"([\d.]+) V (less|more)", why)
            if told:
                assert gap == pytest.approx(float(told.group(1)) * (1 if told.group(2) == "more" else -1), abs=1e-6)
            else:
                assert why == ("as sound" if abs(gap) < 0.03 else "wrong way round")


def test_a_bad_joint_takes_what_the_sum_says() -> None:
    study = computed(LESSON)
    count = 0
    for seed in range(1, 25):
        made = drawn(study, seed)
        for words in items_of(reading_sheets(study, seed).answers[0])["(1)"][1:]:
            told = re.fullmatch(r"It takes U = I × R = ([\d.]+) A × ([\d.]+) mΩ = ([\d.]+) (m?)V\.", words)
            if told:
                amps, milliohm, volts = (float(told.group(k)) for k in (1, 2, 3))
                assert amps * milliohm / 1000 == pytest.approx(volts * (1e-3 if told.group(4) else 1.0), rel=6e-3)
                ohm = next(v.measure.value for s in made.hidden.suspect.steps for v in s.values if v.measure)
                assert milliohm == pytest.approx(ohm * 1000)
                count += 1
    assert count >= 3


def test_the_voltage_asked_for_is_the_difference_of_two_readings_and_the_studys() -> None:
    count = 0
    for seed in SEEDS:
        study = computed(LESSON)
        made = drawn(study, seed)
        words = items_of(reading_sheets(study, seed).answers[0]).get("(2)")
        if words is None:
            continue
        plus, minus, volts = re.fullmatch(r"What is the voltage from (\S+) to (\S+)\? (.+)", words[0]).groups()  # type: ignore[union-attr]
        high, low = made.hidden.volts[plus], made.hidden.volts[minus]
        assert high is not None and low is not None and volts == printed(high - low)
        again = f"({printed(low)})" if low < -0.005 else printed(low)
        assert words[1] == f"{printed(high)} − {again} = {volts}"
        count += 1
    assert count >= 3


def test_seeds_hide_other_faults_and_the_same_seed_the_same() -> None:
    study = computed(LESSON)
    made = {seed: drawn(study, seed) for seed in SEEDS}
    assert len({m.hidden.suspect.key for m in made.values()}) >= 6
    again = look_at(LESSON)[0]
    for seed in SEEDS:
        assert reading_sheets(again, seed).answers == reading_sheets(study, seed).answers
    assert drawn(study).hidden.suspect.key.startswith("fault ")


def test_a_fault_of_the_command_line_is_the_hidden_one() -> None:
    study, _ = look_at(LESSON, "joint X1.- 60 mohm")
    hidden = drawn(study).hidden.suspect
    assert hidden.key == "fault given-1" and hidden.words == "A bad joint at X1.- adds 60 mΩ"


def test_nothing_steady_is_asked_of_a_fault_that_opens_a_fuse() -> None:
    """A fuse that would open, a case that does not settle: no meter shows such figures for long."""
    for seed in SEEDS:
        for measured in drawn(computed(LESSON), seed).choice:
            for part in computed(LESSON).job.parts.values():
                rating = part.number("rating")
                for contact in part.contacts if part.kind == "fuse" and rating else ():
                    assert abs(measured.case.contacts.get((part.id, contact.name)) or 0.0) <= 1.3 * (rating or 0.0)


def hidden_words(figure: Figure) -> list[str]:
    """Labels that the disc of a point lies on, and points that are not drawn or lie on one another."""
    root = ElementTree.fromstring(figure.svg)
    groups = list(root.iter(f"{SVG}g"))
    discs = {}
    for group in groups:
        if group.attrib.get("class") == "point":
            circle = next(group.iter(f"{SVG}circle"))
            discs[group.attrib["data-terminal"]] = tuple(float(circle.attrib[k]) for k in ("cx", "cy", "r"))
    out = []
    for (one, a), (other, b) in combinations(discs.items(), 2):
        if (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 < (a[2] + b[2]) ** 2:
            out.append(f"{one} on {other}")
    for group in groups:
        if group.attrib.get("class") == "label":
            x, y, wide, high = (float(n) for n in group.attrib["data-box"].split())
            for terminal, (cx, cy, r) in discs.items():
                near = min(max(cx, x), x + wide), min(max(cy, y), y + high)
                if (near[0] - cx) ** 2 + (near[1] - cy) ** 2 < (0.95 * r) ** 2:
                    out.append(f"{terminal} on {group.attrib['data-for']}")
    return out


@pytest.mark.parametrize("path", JOBS, ids=lambda p: Path(p).stem)
def test_points_are_all_drawn_and_hide_no_name(path: str) -> None:
    study = computed(path)
    figure = figure_set(study, (), only=("readings",), seeds=(2,)).figures[0]
    made = drawn(study, 2)
    found = re.findall(r'class="point" data-terminal="([^"]+)"', figure.svg)
    assert sorted(found) == sorted((made.black, *made.points))
    assert not hidden_words(figure)
    root = ElementTree.fromstring(figure.svg)
    width, height = (float(n) for n in root.attrib["viewBox"].split()[2:])
    for group in root.iter(f"{SVG}g"):
        if group.attrib.get("class") == "point":
            x, y, r = (float(next(group.iter(f"{SVG}circle")).attrib[k]) for k in ("cx", "cy", "r"))
            assert r < x < width - r and r < y < height - r, group.attrib["data-terminal"]


def test_random_jobs_give_readings_that_one_fault_alone_fits() -> None:
    count = 0
    for seed in range(3000, 3012):
        job, _ = read("random.wnet", text=random_netlist(seed, 4 + seed % 17))
        assert job is not None
        study, _ = solve(job)
        made = exercise(study, seed)
        if made is None:
            continue
        told = [tuple(printed(m.volts[t]) for t in made.points) for m in made.choice]
        assert len(set(told)) == len(told)
        count += 1
    assert count >= 6


@pytest.mark.parametrize("part", ["light", "aux", "ind"])
def test_a_fault_that_leaves_a_part_out_has_no_point_on_it(part: str) -> None:
    made = figure_set(*look_at(LESSON, f"leave-out {part}"), only=("readings",), seeds=range(1, 7))
    assert not made.problems and len(made.figures) == 6
    for figure in made.figures:
        assert f"{part} is left out" not in figure.description or f"  {part}." not in figure.description, figure.name
