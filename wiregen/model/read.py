"""The front door: a path in, a job and the mistakes of its text out."""

from __future__ import annotations

from collections.abc import Sequence

from wiregen.findings import Finding, Mark, Source, Span, mistake
from wiregen.language.files import read_source
from wiregen.language.limits import MOST_MISTAKES
from wiregen.language.tree import Value
from wiregen.model.cases import read_cases
from wiregen.model.declare import declare_all
from wiregen.model.definitions import define
from wiregen.model.draft import Desk, Scope, Waiting
from wiregen.model.includes import Bundle, load
from wiregen.model.job import Body, Cable, Circuit, Fact, Job, Limit, Named, Note, OwnFigures, Place
from wiregen.model.lessons import check_lessons, read_lesson, read_stage
from wiregen.model.mounting import join_mates, mount_parts, resolve_names
from wiregen.model.parts import apply_changes, build_parts, close_studs
from wiregen.model.paths import trace
from wiregen.model.records import (
    circuit_limit,
    read_accept,
    read_hints,
    read_limit,
    read_note,
    read_own_figures,
    read_revision,
)
from wiregen.model.references import Things, one, spread
from wiregen.model.tracing import check_tracing


def read(
    path: str,
    *,
    text: str | None = None,
    data: bytes | None = None,
    include: Sequence[str] = (),
    more: Sequence[Source] = (),
) -> tuple[Job | None, tuple[Finding, ...]]:
    """The job in a netlist file and the mistakes of its text.

    `path` is as the user gave it (`-` for standard input); `text` or `data` stand in its place where they are given.
    `include` names further folders that includes may come from. `more` are texts that are read as if they stood at its
    end: what a command line adds to the job. The job is None where nothing could be read at all;
    it is not `complete` where a mistake lost something. Measures of facts are in A, V, ohm, m, mm2, Ah, W, degC, s and
    ratios, whatever the text is written in.

    >>> job, mistakes = read("a.wnet", text="busbar B 100 A\\nbusbar C 100 A\\nB --[W1 red 6 mm2 350 mm]-- C")
    >>> job.conductors["W1"].number("length")
    0.35
    >>> job, mistakes = read("a.wnet", text="fuse F1 10 V")
    >>> job.complete, mistakes[0].message
    (False, '10 V has no meaning of its own for F1')
    """
    if text is None:
        source, found = read_source(path, data=data)
        if source is None:
            return None, tuple(found)
    else:
        source, found = Source(path.replace("\\", "/"), text), ()
    bundle = load(source, include, more)
    if not bundle.lines and not bundle.findings:
        remedy = "write a netlist; `wiregen new` makes one to start from"
        return None, (*found, mistake(f"{source.path} holds no statement", None, remedy=remedy, path=source.path))
    job, told = read_lines(bundle)
    findings = [*found, *bundle.findings, *told]
    return job, tuple(sorted(findings, key=_position))


def _position(finding: Finding) -> tuple[str, int]:
    """By file, then by place."""
    return (finding.at.span.source.path, finding.at.span.start) if finding.at else (finding.path, -1)


def read_lines(bundle: Bundle) -> tuple[Job, tuple[Finding, ...]]:
    """The job that the lines of a text and its includes make."""
    desk = Desk()
    desk.complete = bundle.complete
    desk.unread = bundle.unread
    top = Scope()
    define(desk, bundle.lines, top)
    declare_all(desk, bundle.lines, top)
    apply_changes(desk)
    board = build_parts(desk)
    mount_parts(board)
    conductors = trace(board)
    close_studs(board)
    check_tracing(board, conductors)
    things = Things(desk, board, conductors)
    _leftover_changes(desk, things)
    job = _assemble(things, bundle, top)
    desk.close_unknown()
    if desk.full:
        path = bundle.source.path
        message = f"{path} has more than {MOST_MISTAKES} mistakes; the rest are not told"
        desk.findings.append(mistake(message, None, remedy="mend the first ones and try again", path=path))
    return _with_completeness(job, desk), tuple(desk.findings)


def _with_completeness(job: Job, desk: Desk) -> Job:
    if desk.complete:
        return job
    from dataclasses import replace

    return replace(job, complete=False)


