"""What is shipped was made from what is there: no built module is stale, and the tables give the grammar's parser."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from lark import Lark, Tree
from strategies import netlist_texts

from wiregen import build
from wiregen.built import parser_tables
from wiregen.language import parser
from wiregen.language.build_tree import TreeBuilder

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("step", build.steps(), ids=lambda step: step.output)
def test_a_built_module_is_what_the_build_step_makes(step: build.Step) -> None:
    path = ROOT / "wiregen" / "built" / f"{step.output}.py"
    assert path.read_text(encoding="utf-8") == build.made(step), "run python -m wiregen.build"


@pytest.mark.parametrize("seed", ["1", "2"])
def test_the_tables_come_out_the_same_on_every_run(seed: str) -> None:
    run = [sys.executable, "-m", "wiregen.build", "--check"]
    assert subprocess.run(run, cwd=ROOT, env={"PYTHONHASHSEED": seed}).returncode == 0


def test_built_modules_hold_literals_only() -> None:
    for path in sorted((ROOT / "wiregen" / "built").glob("*.py")):
        for statement in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(statement, ast.Assign) or (isinstance(statement, ast.AnnAssign) and statement.value):
                ast.literal_eval(statement.value)
            else:
                assert isinstance(statement, ast.Expr | ast.ImportFrom), path


def test_the_grammar_has_no_conflicts() -> None:
    grammar = parser.grammar_text()
    assert grammar is not None
    Lark(grammar, **{**parser.OPTIONS, "strict": True})


def test_the_shipped_tables_are_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parser, "Lark", _Fails)
    machine, scanner = parser.load(TreeBuilder())
    assert scanner == parser_tables.SCANNER and machine.terminals


def test_without_a_grammar_the_shipped_tables_are_used(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(parser, "Lark", _Fails)
    monkeypatch.setattr(parser, "grammar_text", lambda: None)
    assert parser.load(TreeBuilder())[1] == parser_tables.SCANNER


def test_a_changed_grammar_is_built_in_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    grammar = parser.grammar_text()
    assert grammar is not None
    monkeypatch.setattr(parser, "grammar_text", lambda: grammar.replace("auto-mm", "outer-mm"))
    assert "outer-mm" in parser.load(TreeBuilder())[1]


class _Fails(Lark):
    """A lark that may only be loaded, not built."""

    def __init__(self, *_: object, **__: object) -> None:
        raise AssertionError("the grammar was built")


@settings(max_examples=30)
@given(netlist_texts(4))
def test_the_grammar_by_itself_reads_what_we_read(text: str) -> None:
    """lark alone, with its own lexer and the grammar file, accepts every sound text."""
    assert isinstance(_plain_lark().parse(text), Tree)


def _plain_lark(made: list[Lark] = []) -> Lark:  # noqa: B006  (made once)
    if not made:
        made.append(Lark(parser.grammar_text() or "", **parser.OPTIONS))
    return made[0]
