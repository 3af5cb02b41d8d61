"""Slips of the pen: what people type in place of a token, what they mean by it, and what to tell them.

The table is read only when a text did not parse. Its patterns stand before the grammar's in one regular expression, so
none of them may match where a sound text could stand.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

from wiregen.built.units import UNITS
from wiregen.language.build_tree import quoted

_LONG = "‐‑‒–—―−"  # hyphens and dashes of every length that telephones and word processors write, and the minus sign
_RUN = f"(?=-*[{_LONG}])[-{_LONG}]++"  # a run of dashes with a long one among them
_GAP = r"[ \t\xa0\u2002-\u200b\u202f]*"
_UNIT = "(?:" + "|".join(re.escape(unit) for unit in sorted(UNITS, key=lambda u: (-len(u), u))) + r")(?![\w²^/])"
_NUMBER = r"[+−-]?\d+(?:\.\d+)?"
_LONG_DASH = "a long dash is read as two short ones"


class Slip(NamedTuple):
    """One slip.

    `token` is the grammar's token that is meant (`` where nothing is), `means` makes its text from the match.
    `repaired` is true where there is no doubt about what was meant; otherwise the text counts as misunderstood.
    """

    pattern: str
    token: str
    means: str | Callable[[str], str]
    message: str  # {found} and {means} are filled in
    remedy: str = ""
    repaired: bool = True


def _decimal_comma(text: str) -> str:
    return text.replace(",", ".")


def _dotted_range(text: str) -> str:
    return re.sub(rf"{_GAP}(?:–|…|\.\.\.+){_GAP}", "..", text)


def _inside(text: str) -> str:
    return quoted(text[1:-1])


SLIPS: tuple[Slip, ...] = (
    # square brackets round facts: no path goes on behind them
    Slip(
        r"\[(?=[^\[\]\r\n]*\][ \t]*(?:[,{}#\r\n]|\Z))",
        "",
        "",
        "no square brackets are needed round facts",
        "leave out the `[` and the `]`",
    ),
    # the two ends of a conductor
    Slip(
        r"--[ \t]*\[(?:[ \t]*\[)+",
        "OPEN",
        "--[",
        "a conductor begins with one bracket, `--[`",
        "write `--[`",
    ),
    Slip(
        r"(?:\][ \t]*){2,4}--(?!-)",
        "CLOSE",
        "]--",
        "a conductor ends with one bracket, `]--`",
        "write `]--`",
    ),
    Slip(rf"{_RUN}[ \t]*\[", "OPEN", "--[", f"{_LONG_DASH}: `--[`", "write `--[`"),
    Slip(
        r"(?:-(?!-)>?|-{3,}>?|--?>|=+>?)[ \t]*\[|\[|--[ \t]*[({]",
        "OPEN",
        "--[",
        "a conductor begins with `--[`, here stands `{found}`",
        "write `--[`",
    ),
    Slip(rf"\][ \t]*{_RUN}", "CLOSE", "]--", f"{_LONG_DASH}: `]--`", "write `]--`"),
    Slip(
        r"\][ \t]*(?:-{3,}>?|-{0,2}>|=+>?|-(?!-))|\](?![ \t]*--(?!-))|[)}][ \t]*--(?!-)",
        "CLOSE",
        "]--",
        "a conductor ends with `]--`, here stands `{found}`",
        "write `]--`",
    ),
    # words with a long dash inside, signs
    Slip(
        r"(?=\w+(?:-\w+)*[‐‑])\w+(?:[-‐‑]\w+)+(?!\w)",
        "NAME",
        lambda text: re.sub("[‐‑]", "-", text),
        "the hyphen in `{found}` is not the one of the keyboard",
        "write `{means}`",
    ),
    Slip(
        r"\w+(?:-\w+)*(?:\.\w+(?:-\w+)*)*\.[–−](?![\w\[–—−-])",
        "NAME",
        lambda text: text[:-1] + "-",
        "the terminal's sign in `{found}` is a dash, read as `-`",
        "write `{means}`",
    ),
    Slip(r"−(?![\d\[–—−-])", "SIGN", "-", "the sign `−` is read as `-`", "write `-`"),
    # numbers
    Slip(
        rf"{_NUMBER}(?:{_GAP}{_UNIT})?(?:–|{_GAP}(?:…|\.\.\.+){_GAP}){_NUMBER}(?:{_GAP}{_UNIT})?(?!\w)",
        "QUANTITY",
        _dotted_range,
        "the range `{found}` is read as {means}",
        "write a range with two dots: `{means}`",
    ),
    Slip(
        rf"[+−-]?[1-9]\d*,\d\d\d{_GAP}{_UNIT}",
        "QUANTITY",
        _decimal_comma,
        "the comma in `{found}` may be a decimal comma or part thousands from hundreds",
        "write a decimal point, or the number without comma",
        repaired=False,
    ),
    Slip(
        rf"[+−-]?\d+,\d+{_GAP}{_UNIT}",
        "QUANTITY",
        _decimal_comma,
        "the decimal comma in `{found}` is read as a point",
        "write a decimal point: `{means}`",
    ),
    Slip(
        r"[+−-]?\d+,\d+(?![\w,.])",
        "QUANTITY",
        _decimal_comma,
        "the comma in `{found}` stands between two digits",
        "write a decimal point, `{means}`, or a space after the comma",
        repaired=False,
    ),
    Slip(
        rf"[+−-]?\.\d+(?:{_GAP}{_UNIT})?(?![\w.])",
        "QUANTITY",
        lambda text: text.replace(".", "0.", 1),
        "the number `{found}` is read as {means}",
        "a number begins with a digit: `{means}`",
    ),
    Slip(
        rf"{_NUMBER}{_GAP}(?:[º˚][ \t]*|°[ \t]+)[CF](?!\w)",
        "QUANTITY",
        lambda text: re.sub(rf"{_GAP}[°º˚][ \t]*", " deg", text),
        "`{found}` is read as {means}",
        "write `{means}`",
    ),
    Slip(
        r"\+/[-−]|\+−",
        "TOLERANCE",
        "+-",
        "a tolerance is written with `+-`, here stands `{found}`",
        "write `+-`",
    ),
    # joints
    Slip(rf"(?!−\d){_RUN}", "JOIN", "--", f"{_LONG_DASH}: `--`", "write `--`"),
    Slip(
        r"-{3,}>?|--?>|=+>|[→⟶➔]",
        "JOIN",
        "--",
        "two parts are joined metal to metal with `--`, here stands `{found}`",
        "write `--`",
    ),
    # what other languages have
    Slip(
        r"//[^\r\n]*",
        "",
        "",
        "a comment begins with `#`, here stands `//`",
        "write `#` in its place",
        repaired=False,
    ),
    Slip(
        r"==+",
        "JOIN",
        "--",
        "two parts are joined with `--`, here stands `{found}`",
        "write `--`",
        repaired=False,
    ),
    Slip(r"=", "", "", "no equals sign is needed", "leave out the `{found}`: a word, a space, its value"),
    Slip(r";+", "_NL", "\n", "no semicolon is needed: one statement stands on one line", "begin a new line"),
    Slip(r"[()]", "", "", "no round brackets are needed", "leave out the `{found}`"),
    Slip(
        r"'[^'\r\n]*'(?!\w)|‘[^‘’\r\n]*’|`[^`\r\n]*`|´[^´\r\n]*´|«[^«»\r\n]*»"
        r"|<(?=[^<>\r\n]*>)[^<>\r\n]*[./][^<>\r\n]*>",
        "TITLE",
        _inside,
        "text stands in double quotation marks, here stands {found}",
        "write {means}",
    ),
    Slip(
        r'"[^\r\n]*|[“„][^\r\n]*',
        "TITLE",
        lambda text: quoted(text[1:]),
        "the quotation mark is not closed on this line",
        "close it where the text ends",
        repaired=False,
    ),
    Slip(
        r"\.+(?![\w])",
        "",
        "",
        "nothing stands after the dot",
        "name the terminal after the dot, as in `aux.+`, or leave out the dot",
        repaired=False,
    ),
)

_END_OF_CONDUCTOR = re.compile(r"\][ \t]*--")
# What is sound but begins like a slip; it goes first.
_SOUND = r"(?P<TITLE_>\"(?:[^\"\\\r\n]|\\[^\r\n])*\"|[“”„](?:[^“”„\"\r\n])*[“”])|(?P<OPEN_>--[ \t]*\[(?![ \t]*\[))"
_ELSE = r"(?P<COMMA>,)|(?P<STRAY>[\s\S])"


def pattern(grammar: str) -> re.Pattern[str]:
    """The slips before the grammar's own tokens, in one regular expression; slip 3 is the group S3."""
    slips = "|".join(f"(?P<S{number}>{slip.pattern})" for number, slip in enumerate(SLIPS))
    return re.compile(f"{_SOUND}|{slips}|{grammar}|{_ELSE}")


def end_of_title(text: str) -> int:
    """How much of an unclosed title belongs to it, in code points: not `]--`, nor the brace that ends the line."""
    found = _END_OF_CONDUCTOR.search(text)
    title = (text[: found.start()] if found else text).rstrip()
    return len(title.removesuffix("{").rstrip() or title)
