"""The commands' contract: what goes where, and the exit codes 0, 1, 2, 3 (design, contracts)."""

import io
import json
import re
import shutil
import struct
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import pytest

import wiregen
from wiregen.cli import COMMANDS, main, new

STARTER = (Path(new.__file__).parent / new.STARTER).read_text(encoding="utf-8")
FAR_FUSE = STARTER.replace("--[R1 red 150 mm]-- F1", "--[R1 red 2.5 m]-- F1")  # a fuse far from the post
BROKEN = STARTER.replace("--[R1 red 150 mm]-- F1", "--[R1 red 150]-- F1")  # a bare number
assert STARTER not in (FAR_FUSE, BROKEN)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in, with a sound job, one with a hazard and one with a mistake."""
    for name, text in (("sound", STARTER), ("hazard", FAR_FUSE), ("broken", BROKEN)):
        (tmp_path / f"{name}.wnet").write_text(text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def give(monkeypatch: pytest.MonkeyPatch, data: bytes) -> None:
    """These bytes on standard input."""
    monkeypatch.setattr("sys.stdin", SimpleNamespace(buffer=io.BytesIO(data)))


Captured = pytest.CaptureFixture[str]


# ---- the front of the house


@pytest.mark.parametrize("command", COMMANDS)
def test_help_of_every_command_shows_an_example(command: str, capsys: Captured) -> None:
    assert main([command, "--help"]) == 0
    out = capsys.readouterr().out
    assert f"usage: wiregen {command}" in out and f"example:\n  wiregen {command}" in out


@pytest.mark.parametrize("words", [["--version"], *([command, "--version"] for command in COMMANDS)])
def test_every_command_tells_the_version(words: list[str], capsys: Captured) -> None:
    assert main(words) == 0
    assert capsys.readouterr().out == f"wiregen {wiregen.__version__}\n"


def test_help_lists_every_command(capsys: Captured) -> None:
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    assert all(f"\n  {command} " in out for command in COMMANDS)


@pytest.mark.parametrize(
    "words, said",
    [
        ([], "usage: wiregen COMMAND"),
        (["chekc"], "did you mean `wiregen check`?"),
        (["--wrong"], "there is no command `--wrong`"),
        (["check"], "the following arguments are required: FILE"),
        (["check", "a.wnet", "--fail-on", "never"], "invalid choice: 'never'"),
        (["draw", "a.wnet", "--to", "dxf"], "invalid choice: 'dxf'"),
        (["draw", "a.wnet", "--dpi", "3"], "3 is not a number from 30 to 1200"),
        (["draw", "a.wnet", "--dpi", "nan"], "nan is not a number from 30 to 1200"),
        (["draw", "a.wnet", "--to", "pdf", "-o", "a.png"], "do not agree"),
        (["check", "a.wnet", "\x1b[2J", "--no\x1b[2J"], "unrecognized arguments: --no<U+001B>[2J"),
    ],
)
def test_wrong_usage_ends_with_2_and_says_what_is_wrong(words: list[str], said: str, capsys: Captured) -> None:
    assert main(words) == 2
    captured = capsys.readouterr()
    assert said in captured.err and captured.out == ""


def test_a_mistake_of_wiregen_itself_is_told_shortly_and_ends_with_3(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    def broken(_: object) -> int:
        raise ValueError("odd \x1b number")

    monkeypatch.setattr(new, "run", broken)
    assert main(["new"]) == 3
    err = capsys.readouterr().err
    assert "a mistake in wiregen itself" in err and "ValueError: odd <U+001B> number" in err and "report it" in err
    assert "Traceback" not in err and "/" not in err


def test_a_stop_from_the_keyboard_is_quiet(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    def stopped(_: object) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(new, "run", stopped)
    assert main(["new"]) == 130
    assert capsys.readouterr() == ("", "")


# ---- check


def test_a_sound_job_ends_with_0_and_is_never_called_safe(folder: Path, capsys: Captured) -> None:
    assert main(["check", "sound.wnet", "--fail-on", "advice"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("sound.wnet: no findings\n")
    assert "not a statement that the installation is safe" in " ".join(out.split())


def test_a_hazard_ends_with_1_and_shows_its_line(folder: Path, capsys: Captured) -> None:
    assert main(["check", "hazard.wnet"]) == 1
    out = capsys.readouterr().out
    assert "danger  unfused-positive" in out and "R1 red 2.5 m" in out and "^" in out


def test_a_mistake_of_the_text_ends_with_2(folder: Path, capsys: Captured) -> None:
    assert main(["check", "broken.wnet"]) == 2
    out = capsys.readouterr().out
    assert "danger  netlist-mistake" in out and "the rules were not run" in out


def test_of_several_files_the_worst_decides(folder: Path, capsys: Captured) -> None:
    assert main(["check", "sound.wnet", "hazard.wnet"]) == 1
    assert main(["check", "broken.wnet", "sound.wnet", "hazard.wnet"]) == 2
    assert main(["check", "broken.wnet", "hazard.wnet", "-o", "nowhere/report"]) == 3
    capsys.readouterr()


def test_the_findings_document_lists_every_file(folder: Path, capsys: Captured) -> None:
    assert main(["check", "sound.wnet", "broken.wnet", "none.wnet", "--output", "json"]) == 2
    document = json.loads(capsys.readouterr().out)
    assert [(f["path"], f["readable"]) for f in document["files"]] == [
        ("broken.wnet", False),
        ("none.wnet", False),
        ("sound.wnet", True),
    ]
    missing = [f for f in document["findings"] if f["file"] == "none.wnet"]
    assert len(missing) == 1 and missing[0]["line"] is None and missing[0]["rule"] == "netlist-mistake"


def test_the_threshold_is_the_users(folder: Path, capsys: Captured) -> None:
    accepted = FAR_FUSE + 'accept unfused-positive on R1 because "a test", by "JK"\n'
    (folder / "accepted.wnet").write_text(accepted, encoding="utf-8")
    assert main(["check", "accepted.wnet", "--output", "json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)["findings"]
    assert found["severity"] == "danger" and found["accepted"]["because"] == "a test"
    (folder / "stale.wnet").write_text(STARTER + 'accept unfused-positive on R1 because "x"\n', encoding="utf-8")
    codes = [main(["check", "stale.wnet", "--fail-on", level]) for level in ("advice", "warning", "danger")]
    assert codes == sorted(codes, reverse=True) and codes[0] == 1
    capsys.readouterr()


def test_an_acceptance_runs_out_on_its_day(folder: Path, capsys: Captured) -> None:
    accepted = FAR_FUSE + 'accept unfused-positive on R1 because "a test", until 2030-06-30\n'
    (folder / "accepted.wnet").write_text(accepted, encoding="utf-8")
    assert main(["check", "accepted.wnet", "--today", "2030-06-30"]) == 0
    assert main(["check", "accepted.wnet", "--today", "2030-07-01"]) == 1
    assert main(["check", "accepted.wnet", "--today", "30.6.2030"]) == 2
    capsys.readouterr()


def test_a_report_can_go_to_a_file(folder: Path, capsys: Captured) -> None:
    assert main(["check", "hazard.wnet", "--output", "json", "-o", "report.json"]) == 1
    assert capsys.readouterr().out == ""
    assert json.loads((folder / "report.json").read_bytes())["format"] == "wiregen-findings/1"


def test_standard_input_is_checked_too(folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    give(monkeypatch, FAR_FUSE.encode())
    assert main(["check", "-", "--output", "json"]) == 1
    document = json.loads(capsys.readouterr().out)
    assert document["files"][0]["path"] == "-" and document["findings"][0]["file"] == "-"


@pytest.mark.parametrize(
    "data", [b"", b"\xff\xfe\x00j", b"\x00\x01\x02", b"\x7fELF\x02\x01" + bytes(range(256)), b"{" * 10_000]
)
@pytest.mark.parametrize("command", ["check", "draw", "study", "format"])
def test_bad_input_of_every_kind_ends_with_2(
    command: str, data: bytes, folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    (folder / "bad.wnet").write_bytes(data)
    assert main([command, "bad.wnet"]) == 2
    give(monkeypatch, data)
    assert main([command, "-"]) == 2
    assert "wiregen itself" not in capsys.readouterr().err
    assert sorted(p.name for p in folder.iterdir()) == ["bad.wnet", "broken.wnet", "hazard.wnet", "sound.wnet"]
    assert (folder / "bad.wnet").read_bytes() == data


@pytest.mark.parametrize("command", ["check", "draw", "study", "format"])
@pytest.mark.parametrize("path", ["none.wnet", "empty", "none/none.wnet", "sound.wnet/x", "\x00", "x" * 300])
def test_a_file_that_cannot_be_opened_ends_with_2(command: str, path: str, folder: Path, capsys: Captured) -> None:
    (folder / "empty").mkdir()
    assert main([command, path]) == 2
    captured = capsys.readouterr()
    said = captured.out + captured.err
    assert (
        "netlist-mistake" in said or "there is no netlist under empty" in said
    ) and "wiregen itself" not in captured.err


@pytest.mark.parametrize("command", ["check", "study", "draw"])
def test_no_output_goes_over_the_netlist_itself(command: str, folder: Path, capsys: Captured) -> None:
    (folder / "link.svg").symlink_to("sound.wnet")
    for target in ("sound.wnet", "./sound.wnet", "link.svg"):
        assert main([command, "sound.wnet", "-o", target]) == 3
        assert "it is the netlist itself" in capsys.readouterr().err
    assert (folder / "sound.wnet").read_text(encoding="utf-8") == STARTER


# ---- study


def test_the_study_is_printed_for_people_and_for_programs(folder: Path, capsys: Captured) -> None:
    assert main(["study", "hazard.wnet"]) == 0  # whatever the findings are
    assert "driving" in capsys.readouterr().out
    assert main(["study", "sound.wnet", "--output", "json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["format"] == "wiregen-study/1"
    assert list(document) == [
        "format", "netlist", "assumptions", "cases", "supplies", "faults", "energy",
    ]  # fmt: skip
    assert main(["study", "sound.wnet", "--output", "json", "-o", "out.json"]) == 0
    assert json.loads((folder / "out.json").read_bytes()) == document


def test_a_title_cannot_steer_the_terminal(folder: Path, capsys: Captured) -> None:
    text = STARTER.replace('"My first job"', '"My \x1b[2J\u202ejob"').replace('"Engine running"', '"\x1b]0;x\x07"')
    assert text.count("\x1b") == 2
    (folder / "steers.wnet").write_text(text.replace("\x07", "\x9b"), encoding="utf-8")
    for words in (
        ["study"],
        ["check"],
        ["check", "--output", "json"],
        ["study", "--output", "json"],
        ["draw", "-o", "-"],
    ):
        main([*words, "steers.wnet"])
        captured = capsys.readouterr()
        assert not {"\x1b", "\x9b", "\u202e"} & set(captured.out + captured.err), words


def test_what_cannot_be_read_is_not_computed(folder: Path, capsys: Captured) -> None:
    assert main(["study", "broken.wnet", "--output", "json", "-o", "out.json"]) == 2
    captured = capsys.readouterr()
    assert captured.out == "" and "netlist-mistake" in captured.err
    assert not (folder / "out.json").exists()


# ---- draw


def test_a_drawing_goes_beside_its_netlist_whatever_the_findings(folder: Path, capsys: Captured) -> None:
    (folder / "jobs").mkdir()
    shutil.copy("hazard.wnet", "jobs/hazard.wnet")
    assert main(["draw", "jobs/hazard.wnet"]) == 0
    captured = capsys.readouterr()
    assert captured.out == "" and "wrote jobs/hazard.svg" in captured.err and "1 danger" in captured.err
    assert (folder / "jobs" / "hazard.svg").read_bytes().startswith(b"<")


def test_a_drawing_is_the_same_to_the_byte(folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    assert main(["draw", "sound.wnet", "-o", "1.svg"]) == main(["draw", "sound.wnet", "-o", "2.svg"]) == 0
    assert (folder / "1.svg").read_bytes() == (folder / "2.svg").read_bytes()


@pytest.mark.parametrize("kind, start", [("svg", b"<"), ("pdf", b"%PDF"), ("png", b"\x89PNG")])
def test_every_kind_of_drawing(kind: str, start: bytes, folder: Path, capsys: Captured) -> None:
    assert main(["draw", "sound.wnet", "--to", kind, "--paper", "a3"]) == 0
    assert (folder / f"sound.{kind}").read_bytes().startswith(start)
    assert main(["draw", "sound.wnet", "-o", f"other.{kind}"]) == 0
    assert (folder / f"other.{kind}").read_bytes().startswith(start)


def large() -> str:
    """A netlist that no A3 sheet holds."""
    ways, blocks = range(1, 13), []
    for n in range(1, 5):
        rows = "\n".join(f"    {k}: 5 A --[P{n}x{k} N{n}x{k} 1.5 mm2 2 m]-- lamp H{n}x{k} 5 W led" for k in ways)
        blocks.append(f"fuse-block FB{n} 60 A, blade, wire red black {{\n{rows}\n}}")
    feeds = [f"B.+ --[R{n} red 10 mm2 1 m]-- FB{n}.in\nB.- --[K{n} black 10 mm2 1 m]-- FB{n}.-" for n in range(1, 5)]
    return "\n".join(['job "Large" { system 12 V }', "battery B 100 Ah agm", *blocks, *feeds]) + "\n"


def test_a_large_job_is_a_file_for_each_sheet_and_one_pdf(folder: Path, capsys: Captured) -> None:
    (folder / "large.wnet").write_text(large())
    assert main(["draw", "large.wnet"]) == 0
    sheets = sorted(path.name for path in folder.glob("large*.svg"))
    assert sheets[:2] == ["large-1.svg", "large-2.svg"] and "wrote large-1.svg, large-2.svg" in capsys.readouterr().err
    assert main(["draw", "large.wnet", "--to", "pdf"]) == 0
    assert len(re.findall(rb"/Type\s*/Page\b", (folder / "large.pdf").read_bytes())) == len(sheets)
    assert main(["draw", "large.wnet", "--to", "png", "--dpi", "40", "-o", "pictures"]) == 0
    assert sorted(p.stem for p in (folder / "pictures").iterdir()) == [name[:-4] for name in sheets]
    width, height = struct.unpack(">II", (folder / "pictures" / "large-1.png").read_bytes()[16:24])
    assert (abs(width - 420 / 25.4 * 40) < 1, abs(height - 297 / 25.4 * 40) < 1) == (True, True)
    capsys.readouterr()
    assert main(["draw", "large.wnet", "--one-sheet"]) == 0
    said = capsys.readouterr().err
    assert "wrote large.svg" in said and "large-2.svg is still there from an earlier drawing" in said


def test_standard_output_takes_one_sheet(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    give(monkeypatch, large().encode())
    assert main(["draw", "-"]) == 0
    assert b'data-sheets="1"' in capfdbinary.readouterr().out
    give(monkeypatch, large().encode())
    assert main(["draw", "-", "--paper", "a4"]) == 3
    streams = capfdbinary.readouterr()
    assert streams.out == b"" and b"or use --to pdf or --one-sheet" in streams.err


def test_the_sheet_lies_as_it_is_asked_to(folder: Path, capsys: Captured) -> None:
    assert main(["draw", "sound.wnet", "--paper", "letter", "--orientation", "portrait", "-o", "p.svg"]) == 0
    assert 'width="215.9mm" height="279.4mm"' in (folder / "p.svg").read_text()


def test_an_unknown_case_is_told_with_the_known_ones(folder: Path, capsys: Captured) -> None:
    assert main(["draw", "sound.wnet", "--case", "drving"]) == 2
    assert "no operating case drving; it has driving" in capsys.readouterr().err
    assert main(["draw", "sound.wnet", "--case", "driving"]) == 0


def test_a_drawing_that_cannot_be_written_leaves_the_old_one(folder: Path, capsys: Captured) -> None:
    (folder / "a.svg").mkdir()
    assert main(["draw", "sound.wnet", "-o", "a.svg"]) == 3
    assert "a.svg could not be written: it is a folder" in capsys.readouterr().err
    assert main(["draw", "sound.wnet", "-o", "none/a.svg"]) == 3


def test_nothing_is_drawn_from_a_text_with_mistakes(folder: Path, capsys: Captured) -> None:
    (folder / "broken.svg").write_bytes(b"old")
    assert main(["draw", "broken.wnet"]) == 2
    assert (folder / "broken.svg").read_bytes() == b"old"


def test_a_drawing_of_standard_input_goes_to_standard_output(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    give(monkeypatch, STARTER.encode())
    assert main(["draw", "-"]) == 0
    out = capfdbinary.readouterr().out
    assert main(["draw", "sound.wnet"]) == 0
    assert b"<svg" in out and out == (folder / "sound.svg").read_bytes()


# ---- format


MESSY = "battery   a 70Ah   agm # of a boat\nbattery b 80 Ah,agm\n"


def test_format_rewrites_in_place_and_once(folder: Path, capsys: Captured) -> None:
    (folder / "messy.wnet").write_text(MESSY)
    assert main(["format", "messy.wnet", "--check"]) == 1
    assert "messy.wnet would be changed" in capsys.readouterr().err
    assert (folder / "messy.wnet").read_text() == MESSY
    assert main(["format", "messy.wnet"]) == 0
    once = (folder / "messy.wnet").read_text()
    assert once != MESSY and "# of a boat" in once and "70 Ah" in once
    assert main(["format", "messy.wnet", "--check"]) == 0
    assert main(["format", "messy.wnet"]) == 0
    assert (folder / "messy.wnet").read_text() == once


def test_format_of_standard_input_goes_to_standard_output(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capfdbinary: pytest.CaptureFixture[bytes]
) -> None:
    give(monkeypatch, MESSY.encode())
    assert main(["format", "-"]) == 0
    out = capfdbinary.readouterr().out
    (folder / "messy.wnet").write_text(MESSY)
    main(["format", "messy.wnet"])
    assert out == (folder / "messy.wnet").read_bytes()


def test_format_leaves_what_it_does_not_understand(folder: Path, capsys: Captured) -> None:
    text = MESSY + "fuse F1 (((\n--[ red\n"
    (folder / "bad.wnet").write_text(text)
    (folder / "messy.wnet").write_text(MESSY)
    assert main(["format", "bad.wnet", "messy.wnet"]) == 2
    assert (folder / "bad.wnet").read_text() == text
    assert (folder / "messy.wnet").read_text() != MESSY
    assert "bad.wnet could not be wholly read" in capsys.readouterr().err


def test_format_can_write_elsewhere(folder: Path, capsys: Captured) -> None:
    (folder / "messy.wnet").write_text(MESSY)
    assert main(["format", "messy.wnet", "-o", "neat.wnet"]) == 0
    assert main(["format", "messy.wnet", "sound.wnet", "-o", "neat"]) == 0
    assert (folder / "messy.wnet").read_text() == MESSY
    assert (folder / "neat" / "messy.wnet").read_text() == (folder / "neat.wnet").read_text() != MESSY
    assert (folder / "neat" / "sound.wnet").is_file()


# ---- explain, new


def test_rules_explain_themselves_where_python_leaves_docstrings_out() -> None:
    words = ["-m", "wiregen", "explain", "unfused-positive"]
    said = [subprocess.run([sys.executable, *o, *words], capture_output=True, check=True).stdout for o in ([], ["-OO"])]
    assert said[0] == said[1] and b"Hazard" in said[0]


def test_explain_prints_a_rule_and_lists_all(capsys: Captured) -> None:
    assert main(["explain", "unfused-positive"]) == 0
    page = capsys.readouterr().out
    assert all(f"\n{section}\n" in page for section in ("Hazard", "Test", "Basis", "Bad", "Good"))
    assert main(["explain"]) == 0
    assert capsys.readouterr().out.startswith("unfused-positive ")
    assert main(["explain", "unfused-negative"]) == 2
    assert "did you mean unfused-positive" in capsys.readouterr().err


def test_new_writes_a_job_that_is_sound_and_never_over_another(folder: Path, capsys: Captured) -> None:
    assert main(["new"]) == 0
    assert (folder / "job.wnet").read_text(encoding="utf-8") == STARTER
    assert main(["check", "job.wnet", "--fail-on", "advice"]) == 0
    assert main(["format", "job.wnet", "--check"]) == 0
    (folder / "job.wnet").write_text("mine")
    assert main(["new"]) == 3
    assert "add --force" in capsys.readouterr().err
    assert (folder / "job.wnet").read_text() == "mine"
    assert main(["new", "--force", "-o", "job.wnet"]) == 0
    assert (folder / "job.wnet").read_text(encoding="utf-8") == STARTER
    capsys.readouterr()
    assert main(["new", "-o", "-"]) == 0
    assert capsys.readouterr().out == STARTER


def test_a_folder_is_formatted_with_its_kits(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name in ("jobs/one.wnet", "jobs/kits/two.wnet"):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text("fuse F1 40 A\r\n" if "kits" not in name else 'library "Kits"\r\n')
    assert main(["format", str(tmp_path / "jobs"), "--check"]) == 1
    assert capsys.readouterr().err.count("would be changed") == 2
    assert main(["format", str(tmp_path / "jobs")]) == 0
    assert capsys.readouterr().err.count("wrote ") == 2
    assert main(["format", str(tmp_path / "jobs"), "--check"]) == 0


def test_two_netlists_of_one_name_are_not_formatted_over_each_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for folder in ("a", "b"):
        (tmp_path / folder).mkdir()
        (tmp_path / folder / "van.wnet").write_text("fuse F1 40 A\n")
    assert main(["format", str(tmp_path / "a"), str(tmp_path / "b"), "-o", str(tmp_path / "out")]) == 2
    assert "nothing is written" in capsys.readouterr().err
    assert not list((tmp_path / "out").glob("*"))


def test_a_folder_without_netlists_is_not_formatted(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["format", str(tmp_path)]) == 2
    assert "there is no netlist under" in capsys.readouterr().err


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_the_prose_of_a_help_fits_the_usual_terminal(command: str, capsys: Captured) -> None:
    assert main([command, "--help"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line for line in lines if len(line) > 80 and not line.startswith("  wiregen ")] == []
