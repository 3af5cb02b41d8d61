"""The examples in docstrings do what they say (`python -m doctest` style)."""

import doctest
from importlib import import_module
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "wiregen"
WITH_EXAMPLES = sorted(p for p in PACKAGE.rglob("*.py") if ">>> " in p.read_text(encoding="utf-8"))
FRONT_DOORS = (  # what another program calls, room by room (DEVELOPERS.md)
    "__init__.py", "language/reader.py", "language/format.py", "model/read.py", "circuit/run.py", "rules/engine.py",
    "layout/layout.py", "drawing/netlist.py", "exchange/from_table.py", "exchange/to_table.py", "exchange/spice.py",
)  # fmt: skip


@pytest.mark.parametrize("path", WITH_EXAMPLES, ids=lambda path: path.relative_to(PACKAGE).as_posix())
def test_the_examples_of_a_module(path: Path) -> None:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    module = import_module(".".join(parts[:-1] if parts[-1] == "__init__" else parts))
    tried = doctest.testmod(module)
    assert tried.attempted > 0 and tried.failed == 0


def test_every_front_door_has_an_example() -> None:
    assert {PACKAGE / name for name in FRONT_DOORS} <= set(WITH_EXAMPLES)
