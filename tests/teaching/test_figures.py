"""Teaching figures: nothing moves within a set, what is shown is the study's, a fault that is not found is loud."""

from __future__ import annotations

import base64
import re
import shutil
import subprocess
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from jobs import random_netlist

from wiregen.circuit import study as solve
from wiregen.circuit.stages import arrivals, bare_ends
from wiregen.circuit.study import Study
from wiregen.cli import main
from wiregen.cli.jobs import look
from wiregen.findings import Finding
from wiregen.layout.shown import figure as sized
from wiregen.model import read
from wiregen.rules import check
from wiregen.teaching import Figure, figure_set, index, stepper
from wiregen.teaching.captions import amps, watts
from wiregen.teaching.case_figures import case_drafts, losses
from wiregen.teaching.order import proposed
from wiregen.teaching.plant import given
from wiregen.teaching.stage_figures import LIVE, stage_drafts, unstaged

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LESSON = str(EXAMPLES / "lessons" / "four-steps.wnet")
SOUND = sorted(str(p) for p in EXAMPLES.glob("*.wnet"))
SVG = "{http://www.w3.org/2000/svg}"


def computed(path: str, *faults: str) -> tuple[Study, tuple[Finding, ...]]:
    looked = look(path, (), more=given(faults))
    assert looked.study is not None
    return looked.study, looked.findings


@pytest.fixture(scope="module")
def lesson() -> tuple[Study, tuple[Figure, ...]]:
    study, findings = computed(LESSON)
    made = figure_set(study, findings)
    assert not made.missed and not made.problems
    return study, made.figures


def places(svg: str) -> dict[str, str]:
    """Every part, terminal, conductor, link, junction and label with where it is."""
    out = {}
    for at in ElementTree.fromstring(svg).iter():
        if "data-part" in at.attrib:
            out[f"part {at.attrib['data-part']}"] = at.attrib["data-box"]
        elif "data-terminal" in at.attrib and at.tag == f"{SVG}circle":
            out[f"terminal {at.attrib['data-terminal']}"] = f"{at.attrib['cx']} {at.attrib['cy']}"
        elif "data-from" in at.attrib:
            run = next(p for p in at.iter(f"{SVG}path") if p.attrib.get("class") == "run")
            out[f"run {at.attrib['data-from']} {at.attrib['data-to']}"] = run.attrib["d"]
        elif at.attrib.get("class") == "label":
            out[f"label {at.attrib['data-for']}"] = at.attrib["data-box"]
    return out


def moved(figures: tuple[Figure, ...]) -> list[str]:
    """The figures in which something stands elsewhere than in the first; plots have none of it at all."""
    first = places(figures[0].svg)
    return [f.name for f in figures if places(f.svg) != ({} if "-race-" in f.name else first)]


def test_nothing_moves_within_a_set(lesson: tuple[Study, tuple[Figure, ...]]) -> None:
    study, figures = lesson
    first = places(figures[0].svg)
    for id in study.job.parts:
        assert f"part {id}" in first
    for conductor in study.job.conductors.values():
        assert f"run {conductor.from_} {conductor.to}" in first
        assert f"label {conductor.id}" in first
    assert not moved(figures)


def test_a_lesson_has_twelve_figures_or_more_each_told_in_words(lesson: tuple[Study, tuple[Figure, ...]]) -> None:
    _, figures = lesson
    assert len(figures) >= 12
    assert len({f.name for f in figures}) == len(figures)
    assert [f.name for f in figures] == sorted(f.name for f in figures)
    for figure in figures:
        root = ElementTree.fromstring(figure.svg)
        assert root.findtext(f"{SVG}desc") == figure.description
        assert figure.title in figure.description or figure.name == "01-whole"
        assert figure.caption


