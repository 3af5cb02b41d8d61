"""Files that are not what they seem, disks that are full, and commands that are stopped half way."""

from __future__ import annotations

import os
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from wiregen.cli import main
from wiregen.model import read

ROOT = Path(__file__).resolve().parent.parent.parent
RUN = [sys.executable, "-m", "wiregen"]
JOB = 'job "J"\nbattery b 70 Ah agm\n'
Captured = pytest.CaptureFixture[str]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "job.wnet").write_text(JOB, encoding="utf-8")
    return tmp_path


def told(text: str) -> list[str]:
    """What reading the job with this text in front says."""
    Path("job.wnet").write_text(text + JOB, encoding="utf-8")
    return [finding.message for finding in read("job.wnet")[1]]


# ---- includes


def test_a_pipe_or_a_device_in_the_place_of_a_kit_is_not_waited_for(here: Path) -> None:
    os.mkfifo(here / "pipe.wnet")
    (here / "zero.wnet").symlink_to("/dev/zero")
    assert "a device or a pipe" in told('include "pipe.wnet"\n')[0]
    assert "outside the folder tree" in told('include "zero.wnet"\n')[0]
    job, found = read("job.wnet", text='include "zero.wnet"\n', include=("/dev",))
    assert job is not None and not job.complete and "a device or a pipe" in found[0].message


def test_links_in_a_ring_are_told(here: Path) -> None:
    (here / "a.wnet").symlink_to("b.wnet")
    (here / "b.wnet").symlink_to("a.wnet")
    (here / "up").symlink_to(".")
    (here / "kit.wnet").write_text("fuse F1 5 A\n", encoding="utf-8")
    assert len(told('include "a.wnet"\n')) == 1
    # by whatever way, a file is one file
    assert told('include "kit.wnet"\ninclude "up/up/up/kit.wnet"\ninclude "./up/../kit.wnet"\n') == []
    assert "includes itself in a loop" in told('include "up/job.wnet"\n')[0]


def test_a_way_out_of_the_tree_is_closed_however_it_is_written(here: Path) -> None:
    inside = here / "inside"
    inside.mkdir()
    (here / "secret.wnet").write_text("fuse SECRET 5 A\n", encoding="utf-8")
    (inside / "out").symlink_to("..")
    (inside / "hard").mkdir()
    os.chdir(inside)
    ways = (
        "../secret.wnet", "out/secret.wnet", "hard/../../secret.wnet", "./././../secret.wnet", "..\\\\secret.wnet",
        f"{here}/secret.wnet", "//secret.wnet", "~/secret.wnet", "file:///secret.wnet",
        "\\\\\\\\host\\\\secret.wnet",
    )  # fmt: skip
    for way in ways:
        said = told(f'include "{way}"\n')
        assert len(said) == 1, way
        job, _ = read("job.wnet")
        assert job is not None and "SECRET" not in job.parts and not job.complete


def test_ten_thousand_includes_are_told_once(here: Path) -> None:
    folder = here / "kits"
    folder.mkdir()
    for n in range(300):
        (folder / f"{n}.wnet").write_text(f"fuse F{n} 5 A\n", encoding="utf-8")
    begin = time.process_time()
    said = told("".join(f'include "kits/{n % 300}.wnet"\n' for n in range(10_000)))
    assert said == ["too many includes"]
    assert time.process_time() - begin < 10


def test_includes_that_double_at_every_level_are_read_once(here: Path) -> None:
    for n in range(18):
        Path(f"{n}.wnet").write_text(f'include "{n + 1}.wnet"\n' * 50 + f"fuse F{n} 5 A\n", encoding="utf-8")
    Path("18.wnet").write_text("fuse F18 5 A\n", encoding="utf-8")
    begin = time.process_time()
    assert told('include "0.wnet"\n' * 50) == []
    assert time.process_time() - begin < 10


# ---- what is read


def test_a_pipe_among_the_netlists_of_a_folder_is_told_and_not_waited_for(here: Path, capsys: Captured) -> None:
    (here / "jobs").mkdir()
    os.mkfifo(here / "jobs" / "pipe.wnet")
    (here / "jobs" / "gone.wnet").symlink_to("nothing")
    (here / "jobs" / "a.wnet").write_text(JOB, encoding="utf-8")
    assert main(["check", "jobs"]) == 2
    out = capsys.readouterr().out
    assert "pipe.wnet is a device or a pipe" in out and "there is no file jobs/gone.wnet" in out


@pytest.mark.parametrize(
    "words",
    [
        ["check", "job.wnet", "--baseline", "/dev/zero"], ["folder", "job.wnet", "--office", "/dev/zero"],
        ["import", "/dev/zero"], ["check", "/dev/zero"], ["draw", "/dev/zero"],
        ["draw", "job.wnet", "--compare", "/dev/zero"],
    ],
)  # fmt: skip
def test_a_device_that_never_ends_is_not_read(here: Path, words: list[str], capsys: Captured) -> None:
    assert main(words) == 2
    captured = capsys.readouterr()
    assert "a device or a pipe" in captured.out + captured.err


def test_standard_input_that_never_ends_is_not_read_to_its_end(here: Path) -> None:
    with open("/dev/zero", "rb") as endless:
        done = subprocess.run([*RUN, "check", "-"], stdin=endless, capture_output=True, text=True, timeout=60)
    assert done.returncode == 2 and "larger than 1 MB" in done.stdout


