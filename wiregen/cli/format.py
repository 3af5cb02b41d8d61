"""`wiregen format FILE...`: netlists in the one plain layout, comments kept."""

from __future__ import annotations

import argparse
import os
import sys

from wiregen.cli import streams
from wiregen.cli.arguments import Parser, add_files, add_output
from wiregen.cli.jobs import plain
from wiregen.cli.select import nothing, selected
from wiregen.findings.text import findings_text
from wiregen.language.files import read_source
from wiregen.language.format import format_text


def parser() -> Parser:
    """The arguments of `format`."""
    made = Parser(
        "format",
        "Writes netlists in the one plain layout, in place; comments are kept and nothing changes its meaning.",
        "  wiregen format van.wnet\n  wiregen format jobs --check\n  wiregen format - < van.wnet",
    )
    add_files(made, "a netlist, a folder of them (its kits too), or a pattern; - reads standard input")
    made.add_argument("--check", action="store_true", help="change nothing, end with 1 where something would change")
    add_output(made, "write here instead of in place (a folder where there are several files)")
    return made


def run(arguments: argparse.Namespace) -> int:
    """Format every file that could be understood; the exit code of the worst."""
    outputs: dict[str, bytes] = {}
    said: list[str] = []
    worst = 0
    paths = selected(arguments.files, kits=True)
    for path in paths:
        nought = nothing(path)
        if nought:
            streams.tell(f"wiregen format: {nought}")
            worst = 2
            continue
        data = streams.read_bytes() if path == "-" else None
        source, findings = read_source(path, data=data)
        text = ""
        if source is not None:
            text, found = format_text(source)
            findings = (*findings, *found)
        if source is None or any(f.lost for f in findings):
            streams.tell_ready(findings_text(findings, streams.style(sys.stderr)))
            streams.tell(f"wiregen: {plain(path)} could not be wholly read, so it was left as it is")
            worst = 2
            continue
        formatted = text.encode()
        changed = formatted != (_bytes(path) if data is None else data)
        if arguments.check:
            if changed:
                said.append(f"{plain(path)} would be changed")
                worst = max(worst, 1)
        elif arguments.output or path != "-":
            target = _target(path, arguments.output, len(paths) > 1)
            if target in outputs:
                streams.tell(f"wiregen format: two netlists would be written to {plain(target)}: nothing is written")
                return 2
            if changed or target != path:
                outputs[target] = formatted
                said.append(f"wrote {plain(target)}")
        else:
            streams.write_bytes(formatted)
    if outputs:
        from wiregen.cli.files import write_whole

        write_whole(outputs)
    for line in said:
        streams.tell(line)
    return worst


def _target(path: str, output: str | None, several: bool) -> str:
    if output is None:
        return path
    if not several:
        return output
    from wiregen.cli.files import make_folder

    make_folder(output)
    return os.path.join(output, "netlist.wnet" if path == "-" else os.path.basename(path))


def _bytes(path: str) -> bytes:
    """The file as it is, line ends and byte order mark included."""
    with open(path, "rb") as file:
        return file.read()
