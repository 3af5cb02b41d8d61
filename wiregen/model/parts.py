"""From what was declared to parts with terminals and contacts: types, changes and ways applied, names resolved."""

from __future__ import annotations

from collections.abc import Iterable

from wiregen.findings import Mark, Span, Use
from wiregen.language.tree import Phrase, Value
from wiregen.model.draft import Change, Desk, PartDraft, Row, Scope
from wiregen.model.facts import gather
from wiregen.model.job import Contact, Fact, Link, Part, Terminal
from wiregen.model.vocabulary import KINDS, Table, kind_table, statement_table
from wiregen.model.ways import read_rows

MOST_POLES = 50

HALVES = frozenset({"plug", "socket"})
ANY_STUD = frozenset({"busbar", "splice"})
FROM_BLOCK = ("type", "volts", "breaks")  # a way's fuse has these from its block unless it says otherwise


class Board:
    """Parts, terminals and links as they come into being."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self.parts: dict[str, Part] = {}
        self.terminals: dict[str, Terminal] = {}
        self.by_low: dict[str, str] = {}  # lower-case terminal id -> id
        self.links: dict[tuple[str, str], Link] = {}
        self.studs: dict[str, list[str]] = {}  # busbar, splice or body -> its studs in order of mention
        self.traced: set[tuple[str, str]] = set()  # two-sided part and pole (lower case) named without a side
        self.next_stud: dict[str, int] = {}
        self.stud_limit: dict[str, int] = {}

    def add_terminal(self, id: str, part: str, name: str, span: Span, *, used: bool) -> str:
        """Keep a terminal and return its id."""
        self.terminals[id] = Terminal(id, part, name, span, used)
        self.by_low[id.lower()] = id
        return id

    def use(self, id: str, span: Span) -> None:
        """A path or a link names this terminal."""
        at = self.terminals[id]
        if not at.used:
            self.terminals[id] = Terminal(id, at.part, at.name, span, True)

    def link(self, a: str, b: str, why: str, span: Span, through: tuple[Use, ...] = ()) -> None:
        """Join two terminals metal to metal, once."""
        if a != b and (a, b) not in self.links and (b, a) not in self.links:
            self.links[a, b] = Link(a, b, why, span, through)  # type: ignore[arg-type]
            self.use(a, span)
            self.use(b, span)

    def stud(self, part: str, span: Span) -> str:
        """The next stud of a busbar, splice or body."""
        number = self.next_stud.get(part, 1)
        id = f"{part}.{number}"
        while id.lower() in self.by_low:
            number += 1
            id = f"{part}.{number}"
        self.next_stud[part] = number + 1
        return self.add_stud(part, id, str(number), span)

    def add_stud(self, part: str, id: str, name: str, span: Span) -> str:
        """A stud that a path names."""
        studs = self.studs[part]
        studs.append(id)
        limit = self.stud_limit.get(part)
        if limit is not None and len(studs) == limit + 1:
            self.desk.say(
                f"{part} has {limit} studs, and this would be number {limit + 1}",
                span,
                reason="two lugs would share a stud",
                remedy="say more studs, or use another busbar",
                repaired=True,
            )
        return self.add_terminal(id, part, name, span, used=True)


def apply_changes(desk: Desk) -> None:
    """Apply `change X ...` to parts, places, cables and bundles; those of conductors wait for the paths."""
    for key in list(desk.changes):
        entry = desk.names.get(key)
        if not entry:
            continue
        changes = desk.changes[key]
        if entry.category == "part":
            draft = desk.parts[entry.id]
            for change in changes:
                change_part(desk, draft, change)
        elif entry.category in ("place", "cable", "bundle"):
            store = {"place": desk.places, "cable": desk.cables, "bundle": desk.bundles}[entry.category]
            loose = store[entry.id]
            for change in changes:
                loose.facts.update(_changed(desk, statement_table(entry.category), change, change.phrases, entry.id))
        elif entry.category != "broken":
            for change in changes:
                desk.say(
                    f"{entry.id} is a {entry.category} and cannot be changed",
                    change.span,
                    remedy="change the parts and conductors in it",
                )
        del desk.changes[key]


def change_part(desk: Desk, draft: PartDraft, change: Change) -> None:
    """Apply one change to a part; way rows of a fuse block one by one."""
    plain: list[Phrase] = []
    rows: list[Row] = []
    for phrase in change.phrases:
        plain.append(Phrase(phrase.label, phrase.values, None, phrase.span))
        for line in phrase.block.lines if phrase.block else ():
            if line.label or any(p.label for p in line.phrases):
                if draft.kind == "fuse-block":
                    rows += read_rows(desk, line, change.scope, draft.id, "change")
                else:
                    desk.say(f"{draft.id} is no fuse block and has no ways", line.span, remedy="leave the row out")
            else:
                plain += line.phrases
    draft.facts.update(_changed(desk, kind_table(draft.kind), change, plain, draft.id))
    for row in rows:
        if row.line:
            desk.say(
                "a change of a way cannot bring a path with it",
                row.span,
                remedy=f"write the path as a line of its own from {draft.id}.{row.way}",
            )
        old = draft.rows.get(row.way)
        if old and old.fuse is not None and row.fuse is not None:
            row.fuse = {**old.fuse, **row.fuse}
            row.name = row.name or old.name
        if old:
            row.line = old.line
            row.span = old.span
            row.scope = old.scope
        draft.rows[row.way] = row


def _changed(desk: Desk, table: Table, change: Change, phrases: Iterable[Phrase], id: str) -> dict[str, Fact]:
    return gather(desk, change.scope, table, phrases, origin="change", subject=id).facts


# ---------------------------------------------------------------- building


def build_parts(desk: Desk) -> Board:
    """All declared parts, in order, with the fuses in their fuse blocks behind them."""
    board = Board(desk)
    for draft in list(desk.parts.values()):
        if draft.kind == "body":
            board.studs[draft.id] = []
            continue
        _build(board, draft)
    return board


def _merged(desk: Desk, draft: PartDraft) -> dict[str, Fact]:
    """A part's facts: its type's, its own, its place from the kit around it."""
    type_ = desk.types.get(draft.type.lower())
    facts = {**(type_.facts if type_ else {}), **draft.facts}
    if "at" not in facts and draft.scope.place:
        facts["at"] = draft.scope.place
    return facts


def _build(board: Board, draft: PartDraft) -> None:
    desk = board.desk
    facts = _merged(desk, draft)
    draft.facts = facts
    type_ = desk.types.get(draft.type.lower())
    title = facts.pop("title", None)
    row = KINDS[draft.kind]
    ends: list[str]
    if type_ and type_.ends:
        ends = list(type_.ends)
    elif draft.kind == "connector":
        ends = [f"{side}.{pole}" for pole in _poles(board, draft, facts) for side in "ab"]
    elif draft.kind in HALVES:
        ends = _poles(board, draft, facts)
    elif draft.kind == "fuse-block":
        ends = ["in", *_ways(board, draft, facts), "-"]
    else:
        ends = list(row.get("ends", ()))
    if "negative" in facts and facts["negative"].word == "one-stud":
        ends = [end for end in ends if not end.endswith(".-") and end != "-"] + ["-"]
    terminals = [f"{draft.id}.{end}" if end else draft.id for end in ends]
    for id, end in zip(terminals, ends, strict=True):
        board.add_terminal(id, draft.id, end, draft.span, used=False)
    if draft.kind in ANY_STUD:
        board.studs[draft.id] = []
        studs = facts.get("studs")
        if studs and studs.measure:
            board.stud_limit[draft.id] = int(studs.measure.value)
    draft.ends = ends
    place = _place(desk, draft.scope, facts)
    board.parts[draft.id] = Part(
        draft.id,
        draft.span,
        title.word if title else type_.title if type_ else "",
        facts,
        draft.scope.through,
        draft.kind,
        draft.type,
        place,
        tuple(terminals),
        _contacts(desk, draft, facts, ends),
        draft.block,
        draft.way,
    )
    if draft.kind == "fuse-block":
        for row_ in draft.rows.values():
            if row_.fuse is not None and f"{draft.id}.{row_.way}" in board.terminals:
                _build_way(board, draft, facts, row_)


def _poles(board: Board, draft: PartDraft, facts: dict[str, Fact]) -> list[str]:
    fact = facts.get("poles")
    if fact is None or not fact.values:
        if fact is None:
            board.desk.say(
                f"{draft.id} does not say its poles", draft.span, remedy="write poles + -", through=draft.scope.through
            )
        return ["+", "-"]
    poles = [v.text for v in fact.values]
    first = fact.values[0]
    if len(poles) == 1 and poles[0].isdigit() and 2 <= int(poles[0][:4]) <= MOST_POLES:
        names = ["+", "-"] if poles[0] == "2" else [str(n) for n in range(1, int(poles[0]) + 1)]
        board.desk.say(
            f"poles {first.text} is one pole, called {first.text}",
            first.span,
            words="a name, not a count",
            remedy=f"name each of them: poles {' '.join(names)}",
            through=draft.scope.through,
        )
        return list(dict.fromkeys([*names, *(str(n) for n in range(1, int(poles[0]) + 1))]))
    double = [v for at, v in enumerate(fact.values) if v.text.lower() in [p.lower() for p in poles[:at]]]
    for value in double:
        board.desk.say(
            f"{draft.id} has the pole {value.text} twice",
            value.span,
            remedy="give each pole its own name",
            through=draft.scope.through,
        )
    return list({p.lower(): p for p in reversed(poles)}.values())[::-1]


def _ways(board: Board, draft: PartDraft, facts: dict[str, Fact]) -> list[str]:
    fact = facts.get("ways")
    most = max((int(way) for way in draft.rows), default=0)
    count = int(fact.measure.value) if fact and fact.measure else most
    for way, row in draft.rows.items():
        if int(way) > count and fact:
            board.desk.say(
                f"{draft.id} has {count} ways, and this is way {way}",
                row.span,
                marks=(Mark(fact.span, "said here"),),
                remedy="say more ways, or give it another number",
                through=draft.scope.through,
            )
    return [str(way) for way in range(1, count + 1)]


def _place(desk: Desk, scope: Scope, facts: dict[str, Fact]) -> str | None:
    fact = facts.get("at")
    if not fact or not fact.values:
        return None
    return place_named(desk, scope, fact.values[0])


def place_named(desk: Desk, scope: Scope, value: Value) -> str | None:
    """The place of that name; a finding where there is none."""
    entry = desk.find(value.text, scope)
    if entry and entry.category == "place":
        return entry.id
    if entry and entry.category == "broken":
        return None
    if entry:
        desk.say(
            f"{value.text} is a {entry.category}, not a place",
            value.span,
            marks=(Mark(entry.span, "declared here"),),
            remedy="name a place here",
            through=scope.through,
        )
        return None
    desk.unknown("place", value.text, value.span, scope, desk.known(scope, "place"), f"declare it: place {value.text}")
    return None


def _contacts(desk: Desk, draft: PartDraft, facts: dict[str, Fact], ends: list[str]) -> tuple[Contact, ...]:
    """The contacts of a part: those of its kind, or those that its facts say."""
    id = draft.id
    by_low = {end.lower(): end for end in ends}
    made: list[Contact] = []
    state = facts.get("state")
    own = [fact for name, fact in facts.items() if name.startswith("contact ")]
    if own:
        for fact in own:
            a, b, *rest = [v.text for v in fact.values]
            ok = True
            for value in fact.values[:2]:
                if value.text.lower() not in by_low:
                    ok = False
                    desk.say(
                        f"{draft.type} has no terminal {value.text} for a contact",
                        value.span,
                        remedy="its terminals are " + " ".join(ends),
                        through=fact.through,
                    )
            if ok:
                a, b = by_low[a.lower()], by_low[b.lower()]
                kind = draft.kind if draft.kind in ("relay", "fuse", "breaker", "shunt", "diode") else "switch"
                closed = (rest[0].lower() if rest else "open") == "closed"
                made.append(Contact(id, b, f"{id}.{a}", f"{id}.{b}", kind, closed))  # type: ignore[arg-type]
    else:
        for text in KINDS[draft.kind].get("contacts", ()):
            kind, a, b, *rest = text.split()
            if a in ends and b in ends:
                closed = (state.word.lower() if state else rest[0] if rest else "closed") != "open"
                name = b if draft.kind == "relay" else ""
                made.append(Contact(id, name, f"{id}.{a}", f"{id}.{b}", kind, closed))
    if draft.kind == "connector":
        mated = "unmated" not in facts
        for end in ends:
            if end.startswith("a."):
                made.append(Contact(id, end[2:], f"{id}.{end}", f"{id}.b.{end[2:]}", "pole", mated))
    if "negative" in facts and facts["negative"].word == "common":
        negatives = [end for end in ends if end.endswith(".-")]
        for end in negatives[1:]:
            made.append(
                Contact(id, "negative" if end == "out.-" else end, f"{id}.{negatives[0]}", f"{id}.{end}", "solid")
            )
    return tuple(made)


def _build_way(board: Board, block: PartDraft, facts: dict[str, Fact], row: Row) -> None:
    """The fuse in one way of a fuse block."""
    desk = board.desk
    outlet = f"{block.id}.{row.way}"
    id = desk.declare(row.name, row.scope, "part") if row.name else outlet
    if id is None:
        id = outlet
    if row.name is None and outlet.lower() not in desk.names:
        value = Value("name", outlet, row.span)
        desk.declare(value, row.scope, "part", id=outlet)
    assert row.fuse is not None
    own = {name: facts[name] for name in (*FROM_BLOCK, "at") if name in facts}
    fuse = PartDraft(id, "fuse", "fuse", row.name.span if row.name else row.span, {**own, **row.fuse}, block.scope)
    fuse.block = block.id
    fuse.way = row.way
    desk.parts[id] = fuse
    for change in desk.changes.pop(id.lower(), []):
        change_part(desk, fuse, change)
    if block.scope.circuit:
        block.scope.circuit.members[id] = None
    _build(board, fuse)
    board.link(f"{block.id}.in", f"{id}.in", "way", row.span, block.scope.through)
    board.link(f"{id}.out", outlet, "way", row.span, block.scope.through)


# ---------------------------------------------------------------- studs of a busbar are one piece


def close_studs(board: Board) -> None:
    """Give busbars and splices their studs and the metal between them; bodies their earths."""
    for id, studs in board.studs.items():
        part = board.parts.get(id)
        if part is None:
            continue
        studs.sort(key=lambda stud: int(stud.rpartition(".")[2]))
        solid = tuple(Contact(id, "", studs[0], stud, "solid") for stud in studs[1:])
        board.parts[id] = Part(
            id, part.span, part.title, part.facts, part.through, part.kind, part.type, part.place, tuple(studs), solid
        )