# ---- what is written


OUTPUTS = [
    (["draw", "job.wnet"], ["job.svg"]),
    (["draw", "job.wnet", "--to", "pdf"], ["job.pdf"]),
    (["folder", "job.wnet"], ["job-folder.pdf", "job-folder.html", "job-folder.xlsx"]),
    (["export", "job.wnet", "--to", "csv"], ["job.csv"]),
    (["check", "job.wnet", "--output", "sarif", "-o", "r.sarif"], ["r.sarif"]),
    (["check", "job.wnet", "--write-baseline", "base.json"], ["base.json"]),
    (["format", "job.wnet", "-o", "plain.wnet"], ["plain.wnet"]),
]


def old(names: list[str]) -> None:
    """Files of those names are there already."""
    for name in names:
        Path(name).write_bytes(b"old")


def kept(names: list[str]) -> bool:
    """Whether all of them are as they were, and no piece of a new one lies about."""
    return all(Path(name).read_bytes() == b"old" for name in names) and not [n for n in os.listdir() if ".part" in n]


@pytest.mark.parametrize(("words", "names"), OUTPUTS, ids=lambda value: " ".join(value[:3]))
def test_a_disk_that_fills_up_half_way_leaves_the_old_files(here: Path, words: list[str], names: list[str]) -> None:
    """The system's own limit on the size of a file stands for a full disk: the first hundred bytes still go in."""
    old(names)

    def small() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (10, 10))

    done = subprocess.run([*RUN, *words], preexec_fn=small, capture_output=True, text=True)
    assert (
        done.returncode == 3
        and "could not be written" in done.stderr
        and "itself" not in done.stderr
        and "Traceback" not in done.stderr
    )
    assert kept(names)


STOPPED = """
import os, signal, sys
from wiregen.cli import main
real, times = os.fsync, []
def half_way(handle):
    times.append(handle)
    if len(times) == {last}:
        os.kill(os.getpid(), signal.{name})
    real(handle)
os.fsync = half_way
sys.exit(main({words!r}))
"""


@pytest.mark.parametrize("last", [1, 3])
@pytest.mark.parametrize("name", ["SIGTERM", "SIGHUP", "SIGINT"])
def test_a_command_stopped_half_way_leaves_the_old_files_and_tidies_up(here: Path, name: str, last: int) -> None:
    names = ["job-folder.pdf", "job-folder.html", "job-folder.xlsx"]
    old(names)
    script = STOPPED.format(name=name, last=last, words=["folder", "job.wnet"])
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.returncode == 128 + getattr(signal, name) and done.stderr == ""
    assert kept(names)


def test_a_command_that_is_killed_half_way_leaves_the_old_files(here: Path) -> None:
    names = ["job-folder.pdf", "job-folder.html", "job-folder.xlsx"]
    old(names)
    script = STOPPED.format(name="SIGKILL", last=3, words=["folder", "job.wnet"])
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.returncode == -signal.SIGKILL
    assert all(Path(name).read_bytes() == b"old" for name in names)


@pytest.mark.skipif(not os.path.exists("/proc/self/task"), reason="the list of a process's children is Linux's")
def test_a_worker_that_is_killed_ends_the_command_with_words(here: Path) -> None:
    """The system ends the largest process where memory runs out; the others must not wait for it for ever."""
    for n in range(400):
        (here / f"{n}.wnet").write_text((ROOT / "examples" / "trailer-48v.wnet").read_text(encoding="utf-8"))
    command = [*RUN, "check", ".", "--jobs", "2"]
    with subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True) as process:
        victims: list[int] = []
        until = time.monotonic() + 60
        while not victims and process.poll() is None and time.monotonic() < until:
            children = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()
            victims = [int(c) for c in children if b"spawn_main" in Path(f"/proc/{c}/cmdline").read_bytes()]
        os.kill(victims[0], signal.SIGKILL)
        assert process.stderr is not None
        _, told = process.communicate(timeout=120)
    assert process.returncode == 3 and "ended from outside" in told and "Traceback" not in told


@pytest.mark.parametrize(("words", "names"), OUTPUTS, ids=lambda value: " ".join(value[:3]))
def test_a_folder_that_may_not_be_written_to(
    here: Path, words: list[str], names: list[str], monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    """The superuser may write anywhere, so the system's refusal is given here."""
    real = os.open

    def refused(path: str, flags: int, mode: int = 0o777, **more: int) -> int:
        if flags & os.O_CREAT and str(path).endswith(".part"):
            raise PermissionError(13, "Permission denied")
        return real(path, flags, mode, **more)

    old(names)
    monkeypatch.setattr(os, "open", refused)
    assert main(words) == 3
    assert "you may not write there" in capsys.readouterr().err
    assert kept(names)


@pytest.mark.parametrize("words", [["draw", "job.wnet", "-o"], ["export", "job.wnet", "--to", "csv", "-o"]])
def test_an_output_is_never_the_netlist_itself(here: Path, words: list[str], capsys: Captured) -> None:
    (here / "link").symlink_to("job.wnet")
    os.link("job.wnet", "hard.wnet")
    before = Path("job.wnet").read_bytes()
    for name in ("job.wnet", "./job.wnet", "link", "hard.wnet"):
        assert main([*words, name]) == 3
        assert "it is the netlist itself" in capsys.readouterr().err
    assert Path("job.wnet").read_bytes() == before
