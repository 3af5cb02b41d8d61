"""Coverage-guided fuzzing, by hand: `python tests/fuzz/fuzz.py TARGET --minutes 30 --work FOLDER`.

Needs atheris (not among the project's own packages: `pip install atheris`). Minutes are minutes of CPU. FOLDER keeps
the corpus from one run to the next, and in FOLDER/found each kind of fault once: the input, and a .txt beside it that
tells what happened. The run goes on after a fault; only a hang of half an hour by the clock, or 1 GB of memory, ends
it. The first inputs are the project's own netlists and tables.
"""

from __future__ import annotations

import argparse
import hashlib
import random
import re
import resource
import sys
import time
import traceback
from pathlib import Path

import atheris

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
sys.path[:0] = [str(HERE), str(ROOT)]
sys.setrecursionlimit(1000)
with atheris.instrument_imports(include=["wiregen"]):
    from targets import TARGETS
from words import changed  # noqa: E402 (it is not instrumented)

SLOW = 10.0  # seconds of CPU, instrumented


def first_inputs(target: str) -> list[bytes]:
    """The project's own netlists, or tables made of them."""
    paths = sorted([*ROOT.glob("examples/**/*.wnet"), *ROOT.glob("tests/**/*.wnet"), *ROOT.glob("wiregen/**/*.wnet")])
    texts = [path.read_bytes() for path in paths]
    for page in sorted(ROOT.glob("tests/rules/*.md")):
        texts += [block.encode() for block in re.findall(r"```\w*\n(.*?)```", page.read_text(), re.S)][:4]
    if target in ("csv", "xlsx"):
        from wiregen.exchange.template import template
        from wiregen.exchange.to_table import csv_bytes, tables, xlsx_bytes
        from wiregen.model import read

        made = []
        for path in paths:
            job, _ = read(str(path))
            if job is not None and job.complete:
                made.append(csv_bytes(tables(job)))
                if target == "xlsx" and len(made) % 8 == 1:
                    made.append(xlsx_bytes(tables(job)))
        return [*made, *([template()] if target == "xlsx" else [])]
    return texts


def main() -> None:
    """Fuzz one target for so many CPU minutes."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("target", choices=TARGETS)
    arguments.add_argument("--minutes", type=float, default=30)
    arguments.add_argument("--work", type=Path, required=True)
    asked = arguments.parse_args()
    target, run = asked.target, TARGETS[asked.target]
    corpus, found = asked.work / "corpus" / target, asked.work / "found"
    corpus.mkdir(parents=True, exist_ok=True)
    found.mkdir(parents=True, exist_ok=True)
    firsts = first_inputs(target)
    for data in firsts:
        (corpus / hashlib.sha1(data).hexdigest()).write_bytes(data)
    texts = [data.decode("utf-8", "replace") for data in firsts]
    seen: set[str] = {path.stem for path in found.glob(f"{target}-*.txt")}
    count, begin = 0, time.time()
    slowest = 0.0

    def tell(kind: str, words: str, data: bytes) -> None:
        name = f"{target}-{hashlib.sha1(kind.encode()).hexdigest()[:10]}"
        if name not in seen:
            seen.add(name)
            (found / f"{name}.input").write_bytes(data)
            (found / f"{name}.txt").write_text(f"{kind}\n\n{words}\n", "utf-8", "backslashreplace")
            print(f"FOUND {name} {kind}", flush=True)

    def one(data: bytes) -> None:
        nonlocal count, slowest
        count += 1
        started = time.process_time()
        try:
            for words in run(data):
                tell(re.sub(r"\b\S*[\d.]\S*", "0", words)[:200], words, data)
        except Exception as error:
            frames = traceback.extract_tb(error.__traceback__)
            places = [f"{Path(f.filename).name}:{f.name}" for f in frames if "/wiregen/" in f.filename][-2:]
            tell(f"{type(error).__name__} {' '.join(places) or error}", traceback.format_exc(), data)
        taken = time.process_time() - started
        if taken > SLOW:
            tell(f"slow {int(taken / SLOW)}", f"{taken:.1f} s of CPU for {len(data)} bytes", data)
        slowest = max(slowest, taken)
        used = time.process_time()
        if count % 2000 == 0 or used > 60 * asked.minutes:
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
            print(
                f"{target}: {count} inputs, {used / 60:.1f} CPU minutes, {(time.time() - begin) / 60:.1f} minutes by"
                f" the clock, slowest {slowest:.2f} s, most memory {memory} MB, {len(seen)} kinds of fault", flush=True,
            )  # fmt: skip
        if used > 60 * asked.minutes:
            sys.stdout.flush()
            import os

            os._exit(0)

    def by_words(data: bytes, most: int, seed: int) -> bytes:
        if random.Random(seed).random() < 0.05:
            return atheris.Mutate(data, most)
        return changed(data.decode("utf-8", "replace"), texts, seed).encode("utf-8", "replace")[:most]

    flags = [sys.argv[0], str(corpus), "-max_len=20000", "-timeout=1800", "-rss_limit_mb=1000",
             "-report_slow_units=1800",
             f"-artifact_prefix={found}/{target}-ended-", "-verbosity=1", "-use_value_profile=0"]  # fmt: skip
    if target == "by-words":
        atheris.Setup(flags, one, custom_mutator=by_words)
    else:
        words = asked.work / "words.txt"
        if not words.exists():
            plain = sorted({w for text in texts for w in re.findall(r"[\w.-]+|--\[|\]--", text) if w.isascii()})
            words.write_text("".join(f'"{w}"\n' for w in plain))
        atheris.Setup([*flags, f"-dict={words}"], one)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
