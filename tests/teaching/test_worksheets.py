"""Worksheets: every blank has one answer, its sum comes out by the printed numbers, nothing moves, seeds are fair."""

from __future__ import annotations

import math
import re
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest
from jobs import random_netlist
from test_figures import LESSON, SVG, labels, places
from test_figures import computed as look_at

from wiregen.circuit import study as solve
from wiregen.circuit.study import CaseResult, Study
from wiregen.cli import main
from wiregen.findings import Finding
from wiregen.model import read
from wiregen.model.alter import altered
from wiregen.rules import check
from wiregen.teaching import Figure, figure_set
from wiregen.teaching.draft import Draft, Items
from wiregen.teaching.sum import QUANTITIES, Sum, carried_on, shown
from wiregen.teaching.sums import sums
from wiregen.teaching.worksheets import DRAWN, MANY, Sheets, shuffled, worksheets

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
JOBS = sorted(str(p) for p in [*EXAMPLES.glob("*.wnet"), *EXAMPLES.glob("lessons/*.wnet")])
SEEDS = range(1, 25)
PREFIX = {"m": 1e-3, "k": 1e3, "": 1.0}
NUMBER = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?)(?: (m|k)?(A|V|Ω/m|Ω|W)\b| (m|°C|K|%|mm²)(?![\w/]))?")


@cache
def computed(path: str) -> tuple[Study, tuple[Finding, ...]]:
    return look_at(path)


def reckoned(words: str) -> float:
    """What a printed sum comes to, in base units: read again as a class reads it, by other code than wrote it."""

    def plain(match: re.Match[str]) -> str:
        number, prefix, _, other = match.groups()
        return f"({float(number) * PREFIX[prefix or ''] * (0.01 if other == '%' else 1.0)!r})"

    text = NUMBER.sub(plain, words)
    for sign, python in (("×", "*"), ("−", "-"), ("²", "**2"), ("√", "root")):
        text = text.replace(sign, python)
    assert re.fullmatch(r"[\d.e()*/+\- root]+", text), (words, text)
    return float(eval(text, {"__builtins__": {}}, {"root": math.sqrt}))


def base_of(words: str) -> float:
    """A printed result in its base unit; per cent and degrees as they are printed."""
    number, _, unit = words.replace("−", "-").partition(" ")
    return float(number) * (PREFIX[unit[0]] if unit[:1] in "mk" and unit[1:] in ("A", "V", "Ω", "W", "Ω/m") else 1.0)


def all_sums(path: str) -> list[tuple[Study, CaseResult, Sum]]:
    study, _ = computed(path)
    return [(study, case, s) for case in study.cases for s in sums(study, case)]


def holds(s: Sum) -> None:
    """The numbers of a sum come to its stated result, to as many figures as are stated."""
    if not s.formula:
        return
    formula, line = s.worked
    numbers, *result = line.removeprefix("= ").partition(": ")[0].split(" = ")
    came = reckoned(numbers)
    if "..." not in formula and "≤" not in formula:
        letters = re.sub(r"[A-Za-zαηΔ][A-Za-z0-9]*|\d+", "N", formula.partition(" = ")[2])
        assert letters == NUMBER.sub("N", numbers).replace("(N)²", "N²"), (formula, numbers)
    assert formula == s.formula and result in ([s.result], [])
    if s.figures:
        unit = s.result.rpartition(" ")[2]
        base = came * (100.0 if unit == "%" else 1.0)
        step = 10.0 ** (math.floor(math.log10(abs(base_of(s.result)) or 1.0)) - s.figures + 1)
        assert abs(base - base_of(s.result)) <= 0.5000001 * step, (s.asked, numbers, s.result)


@pytest.mark.parametrize("path", JOBS, ids=lambda p: Path(p).stem)
def test_every_sum_comes_out_by_the_numbers_that_are_printed(path: str) -> None:
    found = all_sums(path)
    assert found
    for _, _, s in found:
        holds(s)


