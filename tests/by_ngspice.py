"""ngspice as the reference solver: one run of a deck."""

from __future__ import annotations

import shutil
import subprocess

import pytest

from wiregen.exchange.spice import OPTIONS

STRICT = ".options reltol=1e-9 abstol=1e-12 vntol=1e-10 gmin=1e-15 rshunt=1e12 itl1=1000"
needs_ngspice = pytest.mark.skipif(shutil.which("ngspice") is None, reason="ngspice is not installed (apt: ngspice)")


def run(deck: str) -> dict[str, float]:
    """Node voltages and source currents by ngspice; empty where it finds no answer (first strictly, then loosely)."""
    for options in (STRICT, OPTIONS):
        text = deck.replace(OPTIONS, options)
        done = subprocess.run(["ngspice", "-b"], input=text, capture_output=True, text=True, check=False)
        found = {}
        for line in done.stdout.splitlines():
            name, equals, value = line.partition(" = ")
            if equals and " " not in value.strip():
                found[name.strip()] = float(value)
        if len(found) > 1:
            return found
    return {}
