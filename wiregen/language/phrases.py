"""What the parser expects, in the trade's words: never the name of a symbol of the grammar."""

from __future__ import annotations

from collections.abc import Iterable

# token of the grammar -> words; the order is the order in which they are told
WORDS = {
    "NAME": "a word or name",
    "QUANTITY": "a quantity such as `40 A`",
    "TITLE": "text in quotation marks",
    "TWO_COLOURS": "a pair of colours such as `green/white`",
    "SIGN": "`+` or `-`",
    "BLANK": "a blank such as `<size>`",
    "TOLERANCE": "`+-` and a tolerance",
    "_COMMA": "a comma",
    "_COLON": "`:`",
    "JOIN": "`--`",
    "OPEN": "`--[`",
    "CLOSE": "`]--`",
    "OPEN_BRACE": "`{`",
    "CLOSE_BRACE": "`}`",
    "_NL": "the end of the line",
    "$END": "the end of the text",
}
_VALUES = frozenset(("NAME", "QUANTITY", "TITLE", "TWO_COLOURS", "SIGN", "BLANK"))


def expected(tokens: Iterable[str]) -> str:
    """`a word or quantity, a comma, `--[` or the end of the line`, for the tokens that could stand here."""
    open_to = set(tokens)
    found = []
    if open_to >= _VALUES:
        found.append("a word or a quantity")
        open_to -= _VALUES | {"TOLERANCE"}
    if "_NL" in open_to:
        open_to.discard("$END")
    found += [words for token, words in WORDS.items() if token in open_to]
    return found[0] if len(found) == 1 else f"{', '.join(found[:-1])} or {found[-1]}" if found else "nothing more"
