"""Text as a terminal shows it: cells taken by each code point, and nothing that could steer the terminal.

A netlist is anybody's text. Escape sequences, bidirectional overrides and invisible characters in it are shown as
`<U+202E>`, so that a name can neither recolour the report nor pretend to be another name.
"""

from __future__ import annotations

TAB = 4  # cells from one tab stop to the next, in excerpts
_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})  # Unicode general categories that show nothing


def visible(text: str) -> str:
    """The text with every character that shows nothing, or steers the terminal, spelled out as `<U+XXXX>`."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(_shown(c) for c in text)


def visible_lines(text: str) -> str:
    """The same for a whole text, whose line ends stay."""
    return "\n".join(visible(line) for line in text.split("\n"))


def cells(text: str) -> int:
    """How many cells a text takes that has gone through `visible`: two for wide letters, none for combining marks."""
    if text.isascii():
        return len(text)
    return sum(_cells(c) for c in text)


def spread(line: str) -> list[tuple[str, int]]:
    """Each code point of one line as (what is shown, cells it takes); a tab fills up to the next tab stop."""
    if line.isascii() and line.isprintable():
        return [(c, 1) for c in line]
    out: list[tuple[str, int]] = []
    column = 0
    for c in line:
        shown = " " * (TAB - column % TAB) if c == "\t" else _shown(c)
        taken = cells(shown)
        column += taken
        out.append((shown, taken))
    return out


def wrap(text: str, width: int, first: str, rest: str) -> list[str]:
    """Lines of at most `width` cells, the first led by `first` and the others by `rest`; no word is broken.

    No line begins with a word in `::`, which a CI service would take for a command: it stays on the line before.
    """
    lines: list[str] = []
    line, used, empty = first, cells(first), True
    for word in visible(text).split(" "):
        taken = cells(word)
        if not empty and used + 1 + taken > width and not word.startswith("::"):
            lines.append(line)
            line, used, empty = rest, cells(rest), True
        gap = "" if empty else " "
        line, used, empty = line + gap + word, used + len(gap) + taken, False
    lines.append(line)
    return [line.rstrip() for line in lines]


def _shown(c: str) -> str:
    if c.isascii():
        return c if c.isprintable() else f"<U+{ord(c):04X}>"
    from unicodedata import category  # only where a text needs it: the check path stays light

    kind = category(c)
    if kind == "Zs":
        return " "  # a no-break or thin space
    return f"<U+{ord(c):04X}>" if kind in _HIDDEN else c


def _cells(c: str) -> int:
    if c.isascii():
        return 1
    from unicodedata import category, east_asian_width

    if category(c) in ("Mn", "Me"):
        return 0
    return 2 if east_asian_width(c) in "WF" else 1