def quantity_of(study: Study, case: CaseResult, s: Sum) -> float | None:
    """What the study says of what a sum asks for, looked up by other code; None: it is checked elsewhere."""
    id, quantity = s.key
    conductor, flow, part = study.job.conductors.get(id), case.flows.get(id), case.parts.get(id, {})
    if conductor is not None and flow is not None:
        if quantity == "power":
            return abs((flow.current_a or 0.0) * (flow.drop_v or 0.0))
        if quantity == "length":
            return conductor.number("length")
        if quantity == "fault":
            return next(f.min_current_a for f in study.faults if f.conductor == id and f.terminal == conductor.to)
        if quantity == "ampacity":
            return study.ampacities[id]
        names = {
            "current": "current_a",
            "drop": "drop_v",
            "resistance": "resistance_ohm",
            "temperature": "temperature_c",
        }
        return abs(getattr(flow, names[quantity])) if quantity in names else None
    if id in study.job.parts:
        if quantity == "power" and "power_w" not in part:
            return abs((part["current_a"] or 0.0) * (part["drop_v"] or 0.0))
        names = {"current": "current_a", "drop": "drop_v", "voltage": "voltage_v", "power": "power_w"}
        key = "input_current_a" if quantity == "current" and "input_current_a" in part else names.get(quantity, "")
        return abs(part.get(key) or 0.0) if key else None
    return None


@pytest.mark.parametrize("path", JOBS, ids=lambda p: Path(p).stem)
def test_every_result_is_the_studys(path: str) -> None:
    for study, case, s in all_sums(path):
        said = quantity_of(study, case, s)
        if said is not None and s.figures:
            assert s.value == pytest.approx(said, rel=1e-9), s.asked
            assert s.answer == shown(said, s.base, s.figures)
        if s.key[1] == "size":
            assert s.answer == study.job.conductors[s.subject].word("size").replace("mm2", "mm²")
        if s.key[1] == "rating":
            assert s.answer == f"{study.job.parts[s.subject].number('rating'):g} A"
        if s.subject in study.job.circuits:
            supply = next(x for x in study.supplies if x.case == case.name and f"{x.from_} to {x.to}" in s.asked)
            drop = supply.drop_v if supply.nominal_drop_v is None else supply.nominal_drop_v
            assert drop is not None
            limit = (supply.limit_ratio or 0.0) * supply.of_v
            assert s.value == pytest.approx(
                {"drop": drop, "share": 100 * drop / supply.of_v, "left": limit - drop}[s.quantity]
            )


@pytest.mark.parametrize("path", JOBS, ids=lambda p: Path(p).stem)
def test_two_sums_for_one_quantity_have_one_answer(path: str) -> None:
    answers: dict[tuple[str, str, str], set[str]] = {}
    for _, case, s in all_sums(path):
        answers.setdefault((case.name, *s.key), set()).add(s.answer)
    assert not {key: said for key, said in answers.items() if len(said) > 1}


def test_a_fuse_that_is_to_be_chosen_fits_its_load_and_its_conductor_and_the_next_one_does_not() -> None:
    study, _ = computed(LESSON)
    case = next(c for c in study.cases if c.name == "driving")
    chosen = {s.subject: s for s in sums(study, case) if s.quantity == "choice"}
    assert set(chosen) == {"F1", "F2", "F3"}
    weakest = {"F1": "R2", "F2": "R4", "F3": "R7"}
    for id, s in chosen.items():
        bears = study.ampacities[weakest[id]]
        ratings = [float(n) for n in re.search(r"of ([\d. ]+) A", s.data()).group(1).split()]  # type: ignore[union-attr]
        assert bears is not None
        fitting = [each for each in ratings if (case.parts[id]["current_a"] or 0.0) <= each <= bears]
        assert s.answer == f"{max(fitting):g} A" and len(ratings) > len(fitting)


def test_the_size_is_told_by_the_table_that_is_printed() -> None:
    study, _ = computed(LESSON)
    case = next(c for c in study.cases if c.name == "driving")
    for s in (s for s in sums(study, case) if s.quantity == "size"):
        table = {float(a): b for a, b in re.findall(r"([\d.]+) mΩ/m is ([\d.]+ mm²)", s.data())}
        came = reckoned(s.worked[1].removeprefix("= ").partition(" = ")[0]) * 1e3
        ranked = sorted(table, key=lambda milliohm: abs(milliohm - came))
        assert table[ranked[0]] == s.answer
        assert abs(ranked[1] - came) > 5 * abs(ranked[0] - came)


def sheets(study: Study, findings: tuple[Finding, ...], seed: int | None = None) -> Sheets:
    made = worksheets(study, findings, seed)
    assert not made.problems and not made.missed
    assert len(made.sheets) == len(made.answers)
    return made


def asked_of(draft: Draft) -> list[str]:
    return [item.words[0] for block in draft.blocks if isinstance(block, Items) for item in block.rows]


