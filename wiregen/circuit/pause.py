"""Python's cycle collector put aside during a computation that makes much data and no cycles."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_at_rest() -> Iterator[None]:
    """Nothing is collected within; what was on before is on again after, also after an error."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
