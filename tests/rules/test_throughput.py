"""Throughput: `check` of 1,000 netlists of 50 parts beside raw parsing of the same texts, in one process and one run.

Three kinds of netlists. Sound ones are grown from the shapes that faults are planted in (`sound_jobs.py`), with
circuits added until there are 50 parts: what a workshop keeps in its repository and checks on every change. Faulty
ones are the same with one or two faults planted (`faults.py`): what a change that needs a check looks like. These two
are the measure, 1,000 netlists together.

Random ones (`tests/jobs.py`) are wired at random: about half of their cases have no answer, and nearly every conductor
is at fault. What is then sought (which part leaves a case without an answer, the drop of a case that cannot be held,
the size that passes) is the dearest that there is, many times the bound of the other kinds. Nobody's repository looks
like that; they are measured all the same, against a bound of their own, which may only fall.

Raw parsing is lark's own, with the grammar as it is read from the file (LALR, positions kept, no trees of ours).
Everything else is what `wiregen check` does with a file that is read, its report in text included, less that parsing.
"""

from __future__ import annotations

import gc
import time
from functools import cache
from itertools import islice
from pathlib import Path

import pytest
from faults import PLANTERS, sheet
from jobs import random_netlist
from lark import Lark
from sound_jobs import SHAPES, Writer

from wiregen.circuit import study
from wiregen.findings.text import findings_text
from wiregen.model import read
from wiregen.rules import check

PARTS = 50
NETLISTS = 1000
RANDOM = 100  # netlists wired at random besides
MOST = 3.0  # times the parse, for everything else together, of the sound and the faulty ones
MOST_RANDOM = 25.0  # the same of those wired at random: measured 20 and a margin; may only fall


class Grown(Writer):
    """A sound job with circuits added on the bars that it has until it holds about 50 parts."""

    wanted = PARTS

    def bars(self, battery: str, volts: int, place: str, lead: int = 80) -> tuple[str, str]:
        """As in the small job; on the first bars the circuits are added."""
        first = "BP" not in self.count
        plus, minus = super().bars(battery, volts, place, lead)
        if first:
            self.bar, self.back, self.volts = plus, minus, volts
        return plus, minus

    def text(self) -> str:
        """The whole job."""
        small = super().text().replace(", studs 10", ", studs 60")
        rows = sum(path.count("]-- load ") + path.count("]-- lamp ") for path in self.paths)
        parts, paths = len(self.parts), len(self.paths)
        while len(self.parts) + 2 * rows < self.wanted:  # a way row is a fuse and a load
            self.small_circuit()
        return small + "\n".join([*self.parts[parts:], *self.paths[paths:]]) + "\n"

    def small_circuit(self) -> None:
        """A fuse, at times a switch, and a small load, with its own return."""
        amps, metres = self.random.choice((0.2, 0.5, 1.0)), self.length(0.8, 4.0)
        name, fuse = self.name("load"), self.link(self.fuse(amps), "cabin")
        self.parts.append(f"load {name} {amps:g} A, at cabin")
        path = f"{self.bar} -- {fuse} {self.wire('red', 1.5, metres)} "
        if self.random.random() < 0.3:
            switch = self.name("SW")
            self.parts.append(f"switch {switch} 10 A, at cabin, volts 60 V")
            path += f"{switch} {self.wire('red', 1.5, 0.3)} "
        self.paths.append(f"{path}{name}.+")
        self.paths.append(f"{name}.- {self.wire('black', 1.5, metres)} {self.back}")


def grown(seed: int) -> str:
    """A sound netlist of about 50 parts; the shapes take turns."""
    return Grown(seed, SHAPES[seed % len(SHAPES)]).text()


def faulty(seed: int) -> str:
    """A grown netlist with a fault planted in it, every other one with two; the planters take turns."""
    planters = [planter for planters in PLANTERS.values() for planter in planters]
    text, wanted = grown(seed), 1 + seed % 2
    for turn in range(len(planters)):
        if not wanted:
            break
        on = sheet(text)
        for fault in islice(planters[(seed + turn * 7) % len(planters)](on), 1):
            text, wanted = fault.text, wanted - 1
    return text


@cache
def raw() -> Lark:
    """Lark with our grammar and nothing of ours around it."""
    grammar = Path(__file__).parents[2] / "grammar" / "netlist.lark"
    return Lark(grammar.read_text(encoding="utf-8"), parser="lalr", propagate_positions=True)


def whole_check(text: str) -> str:
    """All that `wiregen check` does with a netlist that was read from a file."""
    job, mistakes = read("job.wnet", text=text)
    assert job is not None
    findings = check(study(job)[0], today="2026-01-01", earlier=mistakes)
    return findings_text(findings)


def seconds(texts: list[str]) -> tuple[float, float]:
    """Processor time of parsing the texts, and of checking them."""
    parser = raw()
    parser.parse(texts[0])
    whole_check(texts[0])  # imports and tables are paid once in a run of many
    gc.collect()
    began = time.process_time()
    for text in texts:
        parser.parse(text)
    parsed = time.process_time()
    for text in texts:
        whole_check(text)
    return parsed - began, time.process_time() - parsed


def test_the_grown_jobs_are_sound_and_of_the_size():
    for seed in range(2 * len(SHAPES)):
        job, mistakes = read("job.wnet", text=grown(seed))
        assert job is not None and not mistakes
        assert abs(len(job.parts) - PARTS) <= 4, (seed, len(job.parts))
        assert [f.message for f in check(study(job)[0])] == [], seed


def test_the_faulty_jobs_are_read_in_full_and_have_findings():
    for seed in range(2 * len(SHAPES)):
        job, mistakes = read("job.wnet", text=faulty(seed))
        assert job is not None and not mistakes
        assert check(study(job)[0]), seed


@pytest.mark.benchmark
def test_check_costs_three_parses(record_property, capsys):
    kinds = {
        "sound": [grown(seed) for seed in range(NETLISTS // 2)],
        "faulty": [faulty(seed) for seed in range(NETLISTS // 2)],
        "random": [random_netlist(seed, PARTS) for seed in range(RANDOM)],
    }
    ratios, parse, rest = {}, 0.0, 0.0
    for name, texts in kinds.items():
        parsed, checked = seconds(texts)
        ratios[name] = (checked - parsed) / parsed
        if name != "random":
            parse, rest = parse + parsed, rest + checked - parsed
        record_property(name, ratios[name])
        with capsys.disabled():
            each = 1e3 / len(texts)
            print(f"\n{name}: parse {parsed * each:.1f} ms, check {checked * each:.1f} ms, {ratios[name]:.2f}")
    with capsys.disabled():
        print(f"sound and faulty together: {rest / parse:.2f}")
    assert ratios["random"] <= MOST_RANDOM
    assert rest / parse <= MOST
