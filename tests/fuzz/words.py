"""Netlists changed word by word: what comes out is mostly a netlist still, so that it gets far into the tool.

Words are exchanged for others of their own class (a current for a current, a name for a name of the same text, a kind
for a kind), facts that a kind takes are added with a value of the right shape, lines are doubled, dropped, moved,
taken from another netlist, wrapped into kits and cases.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from random import Random
from typing import Any

from wiregen.built.vocabulary import DATA

TABLE: dict[str, Any] = dict(DATA)
KINDS: dict[str, Any] = TABLE["kinds"]
STATEMENTS: dict[str, Any] = TABLE["statements"]
TOKENS = re.compile(r'#[^\n]*|"[^"\n]*"|\n|[ \t]+|--\[|\]--|--|[\w.²°/%+-]+|.')
QUANTITY = re.compile(r"([+-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?)( ?)([A-Za-zµΩ%°²/^0-9-]*)$")
NUMBERS = (
    "0", "0.001", "0.5", "1", "2", "5", "6", "12", "12.8", "24", "48", "100", "200", "5000", "1e6", "1e30", "1e-30",
    "-1", "-40", "1e308", "99999999999", "0.1..0.2", "9..16", "5..2", "60 A", "2/0", "150", "1.5",
)  # fmt: skip
UNITS = ("A", "V", "W", "m", "mm", "mm2", "Ah", "ohm", "mohm", "degC", "%", "AWG", "%/K", "mV/K", "h", "s", "A2s", "kW",
         "uA", "auto-mm", "")  # fmt: skip
VALUES = {
    "current": ("40 A", "0 A", "5..20 A", "1e9 A", "30 A +- 5 A"), "voltage": ("12 V", "0 V", "9..16 V", "800 V"),
    "resistance": ("5 mohm", "0 ohm", "1e9 ohm", "90 ohm"), "length": ("1 m", "0 m", "150 mm", "5 m +- 1 m", "9000 m"),
    "area": ("6 mm2", "0.5 mm2", "120 mm2", "0 mm2"), "gauge": ("2/0 AWG", "20 AWG"), "auto-size": ("6 auto-mm",),
    "charge": ("100 Ah", "0 Ah", "1e6 Ah"), "power": ("60 W", "0 W", "5 kW"), "ratio": ("90 %", "0 %", "100 %", "1 %"),
    "temperature": ("80 degC", "-40 degC", "105 degC"), "count": ("1", "2", "8", "200"), "word": ("ip67", "winch"),
    "text": ('"a note"', '""', '"<b>&amp;</b>"'), "date": ("2027-03-01", "2020-01-01"),
    "time": ("2 h", "0 s", "30 min"), "energy": ("500 Wh", "0 Wh"), "ratio-slope": ("-0.33 %/K",),
    "voltage-slope": ("-65 mV/K",),
    "colour": ("red", "black", "green/yellow"), "supplied": ("supplied",),
}  # fmt: skip
SCRAPS = (
    "--", "--[", "]--", "{", "}", ",", '"', "#", ".", "-", "+", ":", "<size>", "loose", "capped", "rest", "loads",
    "each", "panels", "chargers", "on", "off", "like", "open", "ends", "is", "takes", "back", "empty", "because",
    "until", "L1..L8", "a.b.c", "é", "電", "\u202e", "nan", "inf",
)  # fmt: skip


def changed(text: str, others: Sequence[str], seed: int) -> str:
    """The text with a few changes, by chance but the same for the same seed."""
    chance = Random(seed)
    for _ in range(chance.choice((1, 1, 1, 2, 2, 3, 5, 8, 16))):
        text = chance.choice(CHANGES)(text, others, chance)
    return text


def _swap_word(text: str, _: Sequence[str], chance: Random) -> str:
    """One word for another of its class."""
    tokens = TOKENS.findall(text)
    places = [i for i, token in enumerate(tokens) if token.strip()]
    if not places:
        return text
    at = chance.choice(places)
    tokens[at] = _like(tokens[at], [tokens[i] for i in places], chance)
    return "".join(tokens)


def _like(word: str, words: Sequence[str], chance: Random) -> str:
    quantity = QUANTITY.match(word)
    if quantity:
        unit = quantity[3] if chance.random() < 0.8 else chance.choice(UNITS)
        return f"{chance.choice(NUMBERS)}{quantity[2] or ' '}{unit}".strip()
    if word in KINDS and chance.random() < 0.9:
        return chance.choice(tuple(KINDS))
    if word in STATEMENTS and chance.random() < 0.9:
        return chance.choice(tuple(STATEMENTS))
    if word in TABLE["colours"]:
        return str(chance.choice(TABLE["colours"]))
    name = word.partition(".")[0]
    kind = chance.randrange(10)
    if kind < 6:
        return chance.choice([w for w in words if w[:1].isalpha()] or ["a"])
    if kind < 8:
        return name + chance.choice(("", ".+", ".-", ".in.+", ".out.-", ".1", ".a", ".30", ".87a", ".F", ".a.+"))
    return chance.choice(SCRAPS)


def _add_fact(text: str, _: Sequence[str], chance: Random) -> str:
    """A fact that the line's kind takes, or one that any takes, with a value of its shape."""
    lines = text.split("\n")
    heads = [i for i, line in enumerate(lines) if line.split() and line.split()[0] in {**KINDS, **STATEMENTS}]
    if not heads:
        return text
    at = chance.choice(heads)
    row = {**KINDS, **STATEMENTS}[lines[at].split()[0]]
    facts = {**row.get("facts", {}), **({**TABLE["part"]} if lines[at].split()[0] in KINDS else {})}
    bare = row.get("bare", {})
    words = re.findall(r"[A-Za-z]\w*(?:-\w+)*(?:\.[\w+-]+)*", text) or ["a"]
    if bare and (not facts or chance.random() < 0.4):
        said = _value(chance.choice(tuple(bare.values())), words, chance)
    elif facts:
        fact = chance.choice(tuple(facts))
        said = f"{fact} {_value(facts[fact], words, chance)}"
    else:
        return text
    line, brace, rest = lines[at].partition("{")
    line, hash_, remark = line.partition("#")
    lines[at] = f"{line.rstrip().rstrip(',')}, {said} {hash_}{remark}{brace}{rest}"
    return "\n".join(lines)