def test_no_line_runs_under_the_words_beside_it(lesson: tuple[Study, tuple[Figure, ...]]) -> None:
    thick = figure_set(*computed(str(EXAMPLES / "lessons" / "jump-start.wnet")), only=("stages", "cases", "shorts"))
    for figure in (*lesson[1], *thick.figures):
        root = ElementTree.fromstring(figure.svg)
        letters = min(float(t.attrib["font-size"]) for g in root.iter(f"{SVG}g") if g.attrib.get("class") == "label"
                      for t in g.iter(f"{SVG}text")) if "-race-" not in figure.name else 1.0  # fmt: skip
        boxes = [
            [float(n) for n in group.attrib["data-box"].split()]
            for group in root.iter(f"{SVG}g")
            if group.attrib.get("class") == "label"
        ]
        for line in root.iter(f"{SVG}polyline"):
            if line.attrib.get("class") != "edge":
                continue
            half = float(line.attrib["stroke-width"]) / 2
            points = [[float(n) for n in at.split(",")] for at in line.attrib["points"].split()]
            for (ax, ay), (bx, by) in pairwise(points):
                for x, y, wide, high in boxes:
                    dx = max(x - max(ax, bx), min(ax, bx) - (x + wide), 0.0)
                    dy = max(y - max(ay, by), min(ay, by) - (y + high), 0.0)
                    assert (dx * dx + dy * dy) ** 0.5 >= half - 0.06 * letters, (
                        figure.name
                    )  # boxes have that much air in them


def test_dangers_of_the_job_itself_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = tmp_path / "t.wnet"
    wiring = "load a 5 A\nb.+ --[W1 red 4 mm2 2 m]-- a.+\nb.- --[W2 black 4 mm2 2 m]-- a.-\n"
    job.write_text(f"battery b 70 Ah agm\n{wiring}", encoding="utf-8")
    assert main(["figures", str(job), "--only", "stages"]) == 0
    assert "finds 1 danger that no figure tells of (unfused-positive on W1)" in capsys.readouterr().err


def test_what_the_stages_forget_is_told() -> None:
    text = Path(LESSON).read_text(encoding="utf-8")
    assert ", rest" not in text
    whole, _ = solve(read("t.wnet", text=text)[0] or pytest.fail())
    assert not unstaged(whole.job)
    forgot, _ = solve(read("t.wnet", text=re.sub(r"(?m)^stage 4.*\n", "", text))[0] or pytest.fail())
    (words,) = unstaged(forgot.job)
    assert words.startswith("no stage brings ") and "R6" in words and "rest" in words


def test_labels_can_be_read_from_the_back_of_a_room(lesson: tuple[Study, tuple[Figure, ...]]) -> None:
    labels_can_be_read(lesson[1])


def labels_can_be_read(figures: tuple[Figure, ...]) -> None:
    for figure in figures:
        root = ElementTree.fromstring(figure.svg)
        width, height = (float(n) for n in root.attrib["viewBox"].split()[2:])
        assert width / height == pytest.approx(16 / 9, rel=1e-3)
        for group in root.iter(f"{SVG}g"):
            if group.attrib.get("class") == "label":
                for words in group.iter(f"{SVG}text"):
                    assert float(words.attrib["font-size"]) >= height / 40, words.text


def no_words_leave(figures: tuple[Figure, ...]) -> None:
    for figure in figures:
        root = ElementTree.fromstring(figure.svg)
        width, height = (float(n) for n in root.attrib["viewBox"].split()[2:])
        panel = next(g for g in root.iter(f"{SVG}g") if g.attrib.get("class") == "panel")
        for words in panel.iter(f"{SVG}text"):
            x, y, long = (float(words.attrib.get(k, 0)) for k in ("x", "y", "textLength"))
            left = x - long if words.attrib.get("text-anchor") == "end" else x
            assert left >= 0 and left + long <= width and 0 < y < height, (figure.name, words.text)


def test_currents_and_losses_shown_are_the_studys(lesson: tuple[Study, tuple[Figure, ...]]) -> None:
    study, figures = lesson
    for case in study.cases:
        shown = next((f for f in figures if f.name.endswith(f"-case-{case.name}")), None)
        lost = next((f for f in figures if f.name.endswith(f"-loss-{case.name}")), None)
        if shown is None or lost is None:
            continue
        currents, powers = labels(shown.svg), labels(lost.svg)
        for id, flow in case.flows.items():
            assert flow.current_a is not None and flow.drop_v is not None
            assert currents[id] == [id, amps(flow.current_a)] or abs(flow.current_a) < 0.005
            power = abs(flow.current_a * flow.drop_v)
            assert powers[id] == [id, watts(power)] or power < 0.005
    assert sum(f.name.count("-case-") for f in figures) == 2