@pytest.mark.parametrize("path", JOBS, ids=lambda p: Path(p).stem)
def test_no_blank_is_given_away_by_another_question(path: str) -> None:
    study, findings = computed(path)
    for seed in (None, 1, 2, 3, 4, 5, 6):
        for sheet, answer in zip(*sheets(study, findings, seed)[:2], strict=True):
            assert len(set(asked_of(sheet))) == len(asked_of(sheet))
            filled = [word for lines in answer.lines.values() for word in lines]
            assert len(filled) == len(sheet.blanks) and not sheet.lines
            for item in (i for b in sheet.blocks if isinstance(b, Items) for i in b.rows):
                assert item.words[0] not in [w for i in sheet.caption for w in i]
            assert set(sheet.blanks) == set(answer.blanks) and answer.solved and not sheet.solved


def test_the_tools_own_sheet_asks_one_of_each_kind_and_nothing_that_another_question_tells() -> None:
    study, findings = computed(LESSON)
    case = next(c for c in study.cases if c.name == "driving")
    by_question = {s.asked[:1].upper() + s.asked[1:] + ":": s for s in sums(study, case)}
    for seed in SEEDS:
        chosen = [by_question[q] for q in asked_of(sheets(study, findings, seed).sheets[0])]
        assert len(chosen) == len(DRAWN) <= MANY
        for s, (_, quantities) in zip(chosen, DRAWN, strict=True):
            assert s.quantity in quantities
        for one in chosen:
            assert all(one.key not in other.uses for other in chosen if other is not one)


def test_seeds_draw_other_sheets_and_the_same_seed_the_same() -> None:
    study, findings = computed(LESSON)
    drawn = {seed: sheets(study, findings, seed) for seed in SEEDS}
    assert len({tuple(asked_of(d.sheets[0])) for d in drawn.values()}) == len(SEEDS)
    again, found = computed(LESSON)
    for seed in SEEDS:
        assert sheets(again, found, seed).answers == drawn[seed].answers or [
            a.lines for a in sheets(again, found, seed).answers
        ] == [a.lines for a in drawn[seed].answers]
    assert len({d.answers[0].name for d in drawn.values()}) == len(SEEDS)


def test_the_draw_is_the_same_on_every_machine() -> None:
    """Held to the letter: a seed that is written on a sheet has to find its answers next year."""
    assert shuffled(["a", "b", "c", "d", "e"], 7, "x") == ["e", "a", "c", "b", "d"]


def test_nothing_moves_from_sheet_to_sheet_nor_from_the_other_figures_of_the_set() -> None:
    study, findings = computed(LESSON)
    made = figure_set(study, findings, only=("cases", "worksheets", "readings"), seeds=range(1, 6))
    first = places(made.figures[0].svg)
    assert len(made.answers) == 10
    for figure in (*made.figures, *made.answers):
        assert places(figure.svg) == first, figure.name
    one = figure_set(study, findings, only=("worksheets",), seeds=(3,))
    other = figure_set(study, findings, only=("worksheets",), seeds=(17,))
    assert places(one.figures[0].svg) == places(other.figures[0].svg)


def test_a_sheet_that_is_handed_out_has_a_line_for_a_name_and_the_answers_have_none() -> None:
    made = figure_set(*computed(LESSON), only=("worksheets", "readings"), seeds=(5,))
    for figures, has in ((made.figures, True), (made.answers, False)):
        for figure in figures:
            words = [t.text for t in ElementTree.fromstring(figure.svg).iter(f"{SVG}text")]
            assert ("Name" in words) == has, figure.name


def test_a_refusal_names_what_can_be_asked_for_the_same() -> None:
    text = Path(LESSON).read_text(encoding="utf-8") + "\nworksheet 9 { blank control share }\n"
    job, mistakes = read("t.wnet", text=text)
    assert job is not None and not mistakes
    study, _ = solve(job)
    (problem,) = worksheets(study, check(study)).problems
    assert problem.remedy == "name another case, or ask for it of input, output and lights"


def test_where_fields_in_the_diagram_are_too_low_for_a_pen_there_is_one_below_each_question() -> None:
    for path, lower in ((str(EXAMPLES / "truck-24v.wnet"), True), (LESSON, False)):
        (figure,) = figure_set(*computed(path), only=("worksheets",)).figures
        root = ElementTree.fromstring(figure.svg)
        panel = next(g for g in root.iter(f"{SVG}g") if g.attrib.get("class") == "panel")
        asked = [t.text for t in panel.iter(f"{SVG}text") if re.fullmatch(r"\(\d+\)", t.text or "")]
        assert len(blanks(figure.svg)) > 0
        assert (len(list(panel.iter(f"{SVG}rect"))) == len(asked)) == lower, path


