"""A baseline: old findings are told as accepted, new ones stop, gone ones are said, whatever the line numbers."""

import json
from pathlib import Path

import pytest

from wiregen.cli import main, new

STARTER = (Path(new.__file__).parent / new.STARTER).read_text(encoding="utf-8")
FAR_FUSE = STARTER.replace("--[R1 red 150 mm]-- F1", "--[R1 red 2.5 m]-- F1")
Captured = pytest.CaptureFixture[str]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A job with one finding, and the baseline of it in a folder above."""
    (tmp_path / "jobs").mkdir()
    monkeypatch.chdir(tmp_path / "jobs")
    put(FAR_FUSE)
    assert main(["check", "van.wnet", "--write-baseline", "../base.json"]) == 0
    return tmp_path


def put(text: str) -> None:
    Path("van.wnet").write_text(text, encoding="utf-8")


def found(capsys: Captured, code: int, *more: str) -> list[dict[str, object]]:
    capsys.readouterr()
    words = ["check", "van.wnet", "--baseline", "../base.json", "--output", "json", "--fail-on", "advice", *more]
    assert main(words) == code
    return json.loads(capsys.readouterr().out)["findings"]  # type: ignore[no-any-return]


def test_the_file_names_file_rule_subject_and_no_line(folder: Path, capsys: Captured) -> None:
    document = json.loads((folder / "base.json").read_text(encoding="utf-8"))
    (entry,) = document["entries"]
    assert list(entry) == ["file", "rule", "subject", "fingerprint"]
    assert list(entry.values())[:3] == ["jobs/van.wnet", "unfused-positive", "R1"]
    assert "not a statement" in document["notice"]
    capsys.readouterr()
    assert main(["check", "van.wnet", "--write-baseline", "../base.json"]) == 0
    said = capsys.readouterr().err
    assert said == "wrote ../base.json: 1 finding, dangers among them: 1; to be listed does not put them right\n"


def test_a_known_finding_is_told_as_accepted_and_stops_nothing(folder: Path, capsys: Captured) -> None:
    (only,) = found(capsys, 0)
    assert only["severity"] == "danger"
    assert only["accepted"] == {"because": "it is in the baseline ../base.json", "by": None, "until": None}


def test_lines_may_move(folder: Path, capsys: Captured) -> None:
    put("# one more line\n\n" + FAR_FUSE.replace("--[R1 red", "--[R1   red"))
    assert len(found(capsys, 0)) == 1


def test_a_new_finding_stops(folder: Path, capsys: Captured) -> None:
    put(FAR_FUSE.replace("--[R1 red 2.5 m]--", "--[R1 red 3.5 m]--"))
    rules = {(f["rule"], f["accepted"] is None) for f in found(capsys, 1)}
    assert ("unfused-positive", True) in rules and ("stale-acceptance", True) in rules


def test_what_is_gone_is_said_as_advice(folder: Path, capsys: Captured) -> None:
    put(STARTER)
    (only,) = found(capsys, 1)
    assert (only["rule"], only["severity"], only["file"]) == ("stale-acceptance", "advice", "../base.json")
    assert only["message"] == "nothing to accept: unfused-positive no longer finds this on R1 in jobs/van.wnet"
    assert "once nothing new is found" in only["remedy"]  # or what is new would be accepted with the rest
    assert main(["check", "van.wnet", "--baseline", "../base.json"]) == 0
    capsys.readouterr()


def test_entries_of_files_that_were_not_looked_at_are_not_stale_but_of_files_that_are_gone(
    folder: Path, capsys: Captured
) -> None:
    Path("other.wnet").write_text(STARTER, encoding="utf-8")
    assert main(["check", "other.wnet", "--baseline", "../base.json", "--fail-on", "advice"]) == 0
    Path("van.wnet").unlink()
    assert main(["check", "other.wnet", "--baseline", "../base.json", "--fail-on", "advice"]) == 1
    capsys.readouterr()


def test_it_is_the_same_from_another_folder(folder: Path, capsys: Captured, monkeypatch: pytest.MonkeyPatch) -> None:
    first = (folder / "base.json").read_bytes()
    monkeypatch.chdir(folder)
    assert main(["check", "jobs", "--write-baseline", "base.json"]) == 0
    assert (folder / "base.json").read_bytes() == first
    assert main(["check", "jobs", "--baseline", "base.json"]) == 0
    capsys.readouterr()


def test_the_settings_can_name_it(folder: Path, capsys: Captured) -> None:
    (folder / "wiregen.toml").write_text('baseline = "base.json"\n', encoding="utf-8")
    assert main(["check", "van.wnet"]) == 0
    capsys.readouterr()


def test_no_baseline_is_written_from_a_job_that_cannot_be_read(folder: Path, capsys: Captured) -> None:
    put(FAR_FUSE + "fuse F9 30 Q\n")
    before = (folder / "base.json").read_bytes()
    assert main(["check", "van.wnet", "--write-baseline", "../base.json"]) == 2
    assert (folder / "base.json").read_bytes() == before
    assert "no baseline was written" in capsys.readouterr().err


@pytest.mark.parametrize(
    "text", ["", "{}", "[1]", '{"format": "other"}', '{"format": "wiregen-baseline/1", "entries": [1]}']
)
def test_what_is_no_baseline_is_one_clear_message(folder: Path, text: str, capsys: Captured) -> None:
    (folder / "base.json").write_text(text, encoding="utf-8")
    capsys.readouterr()
    assert main(["check", "van.wnet", "--baseline", "../base.json"]) == 2
    captured = capsys.readouterr()
    assert "../base.json is no baseline of wiregen" in captured.err and captured.out == ""
    assert main(["check", "van.wnet", "--baseline", "missing.json"]) == 2
    assert "there is no baseline missing.json" in capsys.readouterr().err


@pytest.mark.parametrize(
    "words", [["--diff"], ["--explain-silence", "--output", "junit"], ["--write-baseline", "x", "--fix"]]
)
def test_options_that_do_not_go_together(folder: Path, words: list[str], capsys: Captured) -> None:
    assert main(["check", "van.wnet", *words]) == 2
    assert "goes with" in capsys.readouterr().err