def _leftover_changes(desk: Desk, things: Things) -> None:
    """Changes of what does not exist."""
    for key, changes in desk.changes.items():
        for change in changes:
            if key in desk.names or any(c.lower() == key for c in things.conductors):
                continue
            found = one(things, Value("name", change.span.text, change.span), change.scope)
            if found:
                desk.say(
                    f"{change.span.text} cannot be changed here",
                    change.span,
                    reason="a change reaches parts, conductors, places, cables and bundles, inside a kit only its own",
                    remedy="name one of them",
                    through=change.scope.through,
                )


def _waiting(desk: Desk, word: str) -> list[Waiting]:
    return [w for w in desk.waiting if w.word == word]


def _assemble(things: Things, bundle: Bundle, top: Scope) -> Job:
    desk, board = things.desk, things.board
    _read_groups(things)
    join_mates(board, _waiting(desk, "mate"))
    resolve_names(board)
    limits: list[Limit] = []
    own: OwnFigures | None = None
    for waiting in _waiting(desk, "own-figures"):
        figures, more = read_own_figures(things, waiting)
        limits += more
        if own is not None:
            desk.say(
                "a second set of own figures",
                figures.span,
                marks=(Mark(own.span, "first here"),),
                remedy="bring them together in one",
            )
        own = own or figures
    for circuit in desk.circuits.values():
        limit = circuit_limit(things, circuit, top)
        limits += [limit] if limit else []
    for waiting in _waiting(desk, "limit"):
        limit = read_limit(things, waiting)
        limits += [limit] if limit else []
    if "limit" in desk.job_facts:
        fact = desk.job_facts["limit"]
        if fact.measure:
            limits.append(Limit(fact.measure.value, fact.span, None, (), False))
    notes = [n for w in _waiting(desk, "note") if (n := read_note(things, w))]
    notes += _notes_of_facts(things)
    stages = [s for w in _waiting(desk, "stage") if (s := read_stage(things, w))]
    _no_doubles(things, "stage", [(s.number, s.span) for s in stages])
    lessons = [x for w in desk.waiting if w.word in ("fault", "worksheet") if (x := read_lesson(things, w))]
    for kind in ("fault", "worksheet"):
        _no_doubles(things, kind, [(x.name, x.span) for x in lessons if x.kind == kind])
    cases = read_cases(things, _waiting(desk, "case"))
    check_lessons(things, lessons, stages, cases)
    revisions = [r for w in _waiting(desk, "revision") if (r := read_revision(things, w))]
    _no_doubles(things, "revision", [(r.name, r.span) for r in revisions])
    return Job(
        path=bundle.source.path,
        title=desk.job_title,
        span=desk.job_line,
        facts=desk.job_facts,
        parts=board.parts,
        terminals=board.terminals,
        conductors=things.conductors,
        links=tuple(board.links.values()),
        places=_places(things),
        bodies=_bodies(things),
        cables=_cables(things),
        bundles={b.id: Named(b.id, b.span, _title(b.facts), b.facts, b.scope.through) for b in desk.bundles.values()},
        circuits=_circuits(things),
        groups=desk.groups,
        stacks=_stacks(things),
        limits=tuple(limits),
        cases=cases,
        own_figures=own,
        accepts=tuple(a for w in _waiting(desk, "accept") if (a := read_accept(things, w))),
        notes=tuple(notes),
        revisions=tuple(revisions),
        stages=tuple(stages),
        lessons=tuple(lessons),
        hints=tuple(hint for w in _waiting(desk, "draw") for hint in read_hints(things, w)),
        kits={use.id: use.kit for use in desk.uses.values()},
        complete=desk.complete,
    )


def _title(facts: dict[str, Fact]) -> str:
    fact = facts.get("title")
    return fact.word if fact else ""


def _cables(things: Things) -> dict[str, Cable]:
    """The cables with the conductors that are their cores."""
    cores: dict[str, list[str]] = {}
    for conductor in things.conductors.values():
        if conductor.cable:
            cores.setdefault(conductor.cable, []).append(conductor.id)
    return {
        c.id: Cable(c.id, c.span, _title(c.facts), c.facts, c.scope.through, tuple(cores.get(c.id, ())))
        for c in things.desk.cables.values()
    }


def _circuits(things: Things) -> dict[str, Circuit]:
    """The circuits with the two ends of their first path, and their members."""
    made = {}
    for c in things.desk.circuits.values():
        begin, end = c.ends or ("", "")
        members = _members(things, c.members)
        made[c.id] = Circuit(c.id, c.span, c.title, c.facts, c.through, begin, end, members)
    return made