def blanks(svg: str) -> dict[str, list[str]]:
    groups = (g for g in ElementTree.fromstring(svg).iter(f"{SVG}g") if g.attrib.get("class") == "blank")
    return {g.attrib["data-for"]: [t.text or "" for t in g.iter(f"{SVG}text")] for g in groups}


def test_what_is_handed_out_carries_no_answer(tmp_path: Path) -> None:
    assert main(["figures", LESSON, "-o", str(tmp_path), "--only", "worksheets,readings", "--seed", "1-3"]) == 0
    names = {p.name for p in tmp_path.iterdir()}
    assert {"figures.pdf", "answers.pdf", "figures.html", "answers.html", "index.md", "answers.md"} <= names
    handed = [p for p in tmp_path.glob("*.svg") if not p.name.startswith("answers-")]
    assert sorted(p.name for p in tmp_path.glob("answers-*.svg")) == [f"answers-{p.name}" for p in sorted(handed)]
    for sheet in handed:
        answer = tmp_path / f"answers-{sheet.name}"
        seed = re.search(r"-seed-0(\d)", sheet.name)
        assert seed and f"seed {seed.group(1)}" in sheet.read_text(encoding="utf-8")
        for id, words in blanks(answer.read_text(encoding="utf-8")).items():
            number, answered = words
            assert blanks(sheet.read_text(encoding="utf-8"))[id] == [number, answered.rpartition(" ")[2]]
    for path in ("index.md", "figures.html"):
        assert "nswers" not in (tmp_path / path).read_text(encoding="utf-8")
    told = (tmp_path / "answers.md").read_text(encoding="utf-8")
    assert told.count("seed-0") == 6
    from pypdf import PdfReader

    assert len(PdfReader(tmp_path / "figures.pdf").pages) == len(PdfReader(tmp_path / "answers.pdf").pages) == 6
    printed = "".join(page.extract_text() for page in PdfReader(tmp_path / "figures.pdf").pages)
    assert "nswers" not in printed and "No: point" not in printed


def test_answers_of_an_earlier_set_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("answers.pdf", "answers-02-worksheet-seed-01.svg", "answers-notes.txt"):
        (tmp_path / name).write_text("", encoding="utf-8")
    assert main(["figures", LESSON, "-o", str(tmp_path), "--only", "stages"]) == 0
    said = capsys.readouterr().err
    assert "answers.pdf is still there" in said and "answers-02-worksheet-seed-01.svg is still there" in said
    assert "notes" not in said and "sheets of answers" not in said


WRITTEN = """
worksheet 1 "Work it out" {
    case driving
    blank R2 drop power, F1 rating, input drop share
    ask "Which lead gets warmest?" answer "R1: it lies in the engine bay."
}
"""


def job_with(words: str) -> tuple[Study, tuple[Finding, ...]]:
    job, said = read("lesson.wnet", text=Path(LESSON).read_text(encoding="utf-8") + words)
    assert job is not None and not said
    study, _ = solve(job)
    return study, check(study)


def test_a_worksheet_asks_what_is_written_in_its_order() -> None:
    study, findings = job_with(WRITTEN)
    made = sheets(study, findings)
    assert asked_of(made.sheets[0]) == [
        "Drop along R2:", "Power lost in R2:", "Rating of F1:", "Drop, start to dcdc.in, there and back:",
        "Drop, start to dcdc.in, in per cent:", "Which lead gets warmest?",
    ]  # fmt: skip
    assert made.answers[0].lines == {"R2": ("190 mV", "4.58 W"), "F1": ("40 A",)}
    assert "R1: it lies in the engine bay." in made.answers[0].description
    assert "R1: it lies in the engine bay." not in made.sheets[0].description
    figures = figure_set(study, findings, only=("worksheets",))
    assert labels(figures.answers[0].svg)["R2"][0] == "R2"
    assert blanks(figures.figures[0].svg)["F1"] == ["3", "A"]


