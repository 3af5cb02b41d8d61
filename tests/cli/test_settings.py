"""The settings of a repository: found upwards as far as its top, checked, and overruled by the command line."""

import json
from pathlib import Path

import pytest

from wiregen.cli import main, new
from wiregen.cli.settings import Settings, settings

STARTER = (Path(new.__file__).parent / new.STARTER).read_text(encoding="utf-8")
FAR_FUSE = STARTER.replace("--[R1 red 150 mm]-- F1", "--[R1 red 185 mm]-- F1")
STALE = STARTER + 'accept unfused-positive on R1 because "x"\n'
Captured = pytest.CaptureFixture[str]


@pytest.fixture
def inside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The top of a repository, with the working folder two levels below."""
    (tmp_path / ".git").mkdir()
    (tmp_path / "jobs" / "one").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "jobs" / "one")
    return tmp_path


def put(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")


def test_nothing_is_set_where_there_is_no_file(inside: Path) -> None:
    assert settings() == Settings()


def test_settings_are_found_above_and_their_paths_seen_from_here(inside: Path) -> None:
    put(inside / "wiregen.toml", 'include = ["kits"]\nfail-on = "danger"\nlimits = "abyc"\nbaseline = "base.json"\n')
    found = settings()
    assert [Path(p).resolve() for p in (*found.include, found.baseline)] == [inside / "kits", inside / "base.json"]
    assert not Path(found.baseline).is_absolute()
    assert (found.fail_on, found.limits) == ("danger", "abyc")


def test_the_nearest_file_wins_and_nothing_above_the_repository_counts(inside: Path) -> None:
    put(inside / "jobs" / "pyproject.toml", '[tool.wiregen]\nlimits = "abyc"\n')
    put(inside / "wiregen.toml", 'limits = "iso13297"\n')
    assert settings().limits == "abyc"
    (inside / "jobs" / "pyproject.toml").unlink()
    (inside / "wiregen.toml").unlink()
    (inside / "jobs" / ".git").mkdir()
    put(inside / "wiregen.toml", 'limits = "iso13297"\n')
    assert settings() == Settings()


def test_a_project_file_of_something_else_is_passed_over(inside: Path) -> None:
    put(inside / "jobs" / "pyproject.toml", '[project]\nname = "wiregen"\n[tool]\nother = 1\n')
    put(inside / "pyproject.toml", '[tool]\nwiregen = { fail-on = "advice" }\n')
    assert settings().fail_on == "advice"


@pytest.mark.parametrize(
    "text, said",
    [
        ('fail_on = "danger"', "there is no setting `fail_on`; did you mean `fail-on`?"),
        ("colour = 1", "there is no setting `colour`; there are include, fail-on, limits, baseline"),
        ('fail-on = "never"', "`fail-on` is one of danger, warning, advice"),
        ('include = "kits"', "`include` is a list of folders"),
        ("baseline = 3", "`baseline` is a word in quotation marks"),
        ('limits = "mine"', "there are no limits `mine`; there are "),
        ("limits = ", "wiregen.toml is no TOML"),
    ],
)
@pytest.mark.parametrize("command", ["check", "study", "draw"])
def test_a_wrong_setting_is_one_clear_message(
    inside: Path, command: str, text: str, said: str, capsys: Captured
) -> None:
    put(inside / "wiregen.toml", text + "\n")
    put(inside / "jobs" / "one" / "job.wnet", STARTER)
    assert main([command, "job.wnet"]) == 2
    captured = capsys.readouterr()
    assert said in captured.err and captured.err.count("\n") == 1 and captured.out == ""
    assert str(inside) not in captured.err


def test_the_threshold_of_the_repository_and_that_of_the_command(inside: Path, capsys: Captured) -> None:
    put(inside / "wiregen.toml", 'fail-on = "danger"\n')
    put(inside / "jobs" / "one" / "job.wnet", STALE)
    assert [main(["check", "job.wnet"]), main(["check", "job.wnet", "--fail-on", "warning"])] == [0, 1]
    capsys.readouterr()


def test_limits_stand_in_only_where_the_job_names_none_and_the_study_says_so(inside: Path, capsys: Captured) -> None:
    job = inside / "jobs" / "one" / "job.wnet"
    assert "limits iso13297" in FAR_FUSE
    put(inside / "wiregen.toml", 'limits = "abyc"\n')
    put(job, FAR_FUSE)
    assert main(["check", "job.wnet"]) == 0
    put(job, FAR_FUSE.replace("    limits iso13297 ", "    # none "))
    assert main(["check", "job.wnet"]) == 1
    assert "178 mm" in capsys.readouterr().out
    assert main(["study", "job.wnet", "--output", "json"]) == 0
    assumed = json.loads(capsys.readouterr().out)["assumptions"]
    assert [a["value"] for a in assumed if a["quantity"] == "limits"] == ["abyc"]


def test_folders_of_the_repository_may_be_included_from(inside: Path, capsys: Captured) -> None:
    (inside / "kits").mkdir()
    put(inside / "kits" / "k.wnet", 'library "K"\n')
    put(inside / "jobs" / "one" / "job.wnet", STARTER.rstrip() + '\ninclude "k.wnet"\n')
    assert main(["check", "job.wnet"]) == 2
    put(inside / "wiregen.toml", 'include = ["kits"]\n')
    assert main(["check", "job.wnet"]) == 0
    capsys.readouterr()


def test_a_working_folder_that_is_gone_has_no_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    gone = tmp_path / "gone"
    gone.mkdir()
    monkeypatch.chdir(gone)
    gone.rmdir()
    assert settings() == Settings()
    monkeypatch.chdir(tmp_path)
