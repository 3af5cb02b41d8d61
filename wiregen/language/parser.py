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
    return {"LARK": lark.__version__, "SCANNER": scanner_pattern(machine), "DATA": data, "MEMO": memo}


def load(callbacks: object) -> tuple[Lark, str]:
    """The parser with its callbacks, and the pattern of its tokens.

    The shipped tables are taken where they belong to the grammar that is there and to the lark that is installed, or
    where there is no grammar to compare with. A changed grammar is built in memory.
    """
    import lark

    from wiregen.built import parser_tables as built

    grammar = grammar_text()
    if built.LARK == lark.__version__ and (grammar is None or zlib.crc32(grammar.encode()) == built.GRAMMAR):
        return Lark._load_from_dict(built.DATA, built.MEMO, transformer=callbacks), built.SCANNER
    if grammar is None:
        raise FileNotFoundError("grammar/netlist.lark is missing, and the shipped tables are for another lark")
    machine = Lark(grammar, **OPTIONS, transformer=callbacks)
    return machine, scanner_pattern(machine)


def compiled(pattern: str) -> re.Pattern[str]:
    """The pattern of the tokens, with a last choice that takes any one character that no token begins with."""
    return re.compile(pattern + r"|(?P<STRAY>[\s\S])")