def _value(shape: object, words: Sequence[str], chance: Random) -> str:
    said = []
    for item in str(shape).split():
        option = chance.choice(TABLE["shapes"].get(item.rstrip("?*+"), item).split("|")).rstrip("?*+")
        option = chance.choice(TABLE["shapes"].get(option, option).split("|"))
        if option.startswith("="):
            said.append(option[1:])
        else:
            said.append(chance.choice(VALUES.get(option, words)))
    return " ".join(said)


def _change_line(text: str, others: Sequence[str], chance: Random) -> str:
    """A line dropped, doubled, moved, or taken from another netlist."""
    lines = text.split("\n")
    at, kind = chance.randrange(len(lines)), chance.randrange(5)
    if kind == 0:
        del lines[at]
    elif kind == 1:
        lines.insert(at, lines[at])
    elif kind == 2:
        lines.insert(chance.randrange(len(lines)), lines.pop(at))
    elif kind == 3 and others:
        theirs = chance.choice(others).split("\n")
        first = chance.randrange(len(theirs))
        lines[at:at] = theirs[first : first + chance.choice((1, 1, 2, 5, 12))]
    else:
        last = min(len(lines), at + chance.choice((1, 2, 4)))
        head = chance.choice(
            ("kit k {", "case c {", "stage s {", "busbar z {", "connector z {", "k T {", "fuse-block z {")
        )
        lines[at:last] = [head, *lines[at:last], "}"]
    return "\n".join(lines)


def _rename(text: str, _: Sequence[str], chance: Random) -> str:
    """One name for another, everywhere."""
    names = re.findall(r"\b[A-Za-z]\w*(?:-\w+)*", text)
    if not names:
        return text
    return re.sub(rf"\b{re.escape(chance.choice(names))}\b", chance.choice(names), text)


def _reverse_path(text: str, _: Sequence[str], chance: Random) -> str:
    """One path the other way round, or its first end led somewhere else."""
    lines = text.split("\n")
    paths = [i for i, line in enumerate(lines) if "--" in line]
    if not paths:
        return text
    at = chance.choice(paths)
    pieces = re.split(r"(--\[[^\]\n]*\]--|--)", lines[at])
    if chance.random() < 0.5:
        lines[at] = " ".join(reversed(pieces))
    else:
        theirs = re.split(r"(--\[[^\]\n]*\]--|--)", lines[chance.choice(paths)])
        lines[at] = "".join([chance.choice((theirs[0], theirs[-1])), *pieces[1:]])
    return "\n".join(lines)


def _take_out_letters(text: str, _: Sequence[str], chance: Random) -> str:
    at = chance.randrange(len(text) + 1)
    return text[:at] + chance.choice(("", "", *SCRAPS)) + text[at + chance.randrange(6) :]


CHANGES = (
    _swap_word, _swap_word, _swap_word, _add_fact, _add_fact, _change_line, _change_line, _rename, _reverse_path,
    _reverse_path, _take_out_letters,
)  # fmt: skip
