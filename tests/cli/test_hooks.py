"""The hooks that other repositories take from this one name commands that are there."""

import re
from pathlib import Path

from wiregen.cli import COMMANDS, check
from wiregen.cli import format as format_command

HOOKS = Path(__file__).resolve().parents[2] / ".pre-commit-hooks.yaml"


def test_every_hook_runs_a_command_of_this_tool() -> None:
    text = HOOKS.read_text(encoding="utf-8")
    entries = re.findall(r"^  entry: wiregen (\w+)$", text, re.MULTILINE)
    assert entries == ["check", "format"] and set(entries) <= set(COMMANDS)
    assert re.findall(r"^- id: wiregen-(\w+)$", text, re.MULTILINE) == entries
    assert text.count("language: python") == text.count("files: ") == len(entries)


def test_their_arguments_are_understood() -> None:
    assert check.parser().parse_args(["."]).files == ["."]
    assert format_command.parser().parse_args(["a.wnet", "b.wnet"]).files == ["a.wnet", "b.wnet"]
