"""`check --explain-silence`: every rule says what it looked at and why it was content."""

import json
from pathlib import Path

import pytest

from wiregen.cli import main, new
from wiregen.rules.register import JUDGING

STARTER = (Path(new.__file__).parent / new.STARTER).read_text(encoding="utf-8")
FAR_FUSE = STARTER.replace("--[R1 red 150 mm]-- F1", "--[R1 red 2.5 m]-- F1")
Captured = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("sound.wnet").write_text(STARTER, encoding="utf-8")
    Path("hazard.wnet").write_text(FAR_FUSE, encoding="utf-8")


def test_every_rule_is_there_on_every_file_in_order(capsys: Captured) -> None:
    main(["check", "sound.wnet", "hazard.wnet", "--explain-silence", "--output", "json"])
    silence = json.loads(capsys.readouterr().out)["silence"]
    assert [(row["file"], row["rule"]) for row in silence] == [
        (file, rule) for file in ("hazard.wnet", "sound.wnet") for rule in JUDGING
    ]
    hazard, sound = (next(r for r in silence if (r["file"], r["rule"]) == (f"{name}.wnet", "unfused-positive"))
                     for name in ("hazard", "sound"))  # fmt: skip
    assert hazard["found"] == ["R1"] and sound["found"] == []
    why = {each["subject"]: each["why"] for each in sound["content"]}
    assert why["R1"] == "ends 150 mm from start.+, within 200 mm"


def test_what_could_not_be_judged_is_named(capsys: Captured) -> None:
    Path("sound.wnet").write_text(STARTER.replace("--[R1 red 150 mm]-- F1", "--[R1 red]-- F1"), encoding="utf-8")
    main(["check", "sound.wnet", "--explain-silence", "--output", "json"])
    silence = json.loads(capsys.readouterr().out)["silence"]
    (row,) = [r for r in silence if r["rule"] == "unfused-positive"]
    assert {"subject": "R1", "missing": "the length of R1"} in row["unjudged"]


def test_text_tells_it_for_people_before_the_count_and_the_notice(capsys: Captured) -> None:
    assert main(["check", "sound.wnet", "--explain-silence"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("What the rules looked at in sound.wnet\n  unfused-positive\n")
    assert "\n    R1: ends 150 mm from start.+, within 200 mm\n" in out
    assert "nothing in this job to look at" in out
    assert out.index("R1: ends") < out.index("sound.wnet: no findings") < out.index("not a statement")
    assert max(len(line) for line in out.splitlines()) <= 100


def test_without_the_option_nothing_is_added(capsys: Captured) -> None:
    main(["check", "sound.wnet", "--output", "json"])
    assert "silence" not in json.loads(capsys.readouterr().out)


def test_a_job_that_cannot_be_read_has_no_silence_to_explain(capsys: Captured) -> None:
    Path("broken.wnet").write_text(STARTER + "fuse F9 30 Q\n", encoding="utf-8")
    assert main(["check", "broken.wnet", "--explain-silence", "--output", "json"]) == 2
    assert json.loads(capsys.readouterr().out)["silence"] == []
