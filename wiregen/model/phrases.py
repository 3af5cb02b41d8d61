"""Lines and phrases taken apart: their first words, what follows, the lines in their braces."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from wiregen.language.tree import Line, Phrase, Value
from wiregen.model.draft import Desk, Scope


def head(line: Line) -> tuple[Value, ...]:
    """The words before the first comma of a line that is no path."""
    return line.phrases[0].values if line.phrases else ()


def without(phrase: Phrase, count: int) -> Phrase:
    """A phrase without its first words."""
    return Phrase(phrase.label, phrase.values[count:], phrase.block, phrase.span)


def facts_of(line: Line, count: int) -> tuple[Phrase, ...]:
    """The phrases of a line without its first words."""
    return (without(line.phrases[0], count), *line.phrases[1:])


def block_lines(line: Line) -> tuple[Line, ...]:
    """The lines in the braces of a statement."""
    return tuple(inner for phrase in line.phrases if phrase.block for inner in phrase.block.lines)


def bare_of_block(phrases: Iterable[Phrase]) -> tuple[Phrase, ...]:
    """Phrases without their braces."""
    return tuple(Phrase(p.label, p.values, None, p.span) if p.block else p for p in phrases)


def flat(desk: Desk, phrases: Iterable[Phrase], scope: Scope) -> Iterator[Phrase]:
    """The phrases of a statement and of the lines in its braces, one after another."""
    for phrase in phrases:
        yield phrase
        if phrase.block:
            for line in phrase.block.lines:
                yield from flat_line(desk, line, scope)


def flat_line(desk: Desk, line: Line, scope: Scope) -> Iterator[Phrase]:
    """The phrases of one line in braces where only facts may stand."""
    if line.path:
        desk.say(
            "a path cannot stand among these facts",
            line.span,
            remedy="close the braces before it",
            through=scope.through,
        )
        return
    yield from flat(desk, line.phrases, scope)