def labels(svg: str) -> dict[str, list[str]]:
    groups = (g for g in ElementTree.fromstring(svg).iter(f"{SVG}g") if g.attrib.get("class") == "label")
    return {g.attrib["data-for"]: [t.text or "" for t in g.iter(f"{SVG}text")] for g in groups}


def test_arrows_go_the_way_of_the_current(lesson: tuple[Study, tuple[Figure, ...]]) -> None:
    study, _ = lesson
    case = next(c for c in study.cases if c.name == "driving")
    draft = next(d for d in case_drafts(study) if d.name == "case-driving")
    for id, forward in draft.arrows.items():
        current = case.flows[id].current_a
        assert current is not None and forward == (current > 0)
    assert draft.arrows["R2"] and not draft.arrows["B1"]


def test_power_lost_is_what_sources_give_and_nobody_takes() -> None:
    """Energy is kept: in a case of batteries, cables and loads the losses are source power less load power."""
    study, _ = computed(LESSON)
    case = next(c for c in study.cases if c.name == "parked")
    given_w = -(case.parts["aux"]["power_w"] or 0.0)
    taken_w = case.parts["light"]["power_w"] or 0.0
    assert sum(losses(study.job, case).values()) == pytest.approx(given_w - taken_w, rel=1e-6)


def test_where_the_volts_go_adds_up_to_the_drop_of_the_study() -> None:
    """Each piece of the way by current and drop of the case, the last sum the whole, there and back apart."""
    study, findings = computed(str(EXAMPLES / "lessons" / "voltage-drop.wnet"))
    made = {f.name[3:]: f for f in figure_set(study, findings, only=("cases",)).figures}
    pump = made["drop-2-pump"]
    case = next(c for c in study.cases if c.name == "both")
    supply = next(s for s in study.supplies if s.case == "both" and s.to == "pump")
    assert supply.drop_v is not None
    assert f"{sized(supply.drop_v, 'V')} in all" in pump.caption and "5 % is allowed" in pump.caption
    said = labels(pump.svg)
    for id in study.job.conductors:
        drop = case.flows[id].drop_v
        assert drop is not None
        assert said[id] == ([id, sized(drop, "V")] if id in supply.path else [id]), id
    rows = re.findall(r"(\w+) ([\d.]+) (m?V), ([\d.]+) V so far", pump.description)
    sizes = [float(drop) * (1e-3 if unit == "mV" else 1.0) for _, drop, unit, _ in rows]
    assert float(rows[-1][3]) == pytest.approx(supply.drop_v, abs=5e-4)
    assert sum(sizes) == pytest.approx(supply.drop_v, abs=2e-3)
    out, back = ("R1", "F1", "R2", "X1", "R3", "R4"), ("B3", "B2", "B1")
    assert tuple(name for name, *_ in rows) == (*out, *back)
    lost = [sized(sum(supply.losses[id] for id in leg), "V") for leg in (out, back)]
    assert f"{lost[0]} on the way there, {lost[1]} on the way back" in pump.caption


def test_a_step_shows_new_in_strong_there_in_normal_and_later_in_pale() -> None:
    study, _ = computed(LESSON)
    _, one, two, *_ = stage_drafts(study)
    assert one.looks["R2"].weight > 1 and one.looks["R2"].opacity == 1
    assert two.looks["R2"].weight == 1 and two.looks["R2"].opacity == 1
    assert one.looks["aux"].opacity < 0.5 and two.looks["aux"].weight > 1
    assert one.lines["F2"] == ("out",) and two.lines["F2"] == ("in",) and two.lines["F1"] == ("out",)
    assert not [id for id, seen in one.looks.items() if seen.halo]
    assert two.looks["R4"].halo == LIVE and not two.looks["R3"].halo


@pytest.mark.parametrize("path", SOUND, ids=lambda p: Path(p).stem)
def test_the_order_worked_out_leaves_no_live_end_bare_and_nothing_out(path: str) -> None:
    from dataclasses import replace

    study, _ = computed(path)
    stages = proposed(study)
    job = replace(study.job, stages=stages)
    when = arrivals(job)
    assert not bare_ends(job, study.network, when)
    assert max(when.comes.values()) < len(stages)
    named = {id for stage in stages for id in stage.members}
    assert named <= {*job.parts, *job.conductors}


