"""Prepares mutation testing of wiregen/rules with mutmut, in a copy: never in the project itself.

    python tests/rules/mutants.py FOLDER
    cd FOLDER && mutmut run --max-children 2 && mutmut results

mutmut leaves decorated functions alone, so in the copy `@rule(...)` is applied below each `check`.
"""

from __future__ import annotations

import re
import shutil
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PARTS = ("wiregen", "grammar", "examples", "tests", "README.md", "pyproject.toml")
TESTS = ("test_said", "test_engine", "test_remedies", "test_unfused_remedy", "test_pages", "test_rule_cases")
SETTINGS = f"""
[tool.mutmut]
source_paths = ["wiregen"]
only_mutate = ["wiregen/rules/*"]
also_copy = ["wiregen", "grammar", "examples", "tests", "README.md"]
pytest_add_cli_args = ["-p", "no:randomly", "-x"]
pytest_add_cli_args_test_selection = {[f"tests/rules/{name}.py" for name in TESTS]}
"""


def prepare(folder: Path) -> None:
    """The copy with undecorated rules and mutmut's settings. The folder must not exist yet."""
    folder.mkdir(parents=True)
    for name in PARTS:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, folder / name)
    for path in sorted((folder / "wiregen" / "rules").glob("*.py")):
        path.write_text(undecorated(path.read_text(encoding="utf-8")), encoding="utf-8")
    with (folder / "pyproject.toml").open("a", encoding="utf-8") as settings:
        settings.write(SETTINGS)


def undecorated(text: str) -> str:
    """A rule's module with the decorator of `check` applied at its end."""
    found = re.search(r"(?ms)^@(rule\(.*?\))\ndef check\(", text)
    if found is None:
        return text
    return f"{text[: found.start()]}def check({text[found.end() :]}\n\ncheck = {found[1]}(check)\n"


if __name__ == "__main__":
    prepare(Path(sys.argv[1]))
