"""`wiregen explain RULE`: what a rule looks for, why, on what basis, with a bad and a good netlist."""

from __future__ import annotations

import argparse

from wiregen.cli import streams
from wiregen.cli.arguments import Parser
from wiregen.rules import close_names, explain, listing


def parser() -> Parser:
    """The arguments of `explain`."""
    made = Parser(
        "explain",
        "Tells what a rule looks for, why it matters, on what basis, with a bad and a good netlist.",
        "  wiregen explain unfused-positive\n  wiregen explain",
    )
    made.add_argument(
        "rule", metavar="RULE", nargs="?", help="the rule's name; without it, all are listed, a line each"
    )
    return made


def run(arguments: argparse.Namespace) -> int:
    """Print the rule's own page."""
    if arguments.rule is None:
        streams.write_text(listing())
        return 0
    page = explain(arguments.rule.lower())
    if page is None:
        close = close_names(arguments.rule)
        hint = f"did you mean {' or '.join(close)}?" if close else "`wiregen explain` lists them"
        streams.tell(f"wiregen explain: there is no rule {arguments.rule}; {hint}")
        return 2
    streams.write_text(page.rstrip("\n") + "\n")
    return 0
