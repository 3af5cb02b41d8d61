"""Output files are written whole or not at all."""

import errno
import os
import stat
from pathlib import Path

import pytest

from wiregen.cli.files import make_folder, write_whole
from wiregen.cli.streams import NotWritten


def no_leftovers(folder: Path) -> bool:
    return not [path for path in folder.iterdir() if path.name.endswith(".part")]


def test_a_new_file_gets_the_bytes_and_the_usual_permissions(tmp_path: Path) -> None:
    mask = os.umask(0o022)
    try:
        write_whole({str(tmp_path / "a.svg"): b"whole"})
    finally:
        os.umask(mask)
    assert (tmp_path / "a.svg").read_bytes() == b"whole"
    assert stat.S_IMODE((tmp_path / "a.svg").stat().st_mode) == 0o644
    assert no_leftovers(tmp_path)


def test_an_old_file_keeps_its_permissions(tmp_path: Path) -> None:
    old = tmp_path / "a.wnet"
    old.write_bytes(b"old")
    old.chmod(0o600)
    write_whole({str(old): b"new"})
    assert old.read_bytes() == b"new"
    assert stat.S_IMODE(old.stat().st_mode) == 0o600


def test_a_link_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real.wnet").write_bytes(b"old")
    (tmp_path / "link.wnet").symlink_to("real.wnet")
    write_whole({str(tmp_path / "link.wnet"): b"new"})
    assert (tmp_path / "link.wnet").is_symlink()
    assert (tmp_path / "real.wnet").read_bytes() == b"new"


@pytest.mark.parametrize("failing", ["write", "fsync", "replace"])
def test_a_full_disk_leaves_every_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str) -> None:
    for name in ("a", "b"):
        (tmp_path / name).write_bytes(b"old")

    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    if failing == "write":
        real = os.fdopen(os.open(os.devnull, os.O_WRONLY), "wb")
        monkeypatch.setattr("builtins.open", lambda *_a, **_k: full())
        real.close()
    else:
        monkeypatch.setattr(os, failing, full)
    with pytest.raises(NotWritten, match="could not be written: the disk is full"):
        write_whole({str(tmp_path / "a"): b"new", str(tmp_path / "b"): b"new"})
    monkeypatch.undo()
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes() == b"old"
    assert no_leftovers(tmp_path)


def test_the_second_of_two_that_cannot_be_written_leaves_the_first_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"old")
    (tmp_path / "folder").mkdir()
    with pytest.raises(NotWritten, match="it is a folder"):
        write_whole({str(tmp_path / "a"): b"new", str(tmp_path / "folder"): b"new"})
    assert (tmp_path / "a").read_bytes() == b"old"
    assert no_leftovers(tmp_path)


def test_a_stop_from_the_keyboard_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a").write_bytes(b"old")

    def stopped(_: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(os, "fsync", stopped)
    with pytest.raises(KeyboardInterrupt):
        write_whole({str(tmp_path / "a"): b"new"})
    assert (tmp_path / "a").read_bytes() == b"old"
    assert no_leftovers(tmp_path)


def test_a_missing_folder_and_too_long_a_name_are_told(tmp_path: Path) -> None:
    with pytest.raises(NotWritten, match="there is no such folder"):
        write_whole({str(tmp_path / "none" / "a"): b""})
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(NotWritten, match="a part of the path is not a folder"):
        write_whole({str(tmp_path / "file" / "a"): b""})
    with pytest.raises(NotWritten, match="the name is too long"):
        write_whole({str(tmp_path / ("x" * 300)): b""})


def test_a_read_only_file_is_left_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a").write_bytes(b"old")
    monkeypatch.setattr(os, "access", lambda *_: False)  # root may write anywhere, so the answer is given here
    with pytest.raises(NotWritten, match="it is read-only"):
        write_whole({str(tmp_path / "a"): b"new"})
    assert (tmp_path / "a").read_bytes() == b"old"


def test_a_device_is_written_to_and_not_replaced() -> None:
    write_whole({os.devnull: b"lost"})
    assert not stat.S_ISREG(os.stat(os.devnull).st_mode)


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="a device of Linux")
def test_a_full_device_is_told() -> None:
    with pytest.raises(NotWritten, match="the disk is full"):
        write_whole({"/dev/full": b"x"})


def test_a_folder_for_outputs_is_made_once(tmp_path: Path) -> None:
    make_folder(str(tmp_path / "out" / "deep"))
    make_folder(str(tmp_path / "out" / "deep"))
    (tmp_path / "file").write_bytes(b"")
    with pytest.raises(NotWritten, match="it is not a folder"):
        make_folder(str(tmp_path / "file"))
