"""Folders and patterns as FILE arguments: all jobs under a folder, no kits, each file once."""

import json
from pathlib import Path

import pytest

from wiregen.cli import main
from wiregen.cli.select import selected

JOB = 'job "J"\n'


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    files = {
        "b.wnet": JOB, "a.wnet": "# a comment\n\n  " + JOB, "sub/deep/c.wnet": JOB, "kits/k.wnet": 'library "K"\n',
        "sub/job.txt": JOB, ".hidden/d.wnet": JOB, "kits/word.wnet": '# job "no"\nkit a { takes job }\n',
    }  # fmt: skip
    for name, text in files.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())
    (tmp_path / "crlf.wnet").write_bytes(b"\xef\xbb\xbf" + JOB.replace("\n", "\r\n").encode())
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_folder_stands_for_the_jobs_under_it(folder: Path) -> None:
    assert selected(["."]) == ["a.wnet", "b.wnet", "crlf.wnet", "sub/deep/c.wnet"]
    assert selected(["sub"]) == ["sub/deep/c.wnet"]


def test_a_file_that_is_named_is_taken_whatever_it_holds(folder: Path) -> None:
    assert selected(["kits/k.wnet", "missing.wnet", "-"]) == ["-", "kits/k.wnet", "missing.wnet"]


def test_each_file_is_taken_once(folder: Path) -> None:
    assert selected(["b.wnet", ".", str(folder / "b.wnet"), "sub/../b.wnet"]) == selected(["."])


def test_patterns_that_the_shell_left_alone(folder: Path) -> None:
    assert selected(["*.wnet"]) == ["a.wnet", "b.wnet", "crlf.wnet"]
    assert selected(["**/c.wnet"]) == ["sub/deep/c.wnet"]
    assert selected(["s*"]) == ["sub/deep/c.wnet"]
    assert selected(["[ab].wnet"]) == ["a.wnet", "b.wnet"]


def test_a_file_whose_name_looks_like_a_pattern(folder: Path) -> None:
    (folder / "a[1].wnet").write_text(JOB, encoding="utf-8")
    assert selected(["a[1].wnet"]) == ["a[1].wnet"]


def test_a_netlist_whose_job_line_is_misspelt_or_missing_is_not_passed_over(folder: Path) -> None:
    (folder / "sub" / "slip.wnet").write_text('jub "J"\n', encoding="utf-8")
    (folder / "sub" / "bare.wnet").write_text("battery start 70 Ah flooded\n", encoding="utf-8")
    assert selected(["sub"]) == ["sub/bare.wnet", "sub/deep/c.wnet", "sub/slip.wnet"]


def test_a_job_that_is_no_utf8_is_not_passed_over(folder: Path) -> None:
    (folder / "sub" / "wide.wnet").write_bytes(JOB.encode("utf-16"))
    assert "sub/wide.wnet" in selected(["sub"])


@pytest.mark.parametrize("word, said", [("kits", "no netlist under kits, or only kits"), ("x*", "nothing matches x*")])
def test_nothing_to_check_is_no_success(folder: Path, word: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", word]) == 2
    assert said in capsys.readouterr().out
    assert main(["check", word, "--output", "json"]) == 2
    (finding,) = json.loads(capsys.readouterr().out)["findings"]
    assert said in finding["message"] and finding["rule"] == "netlist-mistake"
