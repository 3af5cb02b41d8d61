"""Real processes with real streams: pipes that close, full disks, odd encodings, terminals."""

import os
import pty
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from wiregen.cli import new

RUN = [sys.executable, "-m", "wiregen"]
STARTER = (Path(new.__file__).parent / new.STARTER).read_bytes()
BARE = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "FORCE_COLOR", "COLUMNS", "TERM")}


@pytest.fixture
def hazard(tmp_path: Path) -> Path:
    path = tmp_path / "hazard.wnet"
    text = STARTER.decode().replace("--[R1 red 150 mm]-- F1", "--[R1 red 2.5 m]-- F1")
    path.write_text(text.replace('"My first job"', '"電池 ° job"') + "# mm² 電池\n", encoding="utf-8")
    return path


def in_terminal(command: list[str], columns: int, **more: str) -> str:
    """What a terminal of that width is sent."""
    import fcntl
    import struct
    import termios

    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    process = subprocess.Popen(command, stdout=slave, stderr=slave, env={**BARE, "TERM": "xterm", **more})
    os.close(slave)
    sent = b""
    while True:
        try:
            block = os.read(master, 65536)
        except OSError:
            break
        if not block:
            break
        sent += block
    process.wait()
    os.close(master)
    return sent.decode()


def test_a_terminal_gets_colour_and_its_own_width(hazard: Path) -> None:
    sent = in_terminal([*RUN, "check", str(hazard)], 60)
    assert "\x1b[1;31mdanger\x1b[0m" in sent
    shown = [line.replace("\x1b[1;31m", "").replace("\x1b[0m", "") for line in sent.splitlines()]
    assert max(len(line) for line in shown if str(hazard) not in line) <= 60
    assert max(len(line) for line in shown if str(hazard) not in line) > 40


@pytest.mark.parametrize("more", [{"NO_COLOR": "1"}, {"TERM": "dumb"}, {"NO_COLOR": "1", "FORCE_COLOR": "1"}])
def test_no_colour_where_it_is_not_wanted(hazard: Path, more: dict[str, str]) -> None:
    assert "\x1b" not in in_terminal([*RUN, "check", str(hazard)], 100, **more)


def test_a_pipe_gets_no_colour_unless_forced(hazard: Path) -> None:
    plain = subprocess.run([*RUN, "check", str(hazard)], capture_output=True, env=BARE)
    forced = subprocess.run([*RUN, "check", str(hazard)], capture_output=True, env={**BARE, "FORCE_COLOR": "1"})
    assert b"\x1b" not in plain.stdout and b"\x1b[1;31m" in forced.stdout
    assert plain.returncode == forced.returncode == 1


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp1252", "utf-8"])
@pytest.mark.parametrize("words", [["check"], ["check", "--output", "json"], ["study"]])
def test_no_encoding_of_the_output_stops_a_report(hazard: Path, encoding: str, words: list[str]) -> None:
    env = {**BARE, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"}
    run = subprocess.run([*RUN, *words, str(hazard)], capture_output=True, env=env)
    assert run.returncode == (1 if words[0] == "check" else 0), run.stderr
    assert run.stdout and b"wiregen itself" not in run.stderr


def test_a_locale_without_letters_stops_nothing(hazard: Path) -> None:
    env = {**BARE, "LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"}
    env.pop("HOME", None)
    plain = subprocess.run(
        [*RUN, "check", "--output", "json", hazard.name], capture_output=True, env=env, cwd=hazard.parent
    )
    usual = subprocess.run(
        [*RUN, "check", "--output", "json", hazard.name], capture_output=True, env=BARE, cwd=hazard.parent
    )
    assert plain.stdout == usual.stdout and plain.returncode == usual.returncode == 1


def test_a_reader_that_goes_away_is_no_trouble(hazard: Path) -> None:
    process = subprocess.Popen(
        [*RUN, "check", *[str(hazard)] * 3], stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=BARE
    )
    assert process.stdout and process.stderr
    process.stdout.close()
    assert process.stderr.read() == b""
    process.stderr.close()
    assert process.wait() == 1


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="a device of Linux")
@pytest.mark.parametrize("words", [["check"], ["study"], ["format", "-o", "/dev/full"], ["draw", "-o", "/dev/full"]])
def test_a_full_disk_ends_with_3_and_one_message(hazard: Path, words: list[str]) -> None:
    with open("/dev/full", "wb") as full:
        run = subprocess.run([*RUN, *words, str(hazard)], stdout=full, stderr=subprocess.PIPE, env=BARE)
    assert run.returncode == 3
    assert run.stderr.count(b"could not be written: the disk is full") == 1
    assert b"Traceback" not in run.stderr and b"Exception ignored" not in run.stderr


def test_closed_streams_do_not_crash(hazard: Path) -> None:
    shell = '"$0" -m wiregen check "$1" >&-; echo $? ; "$0" -m wiregen check none.wnet 2>&- >/dev/null; echo $?;'
    shell += '"$0" -m wiregen check - <&- >/dev/null; echo $?'
    run = subprocess.run(["sh", "-c", shell, sys.executable, str(hazard)], capture_output=True, text=True, env=BARE)
    assert run.stdout.split() == ["3", "2", "2"]
    assert "Traceback" not in run.stderr


def test_a_stop_from_the_keyboard_is_quiet_and_ends_with_130() -> None:
    process = subprocess.Popen([*RUN, "check", "-"], stdin=subprocess.PIPE, stderr=subprocess.PIPE, env=BARE)
    time.sleep(1.0)  # until it waits for its input
    process.send_signal(signal.SIGINT)
    _, err = process.communicate()
    assert process.returncode == 130 and err == b""


def test_the_module_and_the_command_are_the_same() -> None:
    assert subprocess.run([*RUN, "--version"], capture_output=True, text=True).stdout.startswith("wiregen ")
