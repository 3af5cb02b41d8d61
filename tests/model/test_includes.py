"""Includes: only from the job's own folder tree or folders named, each once, no loops, and pins that are compared."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from wiregen.findings import Finding
from wiregen.model import includes, read
from wiregen.model.job import Job

KIT = 'library "Kits", revision 3\ntype big is fuse 40 A strip\n'


def write(folder: Path, **files: str) -> Path:
    """Write files (`__` for `/`, `_` for `.`) and return the job's path."""
    for name, text in files.items():
        path = folder / (name.replace("__", "/") + ".wnet")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return folder / "job.wnet"


def opened(path: Path, *folders: Path) -> tuple[Job | None, list[Finding]]:
    """The job and its findings."""
    job, findings = read(str(path), include=tuple(str(f) for f in folders))
    return job, list(findings)


def test_an_include_brings_types_kits_and_parts(tmp_path: Path) -> None:
    job, findings = opened(write(tmp_path, job='include "kits/a.wnet"\nbig F1\n', kits__a=KIT + "fuse F2 5 A\n"))
    assert findings == []
    assert job and list(job.parts) == ["F2", "F1"] and job.parts["F1"].number("rating") == 40


def test_includes_are_relative_to_the_file_they_stand_in(tmp_path: Path) -> None:
    path = write(tmp_path, job='include "kits/a.wnet"\nbig F1\n', kits__a='include "b.wnet"\n', kits__b=KIT)
    assert opened(path)[1] == []


def test_a_file_included_twice_is_read_once(tmp_path: Path) -> None:
    text = 'include "a.wnet"\ninclude "b.wnet"\ninclude "./kits/../b.wnet"\nbig F1\n'
    path = write(tmp_path, job=text, a='include "b.wnet"\n', b=KIT, kits__c="")
    assert opened(path)[1] == []


def test_a_position_in_an_included_file_is_in_that_file(tmp_path: Path) -> None:
    path = write(tmp_path, job='include "kits/a.wnet"\n', kits__a="fuse F1 40 V\n")
    (finding,) = opened(path)[1]
    assert finding.at and finding.at.span.source.path == f"{tmp_path.as_posix()}/kits/a.wnet"


@pytest.mark.parametrize(
    ("text", "marked", "message"),
    [
        ('include "nothing.wnet"', '"nothing.wnet"', "there is no file"),
        ('include "../out.wnet"', '"../out.wnet"', "outside the folder tree"),
        ('include "kits/../../out.wnet"', '"kits/../../out.wnet"', "outside the folder tree"),
        ('include "/out.wnet"', '"/out.wnet"', "an absolute path"),
        ('include "C:/out.wnet"', '"C:/out.wnet"', "an absolute path"),
        ('include "kits"', '"kits"', "is a folder"),
        ('include ""', '""', "names no file"),
        ("include kits", "include kits", "one file in quotation marks"),
        ("include", "include", "one file in quotation marks"),
        ('include "a.wnet" version 3', "version", "no meaning in an include"),
    ],
)
def test_an_include_that_cannot_be(tmp_path: Path, text: str, marked: str, message: str) -> None:
    inside = tmp_path / "job"
    (tmp_path / "out.wnet").write_text("fuse OUT 5 A\n", encoding="utf-8")
    job, findings = opened(write(inside, job=text + "\nfuse F1 5 A\n", a=KIT, kits__a=KIT))
    assert job and "F1" in job.parts and "OUT" not in job.parts and not job.complete
    assert findings[0].at and findings[0].at.span.text == marked
    assert message in findings[0].message and findings[0].remedy


def test_a_link_that_leads_out_of_the_tree_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "secret.wnet").write_text("fuse SECRET 5 A\n", encoding="utf-8")
    path = write(tmp_path / "job", job='include "link.wnet"\n')
    os.symlink(tmp_path / "secret.wnet", tmp_path / "job" / "link.wnet")
    job, findings = opened(path)
    assert job and not job.parts
    assert "outside the folder tree" in findings[0].message


