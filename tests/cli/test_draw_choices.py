"""`draw`: what is printed, on which page, and since which revision."""

from __future__ import annotations

from pathlib import Path

import pytest

from wiregen.cli import main, new

STARTER = (Path(new.__file__).parent / new.STARTER).read_text(encoding="utf-8")
Captured = pytest.CaptureFixture[str]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "van.wnet").write_text(STARTER, encoding="utf-8")
    (tmp_path / "new.wnet").write_text(STARTER.replace("R1 red 150 mm", "R1 orange 150 mm"), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_show_prints_what_is_named_and_nothing_else(folder: Path) -> None:
    assert main(["draw", "van.wnet", "--show", "Color, fault"]) == 0
    svg = (folder / "van.svg").read_text(encoding="utf-8")
    assert ">RD</text>" in svg and ">fault " in svg
    assert ">150 mm</text>" not in svg and "R1 RD" not in svg
    assert main(["draw", "van.wnet", "--show", "all", "--case", "driving"]) == 0
    svg = (folder / "van.svg").read_text(encoding="utf-8")
    assert ">+ 30, − 31</text>" in svg and " mV</text>" in svg and " V</text>" in svg


def test_show_says_what_there_is(folder: Path, capsys: Captured) -> None:
    assert main(["draw", "van.wnet", "--show", "size,weight"]) == 2
    assert "weight is none of number, colour, size, length" in capsys.readouterr().err
    assert main(["draw", "van.wnet", "--show", "size,drop"]) == 2
    assert "--show drop needs --case NAME; the job has " in capsys.readouterr().err
    assert not (folder / "van.svg").exists()


def test_a_dark_page(folder: Path) -> None:
    assert main(["draw", "van.wnet", "--page", "dark", "--to", "png"]) == 0
    assert main(["draw", "van.wnet", "--page", "dark"]) == 0
    assert 'fill="#14171c"' in (folder / "van.svg").read_text(encoding="utf-8")


def test_compare_draws_and_lists_the_changes(folder: Path, capsys: Captured) -> None:
    assert main(["draw", "new.wnet", "--compare", "van.wnet"]) == 0
    told = capsys.readouterr().err
    assert "changed  conductor R1: colour orange, was red\n1 change since van.wnet\n" in told
    svg = (folder / "new.svg").read_text(encoding="utf-8")
    assert ">was RD</text>" in svg and ">Changes</text>" in svg and ">compared with</text>" in svg
    assert main(["draw", "van.wnet", "--compare", "van.wnet"]) == 0
    assert "no changes since van.wnet\n" in capsys.readouterr().err


def test_compare_with_what_cannot_be_read_draws_nothing(folder: Path, capsys: Captured) -> None:
    (folder / "old.wnet").write_text("battery start 12\n", encoding="utf-8")
    assert main(["draw", "new.wnet", "--compare", "old.wnet"]) == 2
    assert "old.wnet could not be wholly read, so there is nothing to compare with" in capsys.readouterr().err
    assert not (folder / "new.svg").exists()
    assert main(["draw", "new.wnet", "--compare", "missing.wnet"]) in (2, 3)
