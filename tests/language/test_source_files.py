"""Files that cannot be read: one finding each, never an exception."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wiregen.findings import Finding
from wiregen.language import read_source
from wiregen.language.limits import DEEPEST, LARGEST, MOST_MISTAKES


def refused(path: str = "-", data: bytes | None = None) -> Finding:
    """The one finding about a file that is not read."""
    source, findings = read_source(path, data=data)
    assert source is None
    (finding,) = findings
    assert finding.lost and finding.rule == "netlist-mistake" and finding.path == path
    assert finding.remedy
    return finding


def test_a_text_is_read_without_its_byte_order_mark_and_with_plain_line_ends(tmp_path: Path) -> None:
    path = tmp_path / "a.wnet"
    path.write_bytes('\ufeffjob "e\u0301"\r\nfuse F1\rx\n'.encode())
    source, findings = read_source(str(path))
    assert source is not None and not findings
    assert source.text == 'job "é"\nfuse F1\nx\n'


@pytest.mark.parametrize(
    "data, told",
    [
        (b"", "standard input is empty"),
        (b" \r\n\n", "is empty"),
        (b"\xef\xbb\xbf", "is empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00", "is not a text file"),
        (bytes(range(256)) * 8, "is not a text file"),
        ('job "a"\n'.encode("utf-16"), "UTF-16"),
        ('job "a"\nfuse F1\n'.encode("utf-16-le"), "UTF-16"),
        ('job "a"\nfuse F1\n'.encode("utf-16-be"), "UTF-16"),
        (b"x" * (LARGEST + 1), "larger than"),
    ],
)
def test_what_is_no_netlist_is_told_as_a_whole(data: bytes, told: str) -> None:
    finding = refused(data=data)
    assert told in finding.message and finding.at is None


@pytest.mark.parametrize(
    "data, line, column, told",
    [
        ('fuse F1\njob "café"\n'.encode("latin-1"), 2, 9, "in Latin-1 it would be `é`"),
        (b"fuse F1 40 A, at bonnet\nfuse \x01 F2 40 A, at tray, volts 58 V\n", 2, 6, "control character"),
        (b"fuse F1 40 A, at bonnet\nfuse \x00 F2 40 A, at tray, volts 58 V\n", 2, 6, "control character"),
        (b"fuse F1 \xc3", 1, 9, "is not UTF-8"),
    ],
)
def test_a_bad_byte_is_told_at_its_place(data: bytes, line: int, column: int, told: str) -> None:
    finding = refused(data=data)
    assert told in finding.message
    assert finding.at is not None and finding.at.span.source.position(finding.at.span.start) == (line, column)


def test_a_file_of_the_largest_size_is_read() -> None:
    source, findings = read_source("-", data=b"#" * (LARGEST - 1) + b"\n")
    assert source is not None and not findings


def test_paths_that_are_no_readable_file(tmp_path: Path) -> None:
    assert "there is no file" in refused(str(tmp_path / "none.wnet")).message
    assert "is a folder" in refused(str(tmp_path)).message
    (tmp_path / "a").write_text("x")
    assert "there is no file" in refused(str(tmp_path / "a" / "b.wnet")).message
    assert "could not be read" in refused("a\0b").message
    long = refused("x" * 5000)
    assert "could not be read" in long.message and len(long.message) < 300
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        assert "not a file" in refused(str(tmp_path / "pipe")).message
    if os.path.exists("/dev/zero"):
        assert "not a file" in refused("/dev/zero").message


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied")

    (tmp_path / "secret.wnet").write_text("x")
    monkeypatch.setattr("wiregen.language.files.open", refuse, raising=False)
    assert "may not be read" in refused(str(tmp_path / "secret.wnet")).message


@given(st.binary(max_size=300))
def test_any_bytes_give_a_text_or_one_finding(data: bytes) -> None:
    source, findings = read_source("-", data=data)
    assert (source is None) == (len(findings) == 1)


def test_the_reference_states_the_limits() -> None:
    reference = (Path(__file__).resolve().parents[2] / "grammar" / "README.md").read_text(encoding="utf-8")
    assert f"may be {LARGEST // 1_000_000} MB long, with braces {DEEPEST} levels deep" in reference
    assert f"the first {MOST_MISTAKES} are told" in reference