def test_an_answer_that_another_sum_takes_is_called_by_its_number() -> None:
    study, findings = job_with(
        "worksheet 1 {\n case driving\n blank input drop, input share, R2 power, R2 resistance\n}\n"
    )
    description = sheets(study, findings).sheets[0].description
    assert "The answer to 1 of 12 V" in description
    assert "24.04 A flow through the answer to 4" in description
    case = next(c for c in study.cases if c.name == "driving")
    known = {s.key: s for s in sums(study, case)}
    share = carried_on(known["input", "share"], {("input", "drop"): known["input", "drop"]})
    assert share is not None
    holds(share)


def test_two_blanks_that_need_each_other_are_refused() -> None:
    study, findings = job_with("worksheet 1 {\n case driving\n blank R2 drop current\n}\n")
    told = [p.message for p in worksheets(study, findings).problems]
    assert told == ["drop of R2 cannot be worked out on this sheet", "current of R2 cannot be worked out on this sheet"]


def test_a_seed_asks_the_same_of_other_parts() -> None:
    study, findings = job_with(WRITTEN)
    own = asked_of(sheets(study, findings).sheets[0])
    drawn = {seed: asked_of(sheets(study, findings, seed).sheets[0]) for seed in range(1, 9)}
    for asked in drawn.values():
        assert [re.sub(r"[A-Z]\d|(?<=, ).*(?=, )", "*", q) for q in asked] == [
            re.sub(r"[A-Z]\d|(?<=, ).*(?=, )", "*", q) for q in own
        ]
    assert len({tuple(asked) for asked in drawn.values()}) > 5


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("blank R2 curent", "curent of R2 cannot be asked for"),
        ("blank F1 length", "length of F1 cannot be asked for"),
        ("case parked, blank R2 current", "current of R2 cannot be worked out on this sheet"),
    ],
)
def test_what_cannot_be_asked_is_told_with_its_place_and_nothing_is_written(
    words: str, told: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    netlist = tmp_path / "lesson.wnet"
    netlist.write_text(
        f"{Path(LESSON).read_text(encoding='utf-8')}\nworksheet 1 {{\n    {words}\n}}\n", encoding="utf-8"
    )
    assert main(["figures", str(netlist), "-o", str(tmp_path / "set"), "--only", "worksheets"]) == 2
    said = capsys.readouterr().err
    assert told in said and re.search(r"lesson\.wnet 105:\d+", said)
    assert not (tmp_path / "set").exists()


def test_a_worksheet_on_a_planted_fault_is_solved_with_it() -> None:
    study, findings = job_with("worksheet 1 {\n case driving, fault C\n hide findings\n blank R2 current\n}\n")
    case = next(c for c in study.cases if c.name == "driving")
    planted = next(x for x in study.job.lessons if x.name == "C")
    faulty, _ = solve(altered(study.job, planted.steps)[0])
    now = next(c for c in faulty.cases if c.name == "driving").flows["R2"].current_a
    assert now is not None and abs(now - (case.flows["R2"].current_a or 0.0)) > 1.0
    made = sheets(study, findings)
    assert made.answers[0].lines == {"R2": (shown(now, "A", 3),)}
    assert "check" not in made.sheets[0].description
    told = sheets(*job_with("worksheet 1 {\n case driving, fault C\n blank R2 current\n}\n")).sheets[0]
    assert "The check says voltage-drop" in told.description


def test_a_worksheet_without_blanks_gets_some_by_a_seed_and_one_without_questions_in_any_case() -> None:
    study, findings = job_with('worksheet 1 {\n case driving\n ask "Why?" answer "So."\n}\n')
    assert asked_of(sheets(study, findings).sheets[0]) == ["Why?"]
    assert "F1: 40 A" in sheets(study, findings).sheets[0].description
    drawn = [asked_of(sheets(study, findings, seed).sheets[0]) for seed in (1, 2)]
    assert [len(asked) for asked in drawn] == [7, 7] and drawn[0] != drawn[1]
    study, findings = job_with("worksheet 1 {\n case parked\n}\n")
    assert len(asked_of(sheets(study, findings).sheets[0])) >= 4


def test_a_worksheet_may_show_a_stage() -> None:
    study, findings = job_with("worksheet 1 {\n stage 2, case driving\n blank R5 current\n}\n")
    looks = sheets(study, findings).sheets[0].looks
    assert looks["R5"].weight > 1 and looks["R1"].opacity < 0.5


def test_many_blanks_go_on_to_another_sheet() -> None:
    wanted = ", ".join(f"R{k} drop" for k in range(1, 8))
    study, findings = job_with(f"worksheet 1 {{\n case driving\n blank {wanted}, B1 drop\n}}\n")
    made = sheets(study, findings)
    assert [len(s.blanks) for s in made.sheets] == [6, 2]
    assert [s.name for s in made.sheets] == ["worksheet-1-1", "worksheet-1-2"]
    assert [b.number for s in made.sheets for b in s.blanks.values()] == [str(k) for k in range(1, 9)]


def test_many_questions_go_on_to_another_sheet_and_too_long_ones_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asks = "".join(f'    ask "Question {k}?" answer "Answer {k}."\n' for k in range(11))
    study, findings = job_with(f"worksheet 1 {{\n case driving\n blank R2 drop, B1 drop\n{asks}}}\n")
    made = sheets(study, findings)
    assert [len(asked_of(s)) for s in made.sheets] == [8, 5]
    assert [q for s in made.sheets for q in asked_of(s)][2:] == [f"Question {k}?" for k in range(11)]
    figures = figure_set(study, findings, only=("worksheets",))
    assert not crowded((*figures.figures, *figures.answers))
    netlist = tmp_path / "lesson.wnet"
    words = f'worksheet 1 {{\n ask "{"Why is that so? " * 300}" answer "x"\n}}\n'
    netlist.write_text(Path(LESSON).read_text(encoding="utf-8") + words, encoding="utf-8")
    assert main(["figures", str(netlist), "-o", str(tmp_path / "set"), "--only", "worksheets"]) == 2
    assert "there is no room for all words of the sheet Worksheet 1" in capsys.readouterr().err
    assert not (tmp_path / "set").exists()


@pytest.mark.parametrize("words", ["7-", "x", "9-3", "1-500", "-1", ""])
def test_a_slip_in_the_seed_is_told(words: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["figures", LESSON, f"--seed={words}"]) == 2
    assert "--seed" in capsys.readouterr().err


def crowded(figures: tuple[Figure, ...]) -> list[str]:
    """Words of a panel that leave it, or that lie on one another."""
    out = []
    for figure in figures:
        panel = next(g for g in ElementTree.fromstring(figure.svg).iter(f"{SVG}g") if g.attrib.get("class") == "panel")
        x0, y0, wide, high = (float(n) for n in panel.attrib["data-box"].split())
        boxes = []
        for words in panel.iter(f"{SVG}text"):
            x, y, long = (float(words.attrib.get(k, 0)) for k in ("x", "y", "textLength"))
            cap = float(words.attrib["font-size"]) * 0.7
            left = x - long if words.attrib.get("text-anchor") == "end" else x
            boxes.append((left, y - cap, left + long, y, words.text or ""))
            if left < x0 - 0.1 or left + long > x0 + wide + 0.1 or y - cap < y0 - 0.1 or y > y0 + high:
                out.append(f"{figure.name}: {words.text}")
        for k, a in enumerate(boxes):
            for b in boxes[k + 1 :]:
                if a[0] < b[2] - 0.1 and b[0] < a[2] - 0.1 and a[1] < b[3] - 0.1 and b[1] < a[3] - 0.1:
                    out.append(f"{figure.name}: {a[4]} on {b[4]}")
    return out


@pytest.mark.parametrize("path", JOBS, ids=lambda p: Path(p).stem)
def test_the_words_of_a_sheet_have_room(path: str) -> None:
    study, findings = computed(path)
    made = figure_set(study, findings, only=("worksheets", "readings"), seeds=(1,))
    assert made.figures
    assert not crowded((*made.figures, *made.answers))


def random_sheets(seeds: range) -> int:
    count = 0
    for seed in seeds:
        job, _ = read("random.wnet", text=random_netlist(seed, 4 + seed % 17))
        assert job is not None
        study, _ = solve(job)
        made = figure_set(study, check(study), only=("worksheets", "readings"), seeds=(seed,))
        assert not crowded((*made.figures, *made.answers)), seed
        for case in study.cases:
            for s in sums(study, case):
                holds(s)
        count += len(made.figures)
    return count


def test_random_jobs_give_sheets_whose_sums_come_out() -> None:
    assert random_sheets(range(8)) >= 8


@pytest.mark.long
def test_two_hundred_random_jobs_give_sheets_whose_sums_come_out() -> None:
    assert random_sheets(range(2000, 2200)) > 200


def test_what_can_be_asked_is_told_in_the_language_reference() -> None:
    text = (EXAMPLES.parent / "grammar" / "README.md").read_text(encoding="utf-8")
    for quantities in QUANTITIES.values():
        assert all(f"`{quantity}`" in text for quantity in quantities)
