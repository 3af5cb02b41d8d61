"""The lettering can be read off the paper: each label's crop at 300 dpi is read again by a machine that knows nothing.

Needs tesseract (Debian: tesseract-ocr), which is no part of wiregen: part of the long run.
"""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from contract import Page

from wiregen.circuit.run import study
from wiregen.drawing import Options, draw_job, to_png
from wiregen.layout.shown import SHOWN
from wiregen.model import read

PIL = pytest.importorskip("PIL.Image")
EXAMPLES = Path(__file__).parents[2] / "examples"
DPI = 300
LEAST = 0.95
# folded: superscripts, whatever they are taken for, and letters that differ in nothing but their context
SUPERSCRIPT = re.compile(r"(?<=mm)(?:\?2|[²?*°72])")
ALIKE = str.maketrans("ΩOoIil|−–—’", "0001111---'")


def sheets() -> Iterator[str]:
    """Fifteen sheets: every example plain, then some with all that can be shown, the faulty ones."""
    for number, path in enumerate([*sorted(EXAMPLES.glob("*.wnet")), *sorted((EXAMPLES / "faulty").glob("*.wnet"))]):
        job, _ = read(str(path))
        assert job is not None
        of = study(job)[0]
        for options in (Options(), Options(show=SHOWN, case=of.cases[0].name))[: 2 if number in (2, 3) else 1]:
            yield from draw_job(of, (), options)[0] or ()


def labels(svg: str) -> Iterator[tuple[str, bytes]]:
    """The words of each label and the picture of its box with a white margin."""
    image = PIL.open(io.BytesIO(to_png(svg, DPI))).convert("L")
    scale = DPI / 25.4
    for _, box, node in Page(svg).labels:
        words = "\n".join(t.firstChild.data for t in node.getElementsByTagName("text"))
        if node.getElementsByTagName("g") or not words.strip():  # turned
            continue
        crop = image.crop([round(n * scale) for n in box])
        paper = PIL.new("L", (crop.width + 40, crop.height + 40), 255)
        paper.paste(crop, (20, 20))
        out = io.BytesIO()
        paper.save(out, "PNG", dpi=(DPI, DPI))
        yield words, out.getvalue()


def plain(words: str) -> str:
    return re.sub(r"\s", "", SUPERSCRIPT.sub("", words)).translate(ALIKE).lower()


def seen(picture: bytes) -> str:
    command = ["tesseract", "-", "-", "--psm", "6", "--dpi", str(DPI)]
    alone = {**os.environ, "OMP_THREAD_LIMIT": "1"}
    done = subprocess.run(command, input=picture, capture_output=True, check=True, env=alone)
    return done.stdout.decode()


@pytest.mark.long
def test_labels_are_read_again_from_the_paper() -> None:
    if shutil.which("tesseract") is None:
        (pytest.fail if os.environ.get("CI") else pytest.skip)("tesseract is not installed")
    drawn = list(sheets())[:15]
    assert len(drawn) == 15
    crops = [found for svg in drawn for found in labels(svg)]
    with ThreadPoolExecutor(2) as pool:
        read_again = list(pool.map(lambda crop: seen(crop[1]), crops))
    pairs = [(words, again) for (words, _), again in zip(crops, read_again, strict=True)]
    wrong = [pair for pair in pairs if plain(pair[0]) != plain(pair[1])]
    share = 1 - len(wrong) / len(crops)
    print(f"{len(crops)} labels, {share:.1%} read again; not: {wrong[:60]}")
    assert len(crops) > 300
    assert share >= LEAST, wrong
