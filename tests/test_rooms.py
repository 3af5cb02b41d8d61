"""The order of the rooms (DEVELOPERS.md): a room imports only rooms above it, and checking stays light."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parent.parent / "wiregen"
ROOMS = [
    "findings", "language", "catalogue", "model", "circuit", "rules", "layout", "drawing", "teaching", "diagnosis",
    "papers", "exchange", "cli",
]  # fmt: skip
HEAVY = ["pint", "schemdraw", "cairosvg", "numpy", "scipy", "tomllib", "matplotlib"]


def room(module: str) -> str:
    """`wiregen.model.job` -> `model`."""
    return module.split(".")[1] if "." in module else ""


def imports(path: Path) -> Iterator[tuple[str, int]]:
    """Every wiregen module that a file imports, at the top or anywhere inside, with the line."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name} line {node.lineno}: write imports in full"
            names = [node.module or ""]
            if node.module == "wiregen":
                names = [f"wiregen.{alias.name}" for alias in node.names]
        else:
            continue
        yield from ((name, node.lineno) for name in names if name.split(".")[0] == "wiregen")


def modules() -> list[Path]:
    return sorted(path for path in PACKAGE.rglob("*.py") if path.parent != PACKAGE and "built" not in path.parts)


@pytest.mark.parametrize("path", modules(), ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_a_room_imports_only_rooms_above_it(path: Path) -> None:
    own = path.relative_to(PACKAGE).parts[0]
    assert own in ROOMS, f"{own} is no room: add it to DEVELOPERS.md and here"
    allowed = {*ROOMS[: ROOMS.index(own) + 1], "built", "__version__"}
    wrong = [f"line {line}: {name}" for name, line in imports(path) if room(name) not in allowed]
    assert not wrong


def test_nothing_but_the_builder_imports_the_builder() -> None:
    builder = [p for p in PACKAGE.rglob("*.py") if (p.stem == "build" and p.parent == PACKAGE) or "build" in p.parts]
    others = [p for p in PACKAGE.rglob("*.py") if p not in builder]
    assert not [p for p in others for name, _ in imports(p) if room(name) == "build"]


def test_built_modules_need_no_room() -> None:
    for path in (PACKAGE / "built").glob("*.py"):
        assert not [name for name, _ in imports(path) if room(name) in ROOMS], path.name


def loaded_by(*command: str) -> set[str]:
    """Top-level packages that one run of wiregen has loaded at its end."""
    script = (
        "import sys; from wiregen.cli import main; code = main(sys.argv[1:]);"
        "print('loaded', code, *sorted({m.split('.')[0] for m in sys.modules}), file=sys.stderr)"
    )
    run = subprocess.run([sys.executable, "-c", script, *command], capture_output=True, text=True, check=True)
    words = run.stderr.strip().splitlines()[-1].split()
    assert words[0] == "loaded" and words[1] in ("0", "1"), run.stderr
    return set(words[2:])


@pytest.mark.parametrize("command", ["check", "format", "study"])
def test_the_light_commands_load_nothing_heavy(command: str, tmp_path: Path) -> None:
    job = tmp_path / "job.wnet"
    job.write_bytes((PACKAGE / "cli" / "starter.wnet").read_bytes())
    assert not loaded_by(command, str(job)) & set(HEAVY)


def test_checking_does_not_load_the_rooms_that_draw(tmp_path: Path) -> None:
    job = tmp_path / "job.wnet"
    job.write_bytes((PACKAGE / "cli" / "starter.wnet").read_bytes())
    script = (
        "import sys; from wiregen.cli import main; main(sys.argv[1:]);"
        "print(*[m for m in sys.modules if m.startswith('wiregen.')], file=sys.stderr)"
    )
    run = subprocess.run([sys.executable, "-c", script, "check", str(job)], capture_output=True, text=True, check=True)
    rooms = {room(m) for m in run.stderr.strip().splitlines()[-1].split()}
    assert not rooms & {"layout", "drawing", "teaching", "diagnosis", "papers", "exchange", "build"}
