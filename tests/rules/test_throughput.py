"""Throughput: `check` of 1,000 netlists of 50 parts beside raw parsing of the same texts, in one process and one run.

Half of the texts are random jobs (`tests/jobs.py`): wired at random, so that most hold many faults and many of their
cases have no answer; what rules then look for (the size that passes, the drop of a case that cannot be held) is the
dearest that they do. The other half are grown from the sound shapes that faults are planted in (`sound_jobs.py`), with
circuits added until there are 50 parts: what a workshop keeps in its repository and checks on every change, with
nothing or little to say. Both ratios are printed; the measure is of all of them together, and of each half.

Raw parsing is lark's own, with the grammar as it is read from the file (LALR, positions kept, no trees of ours).
Everything else is what `wiregen check` does with a file that is read, its report in text included, less that parsing.
"""

from __future__ import annotations

import gc
import time
from functools import cache
from pathlib import Path

import pytest
from jobs import random_netlist
from lark import Lark
from sound_jobs import SHAPES, Writer

from wiregen.circuit import study
from wiregen.findings.text import findings_text
from wiregen.model import read
from wiregen.rules import check

PARTS = 50
NETLISTS = 1000
MOST = 3.0  # times the parse, for everything else together


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


@pytest.mark.benchmark
def test_check_costs_three_parses(record_property, capsys):
    halves = {
        "random": [random_netlist(seed, PARTS) for seed in range(NETLISTS // 2)],
        "grown from sound ones": [grown(seed) for seed in range(NETLISTS // 2)],
    }
    ratios, parse, rest = {}, 0.0, 0.0
    for name, texts in halves.items():
        parsed, checked = seconds(texts)
        ratios[name] = (checked - parsed) / parsed
        parse, rest = parse + parsed, rest + checked - parsed
        record_property(name, ratios[name])
        with capsys.disabled():
            each = 1e3 / len(texts)
            print(f"\n{name}: parse {parsed * each:.1f} ms, check {checked * each:.1f} ms, {ratios[name]:.2f}")
    with capsys.disabled():
        print(f"together: {rest / parse:.2f}")
    assert rest / parse <= MOST
