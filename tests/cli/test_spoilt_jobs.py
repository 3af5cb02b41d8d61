"""Whatever stands in a file: findings, never an exception, and never a drawing that does not match."""

import random
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wiregen.circuit import study
from wiregen.drawing import Options, draw_job
from wiregen.findings.json import Checked, findings_json
from wiregen.findings.text import findings_text
from wiregen.language.files import read_source
from wiregen.language.format import format_text
from wiregen.model import read
from wiregen.rules import check

ROOT = Path(__file__).resolve().parent.parent.parent
JOBS = [p.read_text(encoding="utf-8") for p in sorted((ROOT / "examples").glob("*.wnet"))]
TOKENS = re.compile(r"\n|[ \t]+|--\[|\]--|--|[\w.²°/%+-]+|.")
SCRAPS = [
    "--", "--[", "]--", "{", "}", ",", '"', "#", ".", "-", "+", "<", ">", "0", "-1", "1e999", "1e-300 ohm", "0 V",
    "0 A", "0 mm2", "0 m", "-5 m", "1 GA", "5..2 V", "nan", "loose", "rest", "loads", "start", "aux.+", "dcdc.in.-",
    "on k", "kit k { ends in out }", "\t", "\x1b[2J", "電", "\u202e", "each", "open", "1000000 A",
]  # fmt: skip


def all_the_way(text: str, drawn: bool) -> list[str]:
    """Every room but the files; what crashed on the way, in words."""
    job, found = read("x.wnet", text=text)
    findings = list(found)
    if job is not None and job.complete and not any(f.lost for f in findings):
        computed, more = study(job)
        findings = list(check(computed, earlier=(*findings, *more)))
        if drawn:
            _, told = draw_job(computed, findings, Options())
            findings += told
    findings_text(findings)
    findings_json([Checked("x.wnet", None, False)], findings)
    return [f.message for f in findings if f.rule in ("rule-failure", "drawing-failure")]


def spoilt(text: str, seed: int) -> str:
    """A job with a few words dropped, doubled, swapped or replaced, as a tired hand or a bad merge would."""
    chance = random.Random(seed)
    tokens = TOKENS.findall(text)
    words = [t for t in tokens if t.strip()]
    for _ in range(chance.choice([1, 1, 1, 2, 3, 8])):
        at = chance.randrange(len(tokens))
        kind = chance.randrange(6)
        if kind == 0:
            del tokens[at]
        elif kind == 1:
            tokens.insert(at, tokens[at])
        elif kind == 2:
            other = chance.randrange(len(tokens))
            tokens[at], tokens[other] = tokens[other], tokens[at]
        elif kind == 3:
            tokens[at] = chance.choice(words)
        elif kind == 4:
            tokens[at] = f" {chance.choice(SCRAPS)} "
        else:  # a whole line
            lines = "".join(tokens).split("\n")
            line = chance.randrange(len(lines))
            lines[line : line + 1] = [] if chance.random() < 0.6 else [lines[line]] * 2
            tokens = TOKENS.findall("\n".join(lines))
    return "".join(tokens)


ONCE_CRASHED = [
    "place bay\nbattery a 70 Ah\nbattery b 70 Ah\na.+ --[red 6 mm2 2 m via bay 0 m, bay 1 m]-- b.+\n",
]


@pytest.mark.parametrize("text", ONCE_CRASHED)
def test_what_once_crashed_a_room_does_so_no_more(text: str) -> None:
    assert not all_the_way(text, drawn=True)


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_told(data: bytes) -> None:
    source, found = read_source("x.wnet", data=data)
    assert source is not None or found
    if source is not None:
        assert not all_the_way(source.text, drawn=True)
        format_text(source)


@settings(max_examples=40)
@given(st.sampled_from(JOBS), st.integers(0, 2**32))
def test_a_spoilt_job_never_crashes_a_room(text: str, seed: int) -> None:
    assert not all_the_way(spoilt(text, seed), drawn=False)


@pytest.mark.long
@settings(max_examples=3000)
@given(st.sampled_from(JOBS), st.integers(0, 2**32))
def test_many_spoilt_jobs_never_crash_a_room_and_can_be_drawn(text: str, seed: int) -> None:
    assert not all_the_way(spoilt(text, seed), drawn=True)