def _members(things: Things, members: dict[str, None]) -> tuple[str, ...]:
    found: dict[str, None] = {}
    for member in members:
        if member in things.desk.uses:
            start = member + "."
            found.update(dict.fromkeys(p for p in things.board.parts if p.startswith(start)))
        else:
            found[member] = None
    return tuple(found)


def _places(things: Things) -> dict[str, Place]:
    return {
        p.id: Place(p.id, p.span, _title(p.facts), {k: f for k, f in p.facts.items() if k != "title"}, p.scope.through)
        for p in things.desk.places.values()
    }


def _bodies(things: Things) -> dict[str, Body]:
    """The bodies with all earths on them."""
    bodies: dict[str, Body] = {}
    for draft in things.desk.parts.values():
        if draft.kind != "body":
            continue
        earths = [
            part.terminals[0]
            for part in things.board.parts.values()
            if part.kind == "earth" and part.terminals and part.word("on").lower() == draft.id.lower()
        ]
        facts = {k: f for k, f in draft.facts.items() if k != "title"}
        bodies[draft.id] = Body(draft.id, draft.span, _title(draft.facts), facts, draft.scope.through, tuple(earths))
    return bodies


def _read_groups(things: Things) -> None:
    """`group evening fan lamps`: groups may hold groups that stand before them."""
    desk = things.desk
    for waiting in _waiting(desk, "group"):
        words = waiting.line.phrases[0].values
        if len(words) < 2 or words[1].kind != "name":
            desk.say(
                "a group has no name",
                words[0].span,
                remedy="write group evening fan lamps",
                through=waiting.scope.through,
            )
            continue
        members: list[str] = []
        for value in [*words[2:], *(v for p in waiting.line.phrases[1:] for v in p.values)]:
            if value.kind != "title":
                members += spread(things, value, waiting.scope)
        id = desk.declare(words[1], waiting.scope, "group")
        if id is not None:
            desk.groups[id] = tuple(dict.fromkeys(members))


def _stacks(things: Things) -> dict[str, tuple[str, ...]]:
    """`stack start.+ W20 W1 F1`: the order of lugs on a post, from the post outward."""
    desk = things.desk
    stacks: dict[str, tuple[str, ...]] = {}
    for waiting in _waiting(desk, "stack"):
        words = waiting.line.phrases[0].values[1:]
        words += tuple(v for p in waiting.line.phrases[1:] for v in p.values)
        if not words:
            desk.say(
                "a stack does not name its post",
                waiting.line.span,
                remedy="write stack start.+ W20 W1",
                through=waiting.scope.through,
            )
            continue
        post = one(things, words[0], waiting.scope, terminal_first=True)
        members = [id for value in words[1:] for id in spread(things, value, waiting.scope)]
        if post is None:
            continue
        if post not in things.board.terminals:
            desk.say(
                f"{words[0].text} is no terminal",
                words[0].span,
                remedy="name the post, such as start.+",
                through=waiting.scope.through,
            )
            continue
        for value in words[1:]:
            for id in spread(things, value, waiting.scope) if value.kind == "name" else ():
                conductor = things.conductors.get(id)
                if conductor and post not in (conductor.from_, conductor.to):
                    desk.say(
                        f"{id} does not end at {post}",
                        value.span,
                        marks=(Mark(conductor.span, "it runs here"),),
                        remedy="leave it out of the stack, or lead it there",
                        through=waiting.scope.through,
                    )
        stacks[post] = tuple(members)
    return stacks


def _notes_of_facts(things: Things) -> list[Note]:
    """The notes that stand among the facts of parts and conductors."""
    notes = []
    for named in (*things.board.parts.values(), *things.conductors.values()):
        fact = named.facts.get("note")
        if fact and fact.origin not in ("each", "cable", "type"):
            notes.append(Note(named.id, fact.word, "", fact.span))
    return notes


def _no_doubles(things: Things, what: str, found: list[tuple[str, Span]]) -> None:
    """Say where two stages, revisions or lessons have one name."""
    seen: dict[str, Span] = {}
    for name, span in found:
        first = seen.setdefault(name.lower(), span)
        if first is not span:
            things.desk.say(
                f"{what} {name} stands twice",
                span,
                words="again here",
                marks=(Mark(first, "first here"),),
                remedy="give one another name",
            )