@pytest.mark.parametrize("path", [*SOUND, LESSON], ids=lambda p: Path(p).stem)
def test_any_sound_job_gives_a_set(path: str) -> None:
    study, findings = computed(path)
    made = figure_set(study, findings)
    assert len(made.figures) >= 4
    no_words_leave(made.figures)
    assert not moved(made.figures)


def random_sets(seeds: range) -> int:
    count = 0
    for seed in seeds:
        job, _ = read("random.wnet", text=random_netlist(seed, 4 + seed % 17))
        assert job is not None
        computed_, _ = solve(job)
        figures = figure_set(computed_, check(computed_)).figures
        no_words_leave(figures)
        assert not moved(figures), seed
        count += len(figures)
    return count


def test_a_random_job_gives_a_set() -> None:
    assert random_sets(range(12)) > 40


@pytest.mark.long
def test_two_hundred_random_jobs_give_a_set() -> None:
    assert random_sets(range(1000, 1200)) > 800


def test_an_expected_finding_that_does_not_come_is_loud_and_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "set"
    code = main(["figures", LESSON, "-o", str(out), "--fault", "change F1 30 A, expect oversized-fuse on R1"])
    assert code == 1
    assert "expected oversized-fuse on R1, which does not come" in capsys.readouterr().err
    assert not out.exists()


def test_a_slip_in_a_fault_is_told_with_its_place(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["figures", LESSON, "-o", str(tmp_path / "set"), "--fault", "leave-out F9"]) == 2
    assert "--fault 2:11" in capsys.readouterr().err
    assert not (tmp_path / "set").exists()


def test_a_fault_on_the_command_line_shows_what_a_meter_reads() -> None:
    study, findings = computed(LESSON, "joint X1.+ 40 mohm")
    made = figure_set(study, findings, only=("faults",))
    meter = next(f for f in made.figures if f.name.endswith("given-1-meter"))
    assert "dcdc.in.+ to dcdc.in.-: sound 13.63 V, with the fault 12.54 V" in meter.description


def test_the_command_writes_the_whole_set(tmp_path: Path) -> None:
    assert main(["figures", LESSON, "-o", str(tmp_path), "--only", "stages"]) == 0
    names = sorted(p.name for p in tmp_path.iterdir())
    assert [n for n in names if n.endswith(".svg")] == [
        "01-whole.svg", "02-stage-1.svg", "03-stage-2.svg", "04-stage-3.svg", "05-stage-4.svg",
    ]  # fmt: skip
    assert {"figures.html", "figures.pdf", "index.md"} <= set(names)
    png = (tmp_path / "02-stage-1.png").read_bytes()
    assert (int.from_bytes(png[16:20], "big"), int.from_bytes(png[20:24], "big")) == (1920, 1080)
    from pypdf import PdfReader

    assert len(PdfReader(tmp_path / "figures.pdf").pages) == 5


def test_figures_of_an_earlier_set_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "07-old.png").write_bytes(b"")
    (tmp_path / "notes.txt").write_text("my own")
    assert main(["figures", LESSON, "-o", str(tmp_path), "--only", "stages"]) == 0
    said = capsys.readouterr().err
    assert "07-old.png is still there from an earlier set" in said and "notes.txt" not in said


def test_the_same_job_gives_the_same_bytes() -> None:
    study, findings = computed(LESSON)
    again, found = computed(LESSON)
    assert [f.svg for f in figure_set(study, findings).figures] == [f.svg for f in figure_set(again, found).figures]


def test_the_page_holds_every_picture_with_its_description_and_fetches_nothing(
    lesson: tuple[Study, tuple[Figure, ...]],
) -> None:
    from html import unescape

    _, figures = lesson
    text = stepper("Lesson", figures)
    alts = [unescape(a) for a in re.findall(r'<img src="data:[^"]*" alt="([^"]*)"', text)]
    assert alts == [f.description for f in figures]
    assert "http" not in re.sub(r"data:[^\"]*", "", text)
    pictures = re.findall(r"base64,([^\"]*)\"", text)
    assert [base64.b64decode(p).decode() for p in pictures] == [f.svg for f in figures]
    told = index("Lesson", figures)
    assert all(f.description in told and f.caption in told for f in figures)