def test_a_named_folder_may_be_included_from(tmp_path: Path) -> None:
    path = write(tmp_path / "job", job='include "a.wnet"\nbig F1\n')
    write(tmp_path / "shelf", a='include "deep/b.wnet"\n', deep__b=KIT)
    assert "there is no file" in opened(path)[1][0].message
    job, findings = opened(path, tmp_path / "shelf")
    assert findings == [] and job and "F1" in job.parts


def test_a_loop_is_one_finding(tmp_path: Path) -> None:
    path = write(tmp_path, job='include "a.wnet"\n', a='include "b.wnet"\nfuse F1 5 A\n', b='include "a.wnet"\n')
    job, findings = opened(path)
    assert [f.message for f in findings] == ["a.wnet includes itself in a loop"]
    assert job and "F1" in job.parts
    own = write(tmp_path / "own", job='include "job.wnet"\n')
    assert [f.message for f in opened(own)[1]] == ["job.wnet includes itself in a loop"]


def test_a_chain_too_deep_and_too_many_files_are_one_finding_each(tmp_path: Path) -> None:
    deep = {f"f{n}": f'include "f{n + 1}.wnet"\n' for n in range(40)}
    (finding,) = opened(write(tmp_path / "deep", job='include "f0.wnet"\n', **deep))[1]
    assert finding.message == "too many includes" and f"{includes.DEEPEST} deep" in finding.reason
    wide = {f"f{n}": f"fuse F{n} 5 A\n" for n in range(includes.MOST_FILES + 20)}
    text = "".join(f'include "{name}.wnet"\n' for name in wide)
    (finding,) = opened(write(tmp_path / "wide", job=text, **wide))[1]
    assert finding.message == "too many includes"


def test_a_pinned_revision_is_compared(tmp_path: Path) -> None:
    path = write(tmp_path, job='include "a.wnet" revision 3\ninclude "b.wnet" revision 2\n', a=KIT, b="fuse F1 5 A\n")
    (finding,) = opened(path)[1]
    assert (finding.rule, finding.severity, finding.lost) == ("kit-changed", "warning", False)
    assert finding.at and finding.at.span.text == "2" and "says no revision" in finding.message
    path.write_text('include "a.wnet" revision 2\n', encoding="utf-8")
    (finding,) = opened(path)[1]
    assert "pinned to revision 2, and its revision is 3" in finding.message


def test_a_broken_include_is_told_at_the_include(tmp_path: Path) -> None:
    path = write(tmp_path, job='include "a.wnet"\nfuse F1 5 A\n')
    (tmp_path / "a.wnet").write_bytes(b"\x00\x01\x02")
    job, (finding, *_) = opened(path)
    assert finding.at and finding.at.span.text == '"a.wnet"' and job and "F1" in job.parts


def test_text_in_place_of_the_file_includes_from_the_files_folder(tmp_path: Path) -> None:
    write(tmp_path, a=KIT)
    job, findings = read(f"{tmp_path}/job.wnet", text='include "a.wnet"\nbig F1\n')
    assert findings == () and job and "F1" in job.parts


def test_what_a_missing_include_would_have_brought_is_not_told_again(tmp_path: Path) -> None:
    text = 'include "kits/gone.wnet"\nbattery start 70 Ah agm\nbig F1\nstart.+ --[R1 red 6 mm2 1 m]-- F1.post\n'
    assert [f.message.split(" ")[:4] for f in opened(write(tmp_path, job=text))[1]] == [["there", "is", "no", "file"]]


def test_a_slip_beside_a_missing_include_is_told(tmp_path: Path) -> None:
    text = 'include "kits/gone.wnet"\nbatery start 70 Ah agm\nF1 -- F2\n'
    messages = [f.message for f in opened(write(tmp_path, job=text))[1]]
    assert "no line begins with batery" in messages and "no part is called F1" in messages


def test_a_missing_include_names_the_other_folders_where_it_was_looked_for(tmp_path: Path) -> None:
    path = write(tmp_path, job='include "gone.wnet"\n')
    (tmp_path / "kits").mkdir()
    assert opened(path)[1][0].remedy == "check the name and the folder"
    assert opened(path, tmp_path / "kits")[1][0].remedy.endswith(f"it is not below {tmp_path}/kits either")
