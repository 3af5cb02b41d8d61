"""Makes the modules in `wiregen/built/` from the grammar, the units, the vocabulary and the catalogue, and the rule
reference in `examples/rules/` from the rule modules.

    python -m wiregen.build           writes what is stale
    python -m wiregen.build --check   only tells; ends with 1 where something is stale

Each step names its sources, its output and the function that turns one into the other. The outputs are committed;
`tests/language/test_build.py` fails when one of them is stale.
"""

from __future__ import annotations

import sys
import zlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

PACKAGE = Path(__file__).parent
ROOT = PACKAGE.parent
RULES = ROOT / "examples" / "rules"


class Step(NamedTuple):
    """One built module: its sources (relative to the checkout; all of them exist), its name, what makes its text."""

    sources: tuple[str, ...]
    output: str
    make: Callable[[dict[str, str]], str]


def fingerprint(texts: dict[str, str]) -> int:
    """A number that changes when any of the texts does."""
    return zlib.crc32("\0".join(f"{name}\0{text}" for name, text in sorted(texts.items())).encode())


def module(texts: dict[str, str], **names: Any) -> str:
    """The text of a Python module that holds literals, and the fingerprint of what they were made from."""
    lines = [f'"""Made by `python -m wiregen.build` from {", ".join(sorted(texts))}. Do not edit."""', ""]
    lines += [f"FINGERPRINT = {fingerprint(texts)}"]
    for name, value in names.items():
        lines.append(f"{name} = {literal(value)}")
    return "\n".join(lines) + "\n"


def literal(value: Any, indent: str = "") -> str:
    """A value as a Python literal, broken into lines where it is long, so that changes can be read line by line."""
    short = repr(value)
    if len(indent) + len(short) <= 116 or not isinstance(value, dict | list | tuple):
        return short
    deeper = indent + " "
    if isinstance(value, dict):
        items = [f"{key!r}: {literal(inner, deeper)}" for key, inner in value.items()]
    else:
        items = [literal(inner, deeper) for inner in value]
    opening, closing = {"d": ("{", "}"), "l": ("[", "]"), "t": ("(", ")")}[type(value).__name__[0]]
    inside = "".join(f"{deeper}{item},\n" for item in items)
    return f"{opening}\n{inside}{indent}{closing}"


def parser_tables(texts: dict[str, str]) -> str:
    """The parser's tables and the one regular expression of the tokens, as plain literals (nothing is pickled)."""
    from wiregen.language.parser import grammar_tables

    (grammar,) = texts.values()
    tables = grammar_tables(grammar)
    return module(texts, GRAMMAR=zlib.crc32(grammar.encode()), **tables)


def units(texts: dict[str, str]) -> str:
    """spelling -> (dimension, multiplier, addend, divisor, plain spelling): working = (number * m + a) / d, by pint."""
    from wiregen.language.quantities import unit_table

    return module(texts, UNITS=unit_table())


def toml_data(texts: dict[str, str]) -> str:
    """One literal: the document where there is one source, else file name without ending -> document."""
    import tomllib

    documents = {Path(name).stem: tomllib.loads(text) for name, text in sorted(texts.items())}
    return module(texts, DATA=next(iter(documents.values())) if len(documents) == 1 else documents)


def catalogue(texts: dict[str, str]) -> str:
    """The catalogue's rows, checked by its own loader."""
    from wiregen.catalogue.load import built_text

    return built_text()


def toml_step(output: str, *patterns: str, make: Callable[[dict[str, str]], str] = toml_data) -> Step:
    """A step that turns TOML files into one module, by default with a literal `DATA`."""
    found = sorted(path for pattern in patterns for path in ROOT.glob(pattern))
    return Step(tuple(path.relative_to(ROOT).as_posix() for path in found), output, make)


def steps() -> tuple[Step, ...]:
    """All built modules, in the order in which they are made."""
    every = (
        Step(("grammar/netlist.lark",), "parser_tables", parser_tables),
        Step(("wiregen/language/spellings.py",), "units", units),
        toml_step("vocabulary", "grammar/vocabulary.toml"),
        toml_step("catalogue", "wiregen/catalogue/*.toml", make=catalogue),
    )
    return tuple(step for step in every if step.sources)


def made(step: Step) -> str:
    """The text that the module of a step should have."""
    return step.make({name: (ROOT / name).read_text(encoding="utf-8") for name in step.sources})


def outputs() -> dict[Path, str]:
    """Every file that is made, with the text that it should have."""
    from wiregen.rules import reference

    modules = {PACKAGE / "built" / f"{step.output}.py": made(step) for step in steps()}
    return modules | {RULES / name: text for name, text in reference().items()}


def main(arguments: list[str]) -> int:
    """Writes stale files and takes away pages of rules that are no more, or with --check tells which are stale (1)."""
    if not (ROOT / "grammar" / "netlist.lark").exists():
        print("wiregen.build works in a checkout only: there is no grammar beside the package", file=sys.stderr)
        return 2
    only_tell = "--check" in arguments
    stale = 0
    wanted = outputs()
    for path, text in wanted.items():
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            stale = 1
            print(f"{'stale' if only_tell else 'wrote'} {path.relative_to(ROOT).as_posix()}")
            if not only_tell:
                path.parent.mkdir(exist_ok=True)
                path.write_text(text, encoding="utf-8")
    for path in sorted(set(RULES.glob("*.md")) - set(wanted)):
        stale = 1
        print(f"{'stale' if only_tell else 'removed'} {path.relative_to(ROOT).as_posix()}")
        if not only_tell:
            path.unlink()
    return stale if only_tell else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