@pytest.mark.long
@pytest.mark.parametrize("name", ["four-steps", "voltage-drop"])
def test_a_browser_steps_through_by_keyboard_without_a_network(name: str, tmp_path: Path) -> None:
    """A script within the page presses the keys and notes which figure stands there after each."""
    browser = shutil.which("chromium")
    if browser is None:
        pytest.skip("chromium is not installed (apt: chromium)")
    figures = figure_set(*computed(str(EXAMPLES / "lessons" / f"{name}.wnet"))).figures
    keys = ["ArrowRight", "ArrowRight", "ArrowLeft", "End", "ArrowRight", "Home", "ArrowLeft", "PageDown"]
    press = "".join(f'document.dispatchEvent(new KeyboardEvent("keydown", {{key: "{key}"}})); note();' for key in keys)
    probe = (
        '<script>var seen = []; function note() { var s = document.querySelectorAll("figure.shown");'
        " var i = s[0].querySelector('img');"
        ' seen.push(s.length + ":" + s[0].id + ":" + (i.alt.length > 20)); }'
        f"note(); {press} document.title = seen.join(' ');</script>"
    )
    page = tmp_path / "figures.html"
    page.write_text(stepper("Lesson", figures).replace("</body>", f"{probe}</body>"), encoding="utf-8")
    done = subprocess.run(
        [browser, "--headless", "--no-sandbox", "--disable-gpu", "--host-resolver-rules=MAP * 127.0.0.1:9",
         f"--user-data-dir={tmp_path / 'profile'}", "--dump-dom", page.as_uri()],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    title = re.search(r"<title>(.*?)</title>", done.stdout)
    assert title is not None, done.stderr[-500:]
    last = len(figures) - 1
    steps = [0, 1, 2, 1, last, last, 0, 0, 1]
    assert title.group(1).split() == [f"1:{figures[k].name}:true" for k in steps]


def test_meter_readings_and_temperatures_shown_are_those_of_the_faulty_job() -> None:
    """Solved again here by planting the same by hand: the cable changed in the text itself."""
    study, findings = computed(LESSON, "change R2 2.5 mm2")
    figure = figure_set(study, findings, only=("faults",)).figures[-1]
    text = Path(LESSON).read_text(encoding="utf-8")
    assert text.count("[R2 red 3.6 m") == 1
    job, said = read("thin.wnet", text=text.replace("[R2 red 3.6 m", "[R2 red 2.5 mm2 3.6 m"))
    assert job is not None and not said
    thin = next(c for c in solve(job)[0].cases if c.name == "driving")
    sound = next(c for c in study.cases if c.name == "driving")
    celsius, before = thin.flows["R2"].temperature_c, sound.flows["R2"].temperature_c
    assert celsius is not None and before is not None and celsius > before + 10
    assert labels(figure.svg)["R2"] == ["R2", f"{celsius:.0f} °C"]
    for port in ("start", "aux", "dcdc.in", "dcdc.out"):
        read_v = [(c.voltages[f"{port}.+"] or 0.0) - (c.voltages[f"{port}.-"] or 0.0) for c in (sound, thin)]
        words = f"{port}.+ to {port}.-: sound {read_v[0]:.2f} V, with the fault {read_v[1]:.2f} V"
        assert words in figure.description


def test_the_voltages_of_two_cases_side_by_side_are_the_studys(lesson: tuple[Study, tuple[Figure, ...]]) -> None:
    study, figures = lesson
    pair = next(f for f in figures if "-pair-" in f.name)
    one, other = (next(c for c in study.cases if c.name == name) for name in ("driving", "parked"))
    said = labels(pair.svg)
    for id in study.job.conductors:
        shown = [amps(c.flows[id].current_a or 0.0) for c in (one, other)]
        assert said[id][1] == f"{shown[0].removesuffix(' A')}|{shown[1]}"
    text = " ".join(t.text or "" for t in ElementTree.fromstring(pair.svg).iter(f"{SVG}text"))
    for port in ("start", "aux", "light"):
        row = [f"{(c.voltages[f'{port}.+'] or 0.0) - (c.voltages[f'{port}.-'] or 0.0):.2f} V" for c in (one, other)]
        assert f"{port} {row[0]} {row[1]}" in text
