"""The project as a stranger picks it up: the layout of the card, what is packed, nothing of our machines in it."""

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
CARD = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "wiregen", "grammar", "examples", "tests"}
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
TEXT = {".py", ".md", ".toml", ".lark", ".wnet", ".svg", ".txt", ".csv", ".json", ""}


def committed() -> list[Path]:
    """Every file of the project: what git knows, or all files where this is no checkout."""
    try:
        listed = subprocess.run(
            ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True, text=True
        ).stdout.split("\0")
    except (OSError, subprocess.CalledProcessError):
        listed = []
    found = [ROOT / name for name in listed if name]
    if not found:
        found = [p for p in ROOT.rglob("*") if p.is_file()]
        found = [p for p in found if not {"__pycache__", "PKG-INFO"} & set(p.parts)]
        found = [p for p in found if not p.relative_to(ROOT).parts[0].startswith(".")]
    return sorted(p for p in found if p.exists() and "PKG-INFO" not in p.name)


FILES = committed()


def test_the_top_level_is_the_layout_of_the_card() -> None:
    top = {path.relative_to(ROOT).parts[0] for path in FILES}
    assert {name for name in top if not name.startswith(".")} == CARD


def test_every_source_module_says_what_it_is_for() -> None:
    bare = [p for p in FILES if p.suffix == ".py" and p.is_relative_to(ROOT / "wiregen")]
    bare = [p for p in bare if not p.read_text(encoding="utf-8").lstrip().startswith(('"""', "#"))]
    assert not [p for p in bare if p.read_text(encoding="utf-8").strip()]


@pytest.mark.parametrize("path", [p for p in FILES if p.suffix in TEXT], ids=lambda p: p.relative_to(ROOT).as_posix())
def test_no_path_or_host_of_a_machine_is_in_any_file(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"(?<![\w.])/(?:work|root|home|Users)/\w", text)
    told = path.name in ("README.md", "OFL.txt")  # the font's licence stands as it was given
    assert told or not re.search(r"https?://(?!www\.w3\.org/|json-schema\.org/|schemas\.openxmlformats\.org/)", text)
    assert not text or text.endswith("\n")


def test_markdown_links_point_at_files_that_are_there() -> None:
    for page in (p for p in FILES if p.suffix == ".md"):
        for target in re.findall(r"\]\((?!https?:|#)([^)#]+)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), f"{page.name}: {target}"


def test_what_is_installed_is_what_is_imported() -> None:
    """Nothing outside the standard library and the declared dependencies is imported by the package."""
    import ast

    declared = {re.split(r"[<>=!~ ]", d)[0] for d in PROJECT["project"]["dependencies"]}
    declared |= {re.split(r"[<>=!~ ]", d)[0] for d in PROJECT["project"]["optional-dependencies"]["large"]}
    for path in (ROOT / "wiregen").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            for name in (n.split(".")[0] for n in names):
                assert name in sys.stdlib_module_names | declared | {"wiregen"}, f"{path.name}: {name}"


def test_the_grammar_is_packed_and_found() -> None:
    assert PROJECT["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"] == {"grammar": "wiregen/grammar"}
    from wiregen.language.parser import grammar_text

    assert grammar_text() == (ROOT / "grammar" / "netlist.lark").read_text(encoding="utf-8")


def test_the_built_files_are_fresh() -> None:
    run = subprocess.run([sys.executable, "-m", "wiregen.build", "--check"], cwd=ROOT, capture_output=True, text=True)
    assert run.returncode == 0, run.stdout + run.stderr
