"""What the commands' arguments have in common."""

from __future__ import annotations

import argparse
from typing import NoReturn

from wiregen import __version__
from wiregen.cli import streams

HELP_WIDTH = 79


class Parser(argparse.ArgumentParser):
    """The parser of one command: no abbreviations, an example at the end of its help, `--version`."""

    def __init__(self, command: str, description: str, example: str) -> None:
        super().__init__(
            prog=f"wiregen {command}",
            description=description,
            epilog=f"example:\n{example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )
        self.add_argument("--version", action="version", version=f"wiregen {__version__}", help="print the version")

    def format_help(self) -> str:
        """The help, its prose wrapped to the usual terminal; examples stay as they are."""
        from textwrap import fill

        self.description = fill(self.description or "", HELP_WIDTH)
        blocks = (self.epilog or "").split("\n\n")
        self.epilog = "\n\n".join(b if "\n  " in b or b.startswith("  ") else fill(b, HELP_WIDTH) for b in blocks)
        return super().format_help()

    def error(self, message: str) -> NoReturn:
        """Wrong usage: the usage line, what is wrong, exit code 2."""
        streams.tell(f"{self.format_usage()}{self.prog}: {message}")
        self.exit(2)


def add_file(parser: Parser) -> None:
    """One netlist."""
    parser.add_argument("file", metavar="FILE", help="the netlist; - reads standard input")
    add_include(parser)


def add_files(parser: Parser, words: str = "a netlist; - reads standard input") -> None:
    """One netlist or several."""
    parser.add_argument("files", metavar="FILE", nargs="+", help=words)


def add_include(parser: Parser) -> None:
    """Folders that `include` may read from."""
    parser.add_argument(
        "--include",
        metavar="FOLDER",
        action="append",
        default=[],
        help="a folder outside the netlist's own that its `include` lines may read from (may be repeated)",
    )


def add_output(parser: Parser, words: str) -> None:
    """`-o PATH`."""
    parser.add_argument("-o", dest="output", metavar="PATH", help=words)


def add_shape(parser: Parser) -> None:
    """`--output text|json`."""
    parser.add_argument(
        "--output", dest="shape", choices=["text", "json"], default="text", help="text for people, json for programs"
    )
