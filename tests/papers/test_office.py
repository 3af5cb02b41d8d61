"""The office file: what it may say, and what is told about a mistake; the command that takes it writes whole files."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from wiregen.cli import main
from wiregen.papers import Office, OfficeMistake, office

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
JOB = (EXAMPLES / "dual-battery.wnet").read_text(encoding="utf-8")
NAMES = ["van-folder.html", "van-folder.pdf", "van-folder.xlsx"]


@pytest.fixture
def van(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "van.wnet").write_text(JOB, encoding="utf-8")
    return tmp_path


def written(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.name.startswith("van-folder"))


def test_the_example_says_what_holds_without_it() -> None:
    said = office(tomllib.loads((EXAMPLES / "office.toml").read_text(encoding="utf-8")))
    assert said._replace(company="", contact=()) == Office()
    assert said.company and said.contact


MISTAKES = [
    ('compny = "x"', "compny is not known"),
    ("company = 3", "text in quotation marks"),
    ('contact = "x"', "a list of lines"),
    ("contact = [1]", "a list of lines"),
    ('paper = "a5"', "a4 or letter"),
    ("reels = []", "a list of lengths"),
    ("reels = [0]", "a list of lengths"),
    ("reels = [-5]", "a list of lengths"),
    ('reels = ["5"]', "a list of lengths"),
    ("reels = [nan]", "a list of lengths"),
    ("reels = [inf]", "a list of lengths"),
    ("cut-share = 5", "a share such as"),
    ("cut-share = true", "a share such as"),
    ("cut-ends = -1", "a length in metres"),
    ("tie-spacing = 0", "a length in metres"),
    ("spare-fuses = 1.5", "a whole number"),
    ("spare-fuses = -1", "a whole number"),
    ("spare-fuses = true", "a whole number"),
    ("[paper]\nsize = 1", "a4 or letter"),
]


@pytest.mark.parametrize(("text", "told"), MISTAKES, ids=[text for text, _ in MISTAKES])
def test_a_mistake_is_told_with_what_would_do(text: str, told: str) -> None:
    with pytest.raises(OfficeMistake, match=told):
        office(tomllib.loads(text))


@pytest.mark.parametrize(
    ("content", "told"), [(b'paper = "a5"', "paper has to be"), (b"paper =", "is no TOML"), (b"\xff\xfe", "is no TOML")]
)
def test_a_wrong_office_file_ends_the_command_before_anything_is_written(
    van: Path, content: bytes, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (van / "own.toml").write_bytes(content)
    assert main(["folder", "van.wnet", "--office", "own.toml"]) == 2
    said = capsys.readouterr().err
    assert said.startswith("wiregen folder: own.toml") and told in said and said.count("\n") == 1
    assert written(van) == []


def test_an_office_file_that_is_asked_for_and_missing_is_told(van: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["folder", "van.wnet", "--office", "gone.toml"]) == 2
    assert "gone.toml could not be read: there is no such file" in capsys.readouterr().err
    assert written(van) == []


def test_the_files_are_written_beside_the_netlist_with_the_office_file_there(van: Path) -> None:
    (van / "office.toml").write_text('company = "Mill workshop"\npaper = "letter"', encoding="utf-8")
    assert main(["folder", "van.wnet"]) == 0
    assert written(van) == NAMES
    assert "Mill workshop" in (van / "van-folder.html").read_text(encoding="utf-8")
    assert (van / "van-folder.pdf").read_bytes().startswith(b"%PDF")
    assert (van / "van-folder.xlsx").read_bytes().startswith(b"PK")


def test_a_folder_for_the_files_is_made(van: Path) -> None:
    assert main(["folder", "van.wnet", "-o", "customers/van"]) == 0
    assert written(van / "customers" / "van") == NAMES and written(van) == []


def test_a_folder_that_cannot_be_made_is_told_and_nothing_is_left(
    van: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (van / "taken").write_text("a file", encoding="utf-8")
    assert main(["folder", "van.wnet", "-o", "taken"]) == 3
    assert capsys.readouterr().err.count("\n") == 1
    assert (van / "taken").read_text(encoding="utf-8") == "a file" and written(van) == []


def test_one_file_that_cannot_be_written_leaves_none_behind(van: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (van / "van-folder.xlsx").mkdir()
    assert main(["folder", "van.wnet"]) == 3
    assert written(van) == ["van-folder.xlsx"]
    assert [path.name for path in van.iterdir() if path.name.endswith(".part")] == []


def test_a_netlist_that_cannot_be_read_gives_no_folder(van: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (van / "van.wnet").write_text("battery start 70 Ah flooded {", encoding="utf-8")
    assert main(["folder", "van.wnet"]) == 2
    assert "no folder was made" in capsys.readouterr().err
    assert written(van) == []
