"""Whatever the text says, reading it never raises; sound random jobs read without a mistake."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jobs import random_netlist

from wiregen.built.vocabulary import DATA
from wiregen.model import read

TABLE: dict[str, Any] = dict(DATA)
WORDS = sorted(
    {
        *TABLE["kinds"], *TABLE["statements"], *TABLE["colours"], *TABLE["part"], *TABLE["reserved"],
        "each", "takes", "ends", "is", "like", "back", "empty", "because", "until", "answer", "from",
        *(fact for kind in TABLE["kinds"].values() for fact in kind["facts"]),
        *(fact for row in TABLE["statements"].values() for fact in row.get("facts", {})),
        *(verb for row in TABLE["statements"].values() for verb in row.get("verbs", ())),
    }
)  # fmt: skip
NAMES = ["start", "F1", "F2", "X1", "W1", "NB1", "FB1", "K1", "T1", "bay", "C1", "start.+", "X1.-", "X1.a.+", "FB1.2",
         "T1.F", "T1.in", "C1.red", "NB1.3", "dcdc.in.+", "W1..W3", "t", "k"]  # fmt: skip
VALUES = ["40 A", "0 A", "12 V", "6 mm2", "2/0 AWG", "1 m", "-1 m", "5 %", "80 degC", "9..16 V", "3", "1..4", '"text"',
          "+", "-", "green/white", "<size>", "5 m +- 1 m", "2027-03-01", "90 ohm", "1e30 A", "6 auto-mm"]  # fmt: skip
MARKS = [" ", " ", " ", ", ", "\n", "\n", " -- ", " --[", "]-- ", " {\n", "\n}\n", ": "]
tokens = st.one_of(st.sampled_from(WORDS), st.sampled_from(NAMES), st.sampled_from(VALUES))
texts = st.lists(st.tuples(tokens, st.sampled_from(MARKS)), max_size=60).map(
    lambda rows: "".join(a + b for a, b in rows)
)


def read_all(text: str) -> None:
    """Read a text; look at everything that came of it."""
    job, findings = read("t.wnet", text=text)
    for finding in findings:
        assert finding.message and "\n" not in finding.message
        if finding.at:
            span = finding.at.span
            assert 0 <= span.start <= span.end <= len(span.source.text)
    if job is None:
        return
    assert job.complete or any(f.lost for f in findings)
    for conductor in job.conductors.values():
        assert conductor.from_ in job.terminals and conductor.to in job.terminals
    for link in job.links:
        assert link.a in job.terminals and link.b in job.terminals
    for part in job.parts.values():
        for contact in part.contacts:
            assert contact.a in job.terminals and contact.b in job.terminals
        assert all(terminal in job.terminals for terminal in part.terminals)
    for terminal in job.terminals.values():
        assert terminal.part in job.parts or terminal.part == ""


@given(texts)
@settings(max_examples=150)
def test_words_of_the_language_in_any_order_never_raise(text: str) -> None:
    read_all(text)


@pytest.mark.long
@given(texts)
@settings(max_examples=20_000)
def test_words_of_the_language_in_any_order_never_raise_for_long(text: str) -> None:
    read_all(text)


@given(st.text(max_size=200))
@settings(max_examples=100)
def test_any_text_never_raises(text: str) -> None:
    read_all(text)


@given(st.integers(0, 10**6), st.integers(2, 30), st.data())
@settings(max_examples=40)
def test_a_job_with_a_few_letters_changed_never_raises(seed: int, parts: int, data: st.DataObject) -> None:
    text = random_netlist(seed, parts)
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        cut = data.draw(st.integers(0, 12))
        text = text[:at] + data.draw(st.text("{}[]-,:.\"' \n+#A1<>", max_size=3)) + text[at + cut :]
    read_all(text)


@given(st.integers(0, 10**6), st.integers(2, 60))
@settings(max_examples=40)
def test_sound_random_jobs_read_without_a_mistake(seed: int, parts: int) -> None:
    text = random_netlist(seed, parts)
    job, findings = read("t.wnet", text=text)
    assert findings == () and job and job.complete
    assert len(job.parts) >= min(parts, 2)
    read_all(text)


def test_the_same_text_makes_the_same_job() -> None:
    text = random_netlist(7, 50)
    one, _ = read("t.wnet", text=text)
    two, _ = read("t.wnet", text=text)
    assert one == two and list(one.parts) == list(two.parts) if one and two else False


def test_kits_that_multiply_are_one_finding() -> None:
    lines = [f"kit k{n} {{\n" + "".join(f" k{n + 1} A{m}\n" for m in range(10)) + "}\n" for n in range(9)]
    text = "".join(lines) + "kit k9 {\n fuse F 5 A\n}\nk0 T\n"
    _, findings = read("t.wnet", text=text)
    assert [f.message.split(":")[0] for f in findings] == ["too many kits"]


def test_kits_in_a_ring_are_one_finding() -> None:
    text = "kit a {\n b B1\n b B2\n}\nkit b {\n a A1\n a A2\n}\na T1\na T2\n"
    _, findings = read("t.wnet", text=text)
    assert [f.message for f in findings] == ["kit a uses itself"]


def test_many_lines_stay_quick() -> None:
    """Ten thousand parts and paths: no step of reading may be quadratic."""
    import time

    lines = ["battery b 70 Ah agm", "busbar NB 100 A"]
    lines += [f"fuse F{n} 5 A\nb.+ --[red 1 mm2 1 m]-- F{n} --[W{n} red 1 mm2 1 m]-- NB" for n in range(3000)]
    begin = time.process_time()
    job, findings = read("t.wnet", text="\n".join(lines))
    assert job and findings == () and len(job.conductors) == 6000
    assert time.process_time() - begin < 20
