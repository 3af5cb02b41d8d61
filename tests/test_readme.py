"""README tells the truth: its netlists are read, its commands are run, and what it shows is what they print.

After a change that was meant, `python -m tests.test_readme` writes the outputs into README and redraws its picture.
"""

import contextlib
import io
import json
import os
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from wiregen.cli import main
from wiregen.findings import Source
from wiregen.language import parse

ROOT = Path(__file__).resolve().parents[1]
README = ROOT / "README.md"
PAGES = [README, ROOT / "grammar" / "README.md"]
NETLIST = re.compile(r"^`(?P<name>[\w-]+\.wnet)`\n```wnet\n(?P<text>.*?)^```$", re.DOTALL | re.MULTILINE)
CONSOLE = re.compile(r"^```console\n\$ (?P<command>[^\n]*)\n(?P<output>.*?)^```$", re.DOTALL | re.MULTILINE)
SHAPES = re.compile(r"^```wnet-shapes\n(?P<text>.*?)^```$", re.DOTALL | re.MULTILINE)
CODE = "; echo $?"


class Step(NamedTuple):
    """A command of README with what it is said to print."""

    command: str
    output: str


def steps(text: str) -> list[Step]:
    """The console blocks in order."""
    return [Step(found["command"], found["output"]) for found in CONSOLE.finditer(text)]


def run(command: str) -> str:
    """What a terminal would show for one command of wiregen, its exit code included where it is asked for."""
    asked = command.removesuffix(CODE)
    words = asked.split()
    assert words[0] == "wiregen", command
    shown = io.StringIO()
    with contextlib.redirect_stdout(shown), contextlib.redirect_stderr(shown):
        code = main(words[1:])
    return shown.getvalue() + (f"{code}\n" if command != asked else "")


def outputs(text: str) -> Iterator[tuple[Step, str]]:
    """Each command with what it prints, run in the present folder beside README's netlists."""
    for found in NETLIST.finditer(text):
        Path(found["name"]).write_text(found["text"], encoding="utf-8")
    for step in steps(text):
        yield step, run(step.command)


def test_what_readme_shows_is_what_the_tool_prints(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("NO_COLOR", "1")
    text = README.read_text(encoding="utf-8")
    assert len(steps(text)) >= 6
    for step, printed in outputs(text):
        assert printed == step.output, step.command


def test_the_tutorial_ends_sound() -> None:
    """The fourth step is the finished job: it has nothing unaccepted and it is drawn."""
    shown = {step.command: step.output for step in steps(README.read_text(encoding="utf-8"))}
    assert shown["wiregen check step4.wnet" + CODE].endswith("\n0\n")


@pytest.mark.parametrize("page", PAGES, ids=["README.md", "grammar/README.md"])
def test_every_snippet_has_the_shapes_of_the_language(page: Path) -> None:
    texts = [found["text"] for found in SHAPES.finditer(page.read_text(encoding="utf-8"))]
    assert texts
    for text in texts:
        file, findings = parse(Source("snippet.wnet", text))
        assert file.complete and not findings, (text, findings)


def test_every_command_and_form_of_output_is_named() -> None:
    shown = io.StringIO()
    with contextlib.redirect_stdout(shown):
        main(["--help"])
    listed = re.findall(r"(?m)^  ([a-z]+) {2,}", shown.getvalue())
    text = README.read_text(encoding="utf-8")
    assert len(listed) >= 7
    for command in listed:
        assert f"`wiregen {command}" in text
        with contextlib.redirect_stdout(shown), contextlib.suppress(SystemExit):
            main([command, "--help"])
    for form in {
        form for forms in re.findall(r"--(?:output|to) \{([a-z,]+)\}", shown.getvalue()) for form in forms.split(",")
    }:
        assert form == "text" or re.search(rf"`{form}`|--(to|output) {form}`", text), form


def test_the_fields_of_a_finding_that_are_named_are_there(tmp_path: Path) -> None:
    netlist = tmp_path / "t.wnet"
    netlist.write_text("battery start 70 Ah flooded\nstart.+ --[R1 red 4 mm2 4 m]-- loose\n", encoding="utf-8")
    shown = io.StringIO()
    with contextlib.redirect_stdout(shown):
        main(["check", str(netlist), "--output", "json"])
    sentence = README.read_text(encoding="utf-8").partition("With `--output json`")[2].partition("\n\n")[0]
    named = set(re.findall(r"`([a-z]+)`", sentence))
    assert len(named) >= 10
    assert named <= set(json.loads(shown.getvalue())["findings"][0])


def test_links_lead_to_files() -> None:
    for page in PAGES:
        for target in re.findall(r"\]\(([^)#:]+)\)", page.read_text(encoding="utf-8")):
            assert (page.parent / target).exists(), f"{page.name}: {target}"


@pytest.mark.parametrize("page", PAGES, ids=["README.md", "grammar/README.md"])
def test_every_kind_and_fact_of_the_vocabulary_is_explained(page: Path) -> None:
    """A word that the tool knows stands on the full reference; every kind stands on README too."""
    import tomllib

    table = tomllib.loads((ROOT / "grammar" / "vocabulary.toml").read_text(encoding="utf-8"))
    words = set(re.findall(r"[a-z][a-z0-9-]*", page.read_text(encoding="utf-8")))
    wanted = set(table["kinds"])
    if page != README:
        wanted |= set(table["statements"]) | {fact for kind in table["kinds"].values() for fact in kind["facts"]}
        wanted |= set(table["part"]) | set(table["conductor"]["facts"]) | set(table["colours"])
        wanted |= {verb for each in table["statements"].values() for verb in each.get("verbs", ())}
        wanted |= {fact for each in table["statements"].values() for fact in each.get("facts", ())}
    assert not wanted - words


def rewrite() -> None:
    """Put what the tool prints now into README, and draw again the pictures that are committed."""
    import tempfile

    for picture in sorted((ROOT / "examples").glob("*.svg")):
        main(["draw", str(picture.with_suffix(".wnet")), "-o", str(picture)])

    text = README.read_text(encoding="utf-8")
    os.environ["NO_COLOR"] = "1"
    with tempfile.TemporaryDirectory() as folder, contextlib.chdir(folder):
        printed = {step.command: shown for step, shown in outputs(text)}
    fresh = CONSOLE.sub(lambda found: f"```console\n$ {found['command']}\n{printed[found['command']]}```", text)
    README.write_text(fresh, encoding="utf-8")


if __name__ == "__main__":
    rewrite()
    sys.exit(0)
