"""The netlist rebuilt from nothing but SVG text, and its comparison with the job: a drawing that lies is not written.

A conductor is what its run says: which terminals its two ends touch. The words in `data-from` and `data-to` are only
checked against that. Runs must be upright or level, may cross the runs of another net at a right angle in the open,
and may not lie on one another, touch a foreign terminal or pass a foreign junction.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple
from xml.etree import ElementTree

from wiregen.findings import Finding, Mark
from wiregen.layout.geometry import Point
from wiregen.model.job import Job

SVG = "{http://www.w3.org/2000/svg}"
_NUMBER = r"-?\d+(?:\.\d+)?"
_COURSE = re.compile(rf"M {_NUMBER} {_NUMBER}(?: L {_NUMBER} {_NUMBER})+")
_NEAR = 1e-6  # mm: coordinates are printed to a thousandth, so that equal ones are equal


class Netlist(NamedTuple):
    """What a drawing says. `troubles` are the places where it contradicts itself or breaks the contract."""

    parts: dict[str, str]  # id -> kind
    terminals: dict[str, str]  # terminal -> part, `` for an end in the air
    conductors: dict[str, tuple[str, str]]  # id -> from, to
    links: tuple[tuple[str, str], ...]
    troubles: tuple[str, ...] = ()


@dataclass(slots=True)
class _Run:
    kind: str
    id: str
    said: tuple[str, str]
    points: list[Point]
    ends: tuple[str, str] = ("", "")  # terminals touched, `` at a continuation

    @property
    def name(self) -> str:
        return self.id or f"the link {self.said[0]} to {self.said[1]}"


@dataclass(slots=True)
class _Page:
    """One sheet as found."""

    number: str
    terminals: dict[Point, list[str]] = field(default_factory=dict)
    continuations: dict[Point, tuple[str, str]] = field(default_factory=dict)  # place -> conductor, other sheet
    junctions: list[Point] = field(default_factory=list)
    runs: list[_Run] = field(default_factory=list)


Lines = dict[float, list[tuple[float, float, str, _Run]]]  # where -> from, to, net: y of level stretches, x of upright


def rebuild(svgs: Sequence[str]) -> Netlist:
    """The netlist that the sheets of one drawing show. Text that is no well-formed SVG is a trouble, never an error.

    >>> from wiregen.circuit import study
    >>> from wiregen.drawing import draw
    >>> from wiregen.layout import lay_out
    >>> from wiregen.model import read
    >>> job, _ = read("a.wnet", text="busbar B 100 A\\nbusbar C 100 A\\nB --[W1 red 6 mm2 350 mm]-- C")
    >>> geometry, _ = lay_out(study(job)[0])
    >>> rebuild(draw(geometry)).conductors
    {'W1': ('B.1', 'C.1')}
    """
    parts: dict[str, str] = {}
    owners: dict[str, str] = {}
    troubles: list[str] = []
    pages: list[_Page] = []
    for svg in svgs:
        try:
            root = ElementTree.fromstring(svg)
        except ElementTree.ParseError as error:
            troubles.append(f"a sheet is not well-formed: {error}")
            continue
        page = _Page(root.get("data-sheet", ""))
        _walk(root, page, parts, owners, troubles)
        pages.append(page)
    conductors: dict[str, tuple[str, str]] = {}
    links: list[tuple[str, str]] = []
    for page in pages:
        for run in page.runs:
            _end(run, page, troubles)
    _join(pages, conductors, links, troubles)
    nets = _nets(owners, conductors, links)
    for page in pages:
        troubles.extend(_clashes(page, nets))
    return Netlist(parts, owners, conductors, tuple(links), tuple(troubles))


def _walk(
    root: ElementTree.Element, page: _Page, parts: dict[str, str], owners: dict[str, str], troubles: list[str]
) -> None:
    """Collect what stands on one sheet."""
    todo: list[tuple[ElementTree.Element, str, bool]] = [(root, "", False)]
    while todo:
        node, part, turned = todo.pop()
        turned = turned or node.get("transform") is not None
        role = node.get("class", "")
        if role == "part":
            part = node.get("data-part", "")
            kind = node.get("data-kind", "")
            if parts.setdefault(part, kind) != kind:
                troubles.append(f"{part} is drawn as {parts[part]} and as {kind}")
        elif role in ("terminal", "junction", "continuation"):
            if turned:
                troubles.append(f"a {role} is moved by a transform")
            at = (_number(node.get("cx", "")), _number(node.get("cy", "")))
            if role == "terminal":
                name = node.get("data-terminal", "")
                if owners.setdefault(name, part) != part:
                    troubles.append(f"{name} is drawn on {owners[name]} and on {part}")
                page.terminals.setdefault(at, []).append(name)
            elif role == "junction":
                page.junctions.append(at)
            else:
                page.continuations[at] = (node.get("data-conductor", ""), node.get("data-sheet", ""))
        elif role in ("conductor", "link"):
            runs = [child for child in node.iter(f"{SVG}path") if child.get("class") == "run"]
            said = (node.get("data-from", ""), node.get("data-to", ""))
            name = node.get("data-conductor", "") or f"the link {said[0]} to {said[1]}"
            data = runs[0].get("d", "") if len(runs) == 1 else ""
            if turned or not _COURSE.fullmatch(data):
                troubles.append(f"{name} has no plain run")
                continue
            flat = [float(word) for word in data.split() if word not in "ML"]
            points = list(zip(flat[::2], flat[1::2], strict=True))
            page.runs.append(_Run(role, node.get("data-conductor", ""), said, points))
            continue
        todo.extend((child, part, turned) for child in reversed(node))


def _number(words: str) -> float:
    return float(words) if re.fullmatch(_NUMBER, words) else float("nan")


def _end(run: _Run, page: _Page, troubles: list[str]) -> None:
    """Which terminals the ends of a run touch."""
    found = []
    for said, at in zip(run.said, (run.points[0], run.points[-1]), strict=True):
        here = page.terminals.get(at, [])
        if said in here:
            found.append(said)
        elif page.continuations.get(at, ("",))[0] == run.id and run.id:
            found.append("")
        else:
            there = " and ".join(here) or "nothing"
            troubles.append(f"{run.name} is to end at {said}, and its run ends at {there}")
            found.append(here[0] if here else "?")
    run.ends = (found[0], found[1])


def _join(
    pages: list[_Page], conductors: dict[str, tuple[str, str]], links: list[tuple[str, str]], troubles: list[str]
) -> None:
    """Runs that are cut over several sheets become one conductor again."""
    pieces: dict[str, list[tuple[_Page, _Run]]] = {}
    for page in pages:
        for run in page.runs:
            if run.kind == "link":
                links.append(run.ends)
            else:
                pieces.setdefault(run.id, []).append((page, run))
    for name, found in pieces.items():
        if len({run.said for _, run in found}) > 1:
            troubles.append(f"{name} joins different terminals on different sheets")
        starts = [run.ends[0] for _, run in found if run.ends[0]]
        ends = [run.ends[1] for _, run in found if run.ends[1]]
        if len(starts) != 1 or len(ends) != 1:
            troubles.append(f"{name} has {len(starts)} beginnings and {len(ends)} ends")
            continue
        numbers = {page.number for page, _ in found}
        for page, _ in found:
            for conductor, sheet in page.continuations.values():
                if conductor == name and sheet not in numbers:
                    troubles.append(f"{name} goes on to sheet {sheet}, where it is not drawn")
        conductors[name] = (starts[0], ends[0])


def _nets(
    terminals: dict[str, str], conductors: dict[str, tuple[str, str]], links: list[tuple[str, str]]
) -> dict[str, str]:
    """Terminal -> the name of its net."""
    parent = {name: name for name in terminals}

    def top(name: str) -> str:
        while parent.setdefault(name, name) != name:
            parent[name] = parent[parent[name]]
            name = parent[name]
        return name

    for a, b in [*conductors.values(), *links]:
        parent[top(a)] = top(b)
    return {name: top(name) for name in parent}


def _clashes(page: _Page, nets: dict[str, str]) -> Iterator[str]:
    """Where a run lies on another net, touches it, or is not at right angles."""
    level: Lines = {}
    upright: Lines = {}
    spots: list[tuple[Point, str, str]] = []  # place, net, what it is
    for run in page.runs:
        net = nets.get(run.ends[0] or run.ends[1] or run.said[0], "")
        for a, b in zip(run.points, run.points[1:], strict=False):
            if a[1] == b[1] and a != b:
                level.setdefault(a[1], []).append((min(a[0], b[0]), max(a[0], b[0]), net, run))
            elif a[0] == b[0] and a != b:
                upright.setdefault(a[0], []).append((min(a[1], b[1]), max(a[1], b[1]), net, run))
            else:
                yield f"{run.name} is not drawn at right angles"
        spots += [(point, net, run.name) for point in run.points]
    spots += [(at, nets.get(name, ""), name) for at, names in page.terminals.items() for name in names]
    for group in (*level.values(), *upright.values()):
        group.sort(key=lambda item: item[:2])
        reach: list[tuple[float, float, str, _Run]] = []
        for item in group:
            reach = [other for other in reach if other[1] > item[0] + _NEAR]
            for other in reach:
                if other[2] != item[2]:
                    yield f"{item[3].name} lies on {other[3].name}"
            reach.append(item)
    for (x, y), net, what in spots:
        for along, lines in ((x, level.get(y, [])), (y, upright.get(x, []))):
            for start, end, other_net, run in lines:
                if other_net != net and start - _NEAR <= along <= end + _NEAR:
                    yield f"{run.name} touches {what}"
    yield from _forks(page, level, upright)
    for x, y in page.junctions:
        met = {net for start, end, net, _ in level.get(y, ()) if start <= x <= end}
        met |= {net for start, end, net, _ in upright.get(x, ()) if start <= y <= end}
        if len(met) != 1:
            yield f"the junction at {x} {y} joins {len(met)} nets"


def _forks(page: _Page, level: Lines, upright: Lines) -> Iterator[str]:
    """Where a run turns or ends on another there is a terminal or a junction, or a reader could not tell."""
    joined = {*page.junctions, *page.terminals}
    for run in page.runs:
        for x, y in run.points:
            if (x, y) in joined:
                continue
            ways = {"left" for start, end, _, _ in level.get(y, ()) if start < x <= end}
            ways |= {"right" for start, end, _, _ in level.get(y, ()) if start <= x < end}
            ways |= {"up" for start, end, _, _ in upright.get(x, ()) if start < y <= end}
            ways |= {"down" for start, end, _, _ in upright.get(x, ()) if start <= y < end}
            if len(ways) > 2:
                yield f"{run.name} forks at {x} {y} without a junction"


def compare(job: Job, drawn: Netlist) -> tuple[Finding, ...]:
    """A finding `drawing-failure` for each way in which the drawing is not the job."""
    said = dict.fromkeys([*drawn.troubles, *_differences(job, drawn)])
    return tuple(failure(job, words) for words in said)


def failure(job: Job, words: str) -> Finding:
    """The finding that keeps a drawing from being written."""
    return Finding(
        rule="drawing-failure",
        severity="danger",
        message=words,
        at=Mark(job.span) if job.span else None,
        path=job.path,
        reason="a drawing that differs from its netlist leads whoever wires by it astray, so it is not written",
        remedy="report the netlist to the makers of wiregen; nothing in it need be wrong",
        basis="the netlist rebuilt from the drawing, against the netlist itself",
    )


def _differences(job: Job, drawn: Netlist) -> Iterator[str]:
    kinds = {part.id: part.kind for part in job.parts.values()}
    yield from _missing("part", kinds, drawn.parts)
    wires = {wire.id: (wire.from_, wire.to) for wire in job.conductors.values()}
    yield from _missing("conductor", wires, drawn.conductors)
    for name, (a, b) in wires.items():
        if drawn.conductors.get(name, (a, b)) != (a, b):
            c, d = drawn.conductors[name]
            yield f"{name} runs from {a} to {b} in the netlist and from {c} to {d} in the drawing"
    for name, kind in kinds.items():
        if drawn.parts.get(name, kind) != kind:
            yield f"{name} is a {kind} in the netlist and a {drawn.parts[name]} in the drawing"
    links = {_pair(link.a, link.b): "" for link in job.links if link.a != link.b}
    yield from _missing("link", links, {_pair(*link): "" for link in drawn.links})
    for terminal in job.terminals.values():
        if terminal.used and terminal.id not in drawn.terminals:
            yield f"the terminal {terminal.id} is not drawn"
        elif terminal.id in drawn.terminals and drawn.terminals[terminal.id] != terminal.part:
            yield f"{terminal.id} is on {terminal.part or 'no part'} and drawn on {drawn.terminals[terminal.id]}"


def _pair(a: str, b: str) -> str:
    return " to ".join(sorted((a, b)))


def _missing(what: str, netlist: dict[str, object] | dict[str, str] | dict[str, tuple[str, str]],
             drawing: dict[str, str] | dict[str, tuple[str, str]]) -> Iterator[str]:  # fmt: skip
    for name in netlist:
        if name not in drawing:
            yield f"the {what} {name} is not drawn"
    for name in drawing:
        if name not in netlist:
            yield f"the drawing shows a {what} {name} that the netlist does not have"
