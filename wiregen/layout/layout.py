"""From a study and its findings to the geometry of the drawing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

from wiregen.circuit.wires import copper_area
from wiregen.findings import Finding
from wiregen.layout import invariants, shown, telling, words
from wiregen.layout.assemble import Picture
from wiregen.layout.continuation import Whole, extract
from wiregen.layout.diagram import MANY, Diagram, all_folded, fitting
from wiregen.layout.geometry import Geometry, Sheet
from wiregen.layout.graph import Graph, build
from wiregen.layout.outlines import outlines
from wiregen.layout.packing import beside
from wiregen.layout.pages import Laid, Remark, on_page, referred
from wiregen.layout.ranks import rank
from wiregen.layout.sheet import LISTED, Page, Words, page
from wiregen.layout.sheets import Wished, divide, in_order, short_bars, wished
from wiregen.layout.shown import Notes
from wiregen.layout.switched import Closed, closed_in, switched
from wiregen.model.job import Job

if TYPE_CHECKING:
    from wiregen.circuit.study import Study


@dataclass(frozen=True, slots=True)
class Options:
    """How the drawing is wished.

    `paper` and `orientation` None: the smallest that the diagram fits. `one_sheet`: all on one sheet, however large
    it must be. `show`, of `shown.SHOWN`, is what is printed beside conductors and parts; None: what the netlist
    says, and currents and drops of `case` where there is one. `notes` are more lines for parts and conductors.
    `changes`, and what they are `compared` with, stand in the place of findings.
    """

    paper: Literal["a4", "a3", "letter", "tabloid"] | None = None
    orientation: Literal["landscape", "portrait"] | None = None
    case: str | None = None
    one_sheet: bool = False
    show: tuple[str, ...] | None = None
    notes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    changes: tuple[Remark, ...] = ()
    compared: str = ""


SIZES = ("a4", "a3", "a2", "a1", "a0")
FILLED = 0.36  # of a sheet's room, by the rough sizes that dividing goes by: runs and gaps take the rest


def lay_out(
    study: Study, findings: Sequence[Finding] = (), options: Options | None = None
) -> tuple[Geometry, tuple[Finding, ...]]:
    """The geometry of a job's drawing, and what is to be said of it (`drawing-failure` where it breaks its rules).

    All lengths in mm on paper, from the upper left corner of the sheet, y downwards.

    >>> from wiregen.circuit import study
    >>> from wiregen.model import read
    >>> text = "battery b 70 Ah\\nload p 5 A\\nb.+ --[W1 red 1.5 mm2 3 m]-- p.+\\np.- --[W2 black 1.5 mm2 3 m]-- b.-"
    >>> geometry, _ = lay_out(study(read("a.wnet", text=text)[0])[0])
    >>> [(sheet.width, sheet.height, sorted(part.id for part in sheet.parts)) for sheet in geometry.sheets]
    [(297.0, 210.0, ['b', 'p'])]
    """
    options = options or Options()
    job = study.job
    case = next((c for c in study.cases if c.name == options.case), None) if options.case else None
    show = (*shown.OF_NETLIST, *shown.OF_CASE[:2]) if options.show is None else options.show
    notes = shown.joined(
        shown.conductor_notes(study, case, show),
        shown.terminal_notes(job) if "terminal" in show else {},
        options.notes,
    )
    remarks: Sequence[Remark] = [f for f in findings if f.accepted is None]
    paper = _Paper(build(job), replace(options, show=show), options.changes if options.compared else remarks, notes)
    laid, said = paper.sheets()
    sheets = referred([on_page(one, number, len(laid)) for number, one in enumerate(laid, 1)])
    sheets = _placed(job, sheets, closed_in(case))
    geometry = Geometry(
        words.job_title(job),
        telling.describe(job),
        tuple(_told(job, sheet) for sheet in sheets) if len(sheets) > 1 else sheets,
        words.title_block(job, 1, len(sheets))
        + ((("case", case.title or case.name),) if case else ())
        + ((("compared with", options.compared),) if options.compared else ()),
        colours={c.id: c.colours for c in job.conductors.values()},
        sizes={c.id: area for c in job.conductors.values() if (area := copper_area(c))},
        cautions=words.CAUTIONS,
    )
    return geometry, (*_failures(job, geometry), *said)


def _placed(job: Job, sheets: Sequence[Sheet], closed: Closed) -> tuple[Sheet, ...]:
    """The sheets with the places of their parts, each called by one name, and with their contacts as they are."""
    short: frozenset[str] = frozenset()
    while True:
        found = [outlines(job, sheet, short) for sheet in sheets]
        more = short.union(*(places.short for places in found))
        if more == short:
            break
        short = more
    return tuple(
        sheet._replace(
            outlines=places.outlines,
            labels=(*sheet.labels, *places.beside),
            parts=tuple(switched(part, closed) for part in sheet.parts),
        )
        for sheet, places in zip(sheets, found, strict=True)
    )


def _told(job: Job, sheet: Sheet) -> Sheet:
    """The sheet with what is on it in words."""
    runs, cuts = sheet.runs, sheet.continuations
    links = {(run.from_, run.to) for run in runs if not run.id}
    shown = telling.Shown(
        sheet.number, sheet.of, {p.id for p in sheet.parts}, {run.id for run in runs}, links,
        {c.conductor: c.sheet for c in cuts},
    )  # fmt: skip
    return sheet._replace(description=telling.describe(job, shown))


class _Paper:
    """One job on paper: on one sheet where it fits, else on several."""

    def __init__(self, graph: Graph, options: Options, remarks: Sequence[Remark], notes: Notes) -> None:
        self.graph, self.options, self.notes = graph, options, notes
        self.owned: dict[str, list[tuple[int, Remark]]] = {}  # by the part or conductor that they are marked at
        for number, remark in enumerate(remarks, 1):
            self.owned.setdefault(_owner(graph, remark.subject), []).append((number, remark))
        self.told = [words.printed_message(remark.message) for remark in remarks]
        self.unbroken: Diagram | None = None  # all of the graph, where it was tried on one sheet
        self.fitted: dict[tuple[tuple[int, ...], str], Laid | None] = {}

    def sheets(self) -> tuple[list[Laid], tuple[Finding, ...]]:
        """Each sheet, in order, and what is to be said of their size."""
        job, options = self.graph.job, self.options
        names = [options.paper] if options.paper else ["a4", "a3"]
        self.graph, wishes = (self.graph, []) if options.one_sheet else wished(self.graph)
        if not wishes:
            whole = self.unbroken = self._diagram(self.graph)
            tried = [(name, turn) for name in names for turn in self._turns()]
            one = self._first(whole, tried) if options.one_sheet or self._likely(names[-1]) else None
            if one:
                return [one], ()
            if options.one_sheet:
                one, name = self._large(whole)
                return [one], (_grown(job, name, options),)
        if wishes and not options.paper:  # as many sheets of A4 as the job asks for, or else A3
            found = self._several("a4", wishes)
            if len(found) <= len(wishes) + 1:
                return self._finished("a4", found)
        return self._finished(names[-1], self._several(names[-1], wishes))

    def _turns(self) -> list[bool]:
        orientation = self.options.orientation
        return [orientation == "landscape"] if orientation else [True, False]

    def _likely(self, name: str) -> bool:
        """Whether it is worth a try to draw all of it on one such sheet."""
        return len(self.graph.nodes) <= MANY

    def _words(self, diagram: Diagram) -> tuple[Words, dict[str, list[tuple[int, Remark]]]]:
        """What is to be printed beside a diagram, and its findings by the part or conductor that they are marked at."""
        graph = diagram.graph
        here = {node.id for node in graph.nodes}
        here |= {w.id for w in graph.wires if w.id and not w.a.startswith("cut:")}
        first = not self.graph.nodes or self.graph.nodes[0].id in here
        owners = sorted((owner for owner in here if owner in self.owned), key=lambda owner: self.owned[owner][0][0])
        marked = {owner: self.owned[owner] for owner in owners}
        every = [each for remarks in marked.values() for each in remarks] + (self.owned.get("", []) if first else [])
        listed = [(k, remark.severity, self.told[k - 1]) for k, remark in sorted(every, key=lambda each: each[0])]
        conductors = [graph.job.conductors[w.id] for w in graph.wires if w.id]
        legend = words.legend(conductors, diagram.symbols())
        if "terminal" in diagram.show and any(node.id in self.notes for node in graph.nodes):
            legend += (("terminal", shown.TERMINAL_RULE),)
        return Words(legend, tuple(listed), words.CAUTIONS), marked

    def _diagram(self, graph: Graph) -> Diagram:
        diagram = Diagram(graph, {}, self.notes, self.options.show or ())
        diagram.marks = {owner: len(found) for owner, found in self._words(diagram)[1].items()}
        return diagram

    def _first(self, diagram: Diagram, tried: Sequence[tuple[str, bool]], listed: float = 1e9) -> Laid | None:
        """The diagram on the first of those pages that it fits."""
        texts, marked = self._words(diagram)
        for name, turn in tried:
            chosen = page(name, turn, texts, listed=listed)
            picture = fitting(diagram, chosen) or self._in_pieces(diagram, chosen)
            if picture:
                return Laid(diagram.graph, picture, chosen, texts, marked)
        return None

    def _in_pieces(self, diagram: Diagram, chosen: Page) -> Picture | None:
        """What no run joins laid out by itself, side by side on the page."""
        parts = diagram.pieces()
        if len(parts) < 2:
            return None
        for style in diagram.styles:
            pictures = all_folded(parts, style, chosen.area)
            whole = beside(pictures, chosen.area.width, chosen.area.height) if pictures else None
            if whole:
                return whole
        return None

    def _large(self, diagram: Diagram, listed: float = 1e9) -> tuple[Laid, str]:
        """The diagram on the smallest sheet that is larger than what was asked for, and the name of its size."""
        asked = self.options.paper or "a3"
        larger = SIZES[1 if asked in ("a4", "letter") else 2 :]
        found = self._first(diagram, [(name, turn) for name in larger for turn in self._turns()], listed)
        if found:
            return found, found.page.name
        texts, marked = self._words(diagram)
        picture = diagram.picture(0, 1)
        assert picture is not None
        base = page("a0", True, texts, listed=listed)
        extra = (max(0.0, picture.box.width - base.area.width), max(0.0, picture.box.height - base.area.height))
        chosen = page("a0", True, texts, extra, listed)
        return Laid(diagram.graph, picture, chosen, texts, marked), "a0 and more"

    def _on(self, name: str, nodes: Sequence[int]) -> Laid | None:
        """Some nodes on one sheet; None where they do not fit."""
        key = (tuple(nodes), name)
        if key not in self.fitted:
            diagram = self.unbroken if self._all(nodes) else None
            diagram = diagram or self._diagram(extract(self.whole, nodes))
            self.fitted[key] = self._first(diagram, [(name, self._turns()[0])], LISTED)
        return self.fitted[key]

    def _all(self, nodes: Sequence[int]) -> bool:
        """Whether these nodes are all that was tried on one sheet."""
        whole = self.unbroken and self.unbroken.graph is self.graph
        return bool(whole) and len(nodes) + len(self.whole.earths) == len(self.graph.nodes)

    def _several(self, name: str, wishes: Sequence[Wished]) -> list[tuple[str, list[int]]]:
        """Titles and nodes of the sheets, in order. Bars that are too high for a sheet are parted first."""
        area = page(name, self._turns()[0], Words()).area
        self.graph = short_bars(self.graph, area.height)
        self.whole = Whole(self.graph, rank(self.graph).column)
        room = area.width * area.height * FILLED

        def fits(nodes: Sequence[int]) -> float | None:
            laid = self._on(name, nodes)
            taken = laid.picture.box if laid else None
            return taken.width * taken.height / (area.width * area.height) if taken else None

        def groups_of(nodes: set[int]) -> list[list[int]]:
            if not wishes or not nodes or fits(sorted(nodes)) is None:
                return divide(self.graph, nodes, room, fits)
            return [sorted(nodes)]

        every = set(range(len(self.graph.nodes))) - self.whole.earths
        groups = groups_of(every - {n for wish in wishes for n in wish.nodes})
        out = [("", groups[k]) for k in in_order(self.graph, groups, self.whole.column)]
        for wish in sorted(wishes, key=lambda wish: wish.number or len(out) + len(wishes)):
            at = wish.number - 1 if wish.number else len(out)
            out[at:at] = [(wish.title, group) for group in groups_of(set(wish.nodes))]
        return out

    def _finished(self, name: str, divided: Sequence[tuple[str, list[int]]]) -> tuple[list[Laid], tuple[Finding, ...]]:
        """The sheets; one that cannot be cut any more and does not fit is turned, or larger than asked for."""
        out, said = [], []
        for title, nodes in divided:
            laid = self._on(name, nodes)
            if laid is None:
                diagram = self._diagram(extract(self.whole, nodes))
                laid = self._first(diagram, [(name, turn) for turn in self._turns()[1:]], LISTED)
                if laid is None:
                    laid, size = self._large(diagram, LISTED)
                    said.append(_grown(self.graph.job, size, self.options))
            out.append(laid._replace(title=title))
        return out, tuple({f.message: f for f in said}.values())


def _owner(graph: Graph, subject: str | None) -> str:
    """The part or conductor whose lettering a finding's mark stands before; `` where nothing drawn is its subject."""
    if not subject:
        return ""
    if subject in graph.job.conductors:
        return subject
    if subject in graph.job.parts:
        return graph.job.parts[subject].block or subject
    if subject in graph.node_of:
        node = graph.nodes[graph.node_of[subject]]
        if node.part is not None:
            return node.id
        return next((graph.wires[w].id for w in graph.wires_at[subject]), "")
    return ""


def _grown(job: Job, name: str, options: Options) -> Finding:
    asked = options.paper.upper() if options.paper else "A3"
    return Finding(
        rule="drawing-size",
        severity="advice",
        message=f"the diagram does not fit {asked} with lettering of 2.5 mm: the sheet is {name.upper()}",
        path=job.path,
        reason="smaller lettering could not be read on paper",
        remedy="print it at its own size, or name a larger paper",
        basis="common practice, no source",
    )


def _failures(job: Job, geometry: Geometry) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            rule="drawing-failure",
            severity="danger",
            message=trouble,
            path=job.path,
            reason="a drawing that breaks the rules of drawing misleads whoever wires by it, so it is not written",
            remedy="report the netlist to the makers of wiregen; nothing in it need be wrong",
            basis="the drawing's own rules (layout/invariants.py)",
        )
        for trouble in invariants.broken(geometry)
    )


__all__ = ["Options", "lay_out"]
