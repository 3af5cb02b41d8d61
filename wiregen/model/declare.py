"""The first walk over the lines: everything that has a name is declared, kits are unfolded, paths are laid aside."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from wiregen.findings import Mark
from wiregen.language.tree import Line, Phrase, Value
from wiregen.model.draft import Change, CircuitDraft, Desk, Loose, PartDraft, PathDraft, Scope, Waiting
from wiregen.model.facts import gather
from wiregen.model.job import Fact
from wiregen.model.kits import use_kit
from wiregen.model.phrases import bare_of_block, block_lines, facts_of, head
from wiregen.model.spelling import listed
from wiregen.model.vocabulary import (
    KINDS,
    OTHER_WORDS,
    PATH_WORDS,
    STATEMENTS,
    conductor_table,
    kind_table,
    owners,
    statement_table,
)
from wiregen.model.ways import is_back, read_rows

LATER = frozenset(
    {
        "stack",
        "group",
        "case",
        "own-figures",
        "limit",
        "stage",
        "note",
        "accept",
        "fault",
        "worksheet",
        "draw",
        "mate",
        "revision",
    }
)
TOP_ONLY = frozenset({"job", "library", "revision", "type", "kit", "fault", "worksheet", "draw", "stage", "include"})


def declare_all(desk: Desk, lines: Sequence[Line], scope: Scope) -> None:
    """Declare what each line declares, in order."""
    for line in lines:
        declare(desk, line, scope)


def declare(desk: Desk, line: Line, scope: Scope) -> None:
    """Declare what one line declares; lay aside what can only be understood later."""
    if line.label is not None:
        desk.say(
            f"{line.label.text}: begins a way row, and those stand only in the braces of a fuse block",
            line.label.span,
            remedy="put it in the braces of its fuse-block",
            through=scope.through,
        )
        return
    if line.path:
        if _glued(desk, line, scope):
            return
        declare_in_path(desk, line, scope)
        desk.paths.append(PathDraft(line, scope))
        return
    words = head(line)
    if not words or words[0].kind == "missing":
        return
    if words[0].kind != "name":
        later = next((v for v in words[1:] if v.kind == "name" and v.text.lower() in KINDS), None)
        desk.say(
            f"a line begins with a word, not with {words[0].text}",
            words[0].span,
            remedy=f"begin with {later.text}, then the name, then its values"
            if later
            else "begin with what it is, such as fuse, then the name, then its values",
            through=scope.through,
        )
        return
    word = words[0].text.lower()
    handler = HANDLERS.get(word)
    if word in TOP_ONLY and (scope.kit or scope.circuit):
        desk.say(
            f"{word} cannot stand inside a {'kit' if scope.kit else 'circuit'}",
            words[0].span,
            remedy="move it out of the braces",
            through=scope.through,
        )
    elif handler:
        handler(desk, line, words, scope)
    elif word in LATER:
        desk.waiting.append(Waiting(word, line, scope))
    elif word in KINDS or word in desk.types:
        declare_part(desk, words, facts_of(line, 2), scope)
    elif word in desk.kits:
        use_kit(desk, line, scope, declare_all)
    elif word in desk.broken_kinds:
        if len(words) > 1 and words[1].kind == "name":
            desk.keep_broken(words[1], scope)
    else:
        unknown_statement(desk, line, words, scope)


def _glued(desk: Desk, line: Line, scope: Scope) -> bool:
    """Whether a path begins with `--` on a line of its own, below a line that is no path; says so."""
    assert line.path
    station, link = line.path.stations[0], line.path.links[0]
    word = station.values[0].text.lower()
    if station.values[0].kind != "name" or word not in STATEMENTS or desk.find(word, scope):
        return False
    desk.say(
        f"this path goes on from the line above, and {word} is no path",
        link.span,
        remedy="begin the path with a terminal or a part",
        through=scope.through,
    )
    declare(desk, Line(None, None, (Phrase(None, station.values, None, station.span),), station.span), scope)
    return True


def unknown_statement(desk: Desk, line: Line, words: tuple[Value, ...], scope: Scope) -> None:
    """Say that a line begins with a word that means nothing."""
    if desk.full:
        return
    known = [*KINDS, *STATEMENTS, *(t.name for t in desk.types.values()), *(k.name for k in desk.kits.values())]
    first = words[0]
    others = [o for o in OTHER_WORDS.get(first.text.lower(), "").split() if o in KINDS or o in STATEMENTS]
    near = f"write {others[0]}" if others else desk.near(first.text, known)
    if not near and desk.two_dashes(first, scope):
        return
    if desk.unread and not near and _may_be_a_kit(desk, words, scope):
        desk.keep_broken(words[1], scope)
        return
    remedy = near or _kind_first(words) or "begin with a kind of part, a statement, or a type or kit of your own"
    if first.text.lower() in PATH_WORDS:
        remedy = "a conductor stands in a path: start.+ --[W1 red 6 mm2 2 m]-- F1"
    whose = owners(first.text.lower())
    if desk.find(first.text, scope) or "." in first.text:
        remedy = "a path goes on with -- or --[ ]--"
        if len(words) > 2 and words[1].kind == "sign":
            remedy = f"two parts are joined with two dashes: {first.text} -- {words[2].text}"
        entry = desk.find(first.text, scope)
        if entry and len(words) > 1:
            remedy = f"write change {first.text} and the new facts, or lead a path on with --"
    elif whose and not near and first.text.lower() not in PATH_WORDS:
        remedy = f"{first.text} is said of {listed(whose[:4])}: put it on that line behind a comma, or in braces there"
    desk.say(
        f"no line begins with {first.text}", first.span, words="not understood", remedy=remedy, through=scope.through
    )
    if len(words) > 1 and words[1].kind == "name" and not desk.find(words[1].text, scope):
        desk.keep_broken(words[1], scope)


def _may_be_a_kit(desk: Desk, words: tuple[Value, ...], scope: Scope) -> bool:
    """Whether a line may well begin with a kit or type that stands in the file that could not be read."""
    word = words[0].text.lower()
    if len(words) < 2 or words[1].kind != "name" or desk.find(words[1].text, scope) or desk.find(word, scope):
        return False
    return words[0].kind == "name" and "." not in word and word not in PATH_WORDS and not owners(word)


def _kind_first(words: tuple[Value, ...]) -> str:
    """How a line should begin whose kind stands behind its name, or behind a word too many; `` where it has none."""
    at = next((i for i, v in enumerate(words[1:4], 1) if v.kind == "name" and v.text.lower() in KINDS), 0)
    if not at:
        return ""
    follows = at + 1 < len(words) and words[at + 1].kind == "name"
    name = words[at + 1].text if follows else words[0].text
    return f"the kind comes first, then the name, then the values: {words[at].text.lower()} {name}"


def named(desk: Desk, words: tuple[Value, ...], scope: Scope, category: str) -> Value | None:
    """The name that a statement declares."""
    if len(words) > 1 and words[1].kind == "name":
        return words[1]
    if len(words) > 1 and words[1].kind == "missing":
        return None
    at = words[1] if len(words) > 1 else words[0]
    desk.say(
        f"{words[0].text} has no name",
        at.span,
        words="a name stands here" if len(words) > 1 else "",
        remedy=f"write {words[0].text} NAME, then its values",
        through=scope.through,
    )
    return None


def declare_part(desk: Desk, words: tuple[Value, ...], phrases: Iterable[Phrase], scope: Scope) -> PartDraft | None:
    """Declare one part, with its facts and its way rows; None where its name will not do."""
    name = named(desk, words, scope, "part")
    if name is None:
        return None
    if desk.crowded(0 if scope.kit else 1, name.span, scope):  # the lines of a kit were counted where it is used
        return None
    word = words[0].text.lower()
    type_ = desk.types.get(word)
    kind = type_.kind if type_ else word
    rows: list[Line] = []
    if kind == "fuse-block":
        phrases = _without_rows(desk, phrases, scope, rows)
    said = gather(desk, scope, kind_table(kind), phrases, subject=name.text)
    id = desk.declare(name, scope, "part")
    if id is None:
        return None
    draft = PartDraft(id, kind, type_.name if type_ else kind, name.span, said.facts, scope)
    desk.parts[id] = draft
    if scope.circuit:
        scope.circuit.members[id] = None
    for line in rows:
        _declare_ways(desk, draft, line, scope)
    return draft


def _without_rows(desk: Desk, phrases: Iterable[Phrase], scope: Scope, rows: list[Line]) -> list[Phrase]:
    """The facts of a fuse block; the lines of its ways go into `rows`."""
    plain: list[Phrase] = []
    for phrase in phrases:
        plain.append(Phrase(phrase.label, phrase.values, None, phrase.span))
        for line in phrase.block.lines if phrase.block else ():
            first = (line.path.stations[0] if line.path else line.phrases[0]).values[0]
            if line.label is None and first.kind == "number":
                desk.say(
                    f"the way's number {first.text} stands without its colon",
                    first.span,
                    remedy=f"write {first.text}: before what is in the way",
                    through=scope.through,
                )
            elif line.label or any(p.label for p in line.phrases):
                rows.append(line)
            elif line.path:
                desk.say(
                    "a way row begins with the number of its way",
                    line.span,
                    remedy="write 1: before it",
                    through=scope.through,
                )
            else:
                plain += line.phrases
    return plain


def _declare_ways(desk: Desk, block: PartDraft, line: Line, scope: Scope) -> None:
    """Declare the ways of one line, and the loads that stand in it."""
    rows = read_rows(desk, line, scope, block.id)
    if desk.crowded(len(rows), line.span, scope):
        return
    for row in rows:
        first = block.rows.setdefault(row.way, row)
        if first is not row:
            desk.say(
                f"way {row.way} of {block.id} is declared twice",
                row.span,
                words="again here",
                marks=(Mark(first.span, "first here"),),
                remedy="give one another number",
                through=scope.through,
            )
        elif row.line:
            declare_in_path(desk, row.line, scope)
            desk.paths.append(PathDraft(row.line, scope, block.id, row))


def declare_in_path(desk: Desk, line: Line, scope: Scope) -> None:
    """Declare the parts that a path declares where they stand: `-- lamp D1 20 W "Work lamp"`."""
    assert line.path
    stations = line.path.stations
    for at, station in enumerate(stations):
        words = station.values
        if len(words) < 2 or words[0].kind != "name" or words[1].kind != "name":
            continue
        word = words[0].text.lower()
        if (word not in KINDS and word not in desk.types) or desk.find(words[0].text, scope):
            continue
        phrases: list[Phrase] = [Phrase(None, words[2:], None, station.span)]
        if at == len(stations) - 1:
            phrases += [phrase for phrase in line.phrases if not (line.label and is_back(phrase))]
        declare_part(desk, words, phrases, scope)


def do_change(desk: Desk, line: Line, words: tuple[Value, ...], scope: Scope) -> None:
    """`change X facts`: laid beside what it changes."""
    if len(words) < 2 or words[1].kind != "name":
        desk.say(
            "change does not say what to change",
            words[0].span,
            remedy="write change NAME and the new facts",
            through=scope.through,
        )
        return
    full = scope.prefix + words[1].text
    desk.changes.setdefault(full.lower(), []).append(Change(words[1].span, facts_of(line, 2), scope))


def do_each(desk: Desk, line: Line, words: tuple[Value, ...], scope: Scope) -> None:
    """`each 8 mm2, via sill`: defaults of the conductors here."""
    said = gather(desk, scope, conductor_table(), facts_of(line, 1), origin="each", subject="each")
    scope.each.append(said.facts)


def do_place(desk: Desk, line: Line, words: tuple[Value, ...], scope: Scope) -> None:
    """`place bonnet "Engine bay", ambient 80 degC`."""
    _keep_loose(desk, line, words, scope, "place", desk.places)


def do_bundle(desk: Desk, line: Line, words: tuple[Value, ...], scope: Scope) -> None:
    """`bundle B1 "Sill loom", conduit 25 mm, via engine-bay sill`."""
    _keep_loose(desk, line, words, scope, "bundle", desk.bundles)


def do_cable(desk: Desk, line: Line, words: tuple[Value, ...], scope: Scope) -> None:
    """`cable C7 twin 6 mm2 8.2 m, cores red black, screen, via sill`."""
    _keep_loose(desk, line, words, scope, "cable", desk.cables)


def _keep_loose(
    desk: Desk, line: Line, words: tuple[Value, ...], scope: Scope, category: str, into: dict[str, Loose]
) -> None:
    name = named(desk, words, scope, category)
    if name is None:
        return
    said = gather(desk, scope, statement_table(category), facts_of(line, 2), subject=name.text)
    id = desk.declare(name, scope, category)  # type: ignore[arg-type]
    if id is not None:
        into[id] = Loose(id, name.span, said.facts, scope)


def do_circuit(desk: Desk, line: Line, words: tuple[Value, ...], scope: Scope) -> None:
    """`circuit NAME "title", each 8 mm2 { ... }`."""
    name = named(desk, words, scope, "circuit")
    if name is None:
        return
    inner = Scope(scope)
    said = gather(desk, scope, statement_table("circuit"), bare_of_block(facts_of(line, 2)), subject=name.text)
    id = desk.declare(name, scope, "circuit")
    if id is not None:
        title = said.facts.pop("title", None)
        inner.circuit = CircuitDraft(id, name.span, title.word if title else "", said.facts, {}, [], scope.through)
        inner.own_circuit = True
        desk.circuits[id] = inner.circuit
    if said.each:
        inner.each.append(gather(desk, scope, conductor_table(), said.each, origin="each", subject="each").facts)
    declare_all(desk, block_lines(line), inner)


def do_job(desk: Desk, line: Line, words: tuple[Value, ...], scope: Scope) -> None:
    """`job "title" { system 12 V, limits iso13297 }`."""
    if desk.job_line:
        desk.say(
            "a second job line",
            words[0].span,
            words="again here",
            marks=(Mark(desk.job_line, "first here"),),
            remedy="one file is one job: keep one of them",
        )
        return
    desk.job_line = words[0].span
    said = gather(desk, scope, statement_table("job"), facts_of(line, 1), subject="the job")
    title: Fact | None = said.facts.pop("title", None)
    desk.job_title = title.word if title else ""
    desk.job_facts = said.facts
    if said.each:
        scope.each.append(gather(desk, scope, conductor_table(), said.each, origin="each", subject="each").facts)


def do_library(desk: Desk, line: Line, words: tuple[Value, ...], scope: Scope) -> None:
    """`library "Chargers", revision 2`: checked, and used where the file is included."""
    gather(desk, scope, statement_table("library"), facts_of(line, 1), subject="the library")


def do_defined(desk: Desk, line: Line, words: tuple[Value, ...], scope: Scope) -> None:
    """Types and kits were taken in before."""


HANDLERS: dict[str, Callable[[Desk, Line, tuple[Value, ...], Scope], None]] = {
    "job": do_job,
    "library": do_library,
    "place": do_place,
    "bundle": do_bundle,
    "cable": do_cable,
    "circuit": do_circuit,
    "change": do_change,
    "each": do_each,
    "type": do_defined,
    "kit": do_defined,
}
