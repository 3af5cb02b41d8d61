"""The grammar and the machine that reads with it: tables shipped with the package, or made anew from the grammar."""

from __future__ import annotations

import os
import re
import zlib
from typing import Any

from lark import Lark

OPTIONS: dict[str, Any] = {"parser": "lalr", "lexer": "basic", "maybe_placeholders": False}


def grammar_text() -> str | None:
    """The grammar as it stands beside the package (in a wheel) or above it (in a checkout); None where it is absent."""
    package = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
    for folder in (os.path.join(package, "grammar"), os.path.join(os.path.dirname(package), "grammar")):
        try:
            with open(os.path.join(folder, "netlist.lark"), encoding="utf-8") as file:
                return file.read()
        except OSError:
            continue
    return None


def scanner_pattern(lark: Lark) -> str:
    """One regular expression for all tokens of a grammar, the one of highest priority first."""
    terminals = sorted(lark.terminals, key=lambda t: (-t.priority, -t.pattern.max_width, -len(t.pattern.value), t.name))
    return "|".join(f"(?P<{terminal.name}>{terminal.pattern.to_regexp()})" for terminal in terminals)


def grammar_tables(grammar: str) -> dict[str, Any]:
    """What `wiregen.build` writes down about a grammar: lark's version, its data as literals, the tokens' pattern."""
    import lark
    from lark.grammar import Rule
    from lark.lexer import TerminalDef

    machine = Lark(grammar, **OPTIONS)
    data, memo = machine.memo_serialize([TerminalDef, Rule])
    data["parser"]["parser"] = in_order(data["parser"]["parser"])
    return {"LARK": lark.__version__, "SCANNER": scanner_pattern(machine), "DATA": data, "MEMO": memo}


def in_order(table: dict[str, Any]) -> dict[str, Any]:
    """lark's parse table with its symbols in order of name and its states in order of first use.

    lark numbers both by the order of sets, which differs from run to run.
    """
    names = sorted(table["tokens"].values())
    number_of = {old: names.index(name) for old, name in table["tokens"].items()}
    waiting = [table["start_states"]["start"]]
    state_of = {waiting[0]: 0}
    rows = []
    for old in waiting:  # grows as states are met
        row = {}
        for symbol, (action, to) in sorted(table["states"][old].items(), key=lambda item: number_of[item[0]]):
            if action == 0:
                if to not in state_of:
                    state_of[to] = len(state_of)
                    waiting.append(to)
                to = state_of[to]
            row[number_of[symbol]] = (action, to)
        rows.append(row)
    return {
        "tokens": dict(enumerate(names)),
        "states": dict(enumerate(rows)),
        "start_states": {name: state_of[state] for name, state in table["start_states"].items()},
        "end_states": {name: state_of[state] for name, state in table["end_states"].items()},
        **{key: value for key, value in table.items() if key.startswith("__")},
    }


def load(callbacks: object) -> tuple[Lark, str]:
    """The parser with its callbacks, and the pattern of its tokens.

    The shipped tables are taken where they belong to the grammar that is there and to the lark that is installed, or
    where there is no grammar to compare with. A changed grammar is built in memory.
    """
    import lark

    from wiregen.built import parser_tables as built

    grammar = grammar_text()
    if lark.__version__ == built.LARK and (grammar is None or zlib.crc32(grammar.encode()) == built.GRAMMAR):
        read_back: Any = Lark._load_from_dict  # what lark's own stand-alone parsers are loaded with
        return read_back(built.DATA, built.MEMO, transformer=callbacks), built.SCANNER
    if grammar is None:
        raise FileNotFoundError("grammar/netlist.lark is missing, and the shipped tables are for another lark")
    machine = Lark(grammar, **OPTIONS, transformer=callbacks)
    return machine, scanner_pattern(machine)


def compiled(pattern: str) -> re.Pattern[str]:
    """The pattern of the tokens, with a last choice that takes any one character that no token begins with."""
    return re.compile(pattern + r"|(?P<STRAY>[\s\S])")
