"""What labels and legend say: the words of a drawing, from the job alone."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable

from wiregen.layout import text
from wiregen.layout.shown import OF_NETLIST
from wiregen.model.job import Conductor, Fact, Job, Part

# IEC 60757: seen (secondary), reference-values.md 6.2. Light blue, light green and the like take the plain letters.
LETTERS = {
    "black": "BK", "brown": "BN", "red": "RD", "orange": "OG", "yellow": "YE", "green": "GN", "blue": "BU",
    "violet": "VT", "purple": "VT", "grey": "GY", "gray": "GY", "white": "WH", "pink": "PK", "gold": "GD",
    "turquoise": "TQ", "silver": "SR", "light-blue": "BU", "dark-blue": "BU", "light-green": "GN", "tan": "BN",
}  # fmt: skip
NAMES = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green", "BU": "blue",
    "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "GD": "gold", "TQ": "turquoise", "SR": "silver",
    "GNYE": "green and yellow",
}  # fmt: skip
_ORDER = tuple(NAMES)


def colour_letters(colours: tuple[str, ...]) -> str:
    """`RD`, `BKWH` in the order of the standard's table, `GNYE`; the word itself where it has no letters."""
    letters = [LETTERS.get(c, c) for c in colours]
    if sorted(letters) == ["GN", "YE"]:
        return "GNYE"
    return "".join(sorted(letters, key=lambda x: _ORDER.index(x) if x in _ORDER else len(_ORDER)))


def quantity(fact: Fact | None) -> str:
    """A fact's first value as print: `10 mm²`, `5.2 m`; `` where it is not said."""
    return printed(fact.values[0].text) if fact and fact.values else ""


def printed(words: str) -> str:
    """A quantity with the signs of print: mm², Ω, °C."""
    for plain, sign in (("mm2", "mm²"), ("+-", "±"), ("mohm", "mΩ"), ("degC", "°C"), ("degF", "°F"), ("ohm", "Ω")):
        words = words.replace(plain, sign)
    return words


def printed_message(words: str) -> str:
    """A message with the signs of print where a unit stands behind a number."""
    return re.sub(r"(?<=[\d.]) (mm2|m?ohm|deg[CF])\b", lambda unit: f" {printed(unit[1])}", words)


def conductor_words(conductor: Conductor, lines: int, show: Collection[str] = OF_NETLIST) -> tuple[str, ...]:
    """Name, colour letters, size, length, each where it is to be shown, in at most that many lines."""
    said = {
        "number": conductor.id if conductor.named else "",
        "colour": colour_letters(conductor.colours),
        "size": quantity(conductor.fact("size")),
        "length": quantity(conductor.fact("length")),
    }
    first, rest = ([said[n] for n in names if n in show and said[n]] for names in (OF_NETLIST[:2], OF_NETLIST[2:]))
    if lines <= 1:
        rows = [" ".join(first + rest)]
    elif lines == 2:
        rows = [" ".join(first), " ".join(rest)]
    else:
        rows = [" ".join(first), *rest]
    return tuple(r for r in rows if r)


def rating_words(part: Part, said: str = "") -> str:
    """`40 A`, `12 V 75 Ah agm`, `20 W`: what the part is sold by, but for what is said already."""
    names = ("volts", "capacity", "chemistry") if part.kind == "battery" else ("rating", "draws")
    found = [quantity(part.fact(n)) for n in names if part.fact(n)]
    found = found if part.kind == "battery" else found[:1]
    return " ".join(w for w in found if w and f" {w} " not in f" {said} ".replace(",", " "))


def part_words(part: Part, lines: int = 3, room: float = 30.0, alike: bool = False) -> tuple[str, ...]:
    """Title, then name and rating, in lines of at most `room` mm where words allow; one line where `lines` is 1.

    A name that is among the words of the title is not said again, unless another part has the same title (`alike`).
    """
    if part.kind == "earth":
        return (part.id,)
    title, name = part.title, part.id
    if title.lower() == name.lower():  # capitals do not distinguish names
        title, name = "", title
    elif not alike and name.lower() in re.split(r"[^\w.-]+", title.lower()):
        name = ""
    last = " ".join(w for w in (name, rating_words(part, title)) if w)
    if lines <= 1:
        return (" ".join(w for w in (title, last) if w),)
    if title:
        return (*_broken(title, room), *_broken(last, room))
    return (*_broken(name, room), *_broken(last.removeprefix(name).strip(), room))


WORD = 30.0  # a single word may be as wide as that before it is broken [mm]


def _broken(words: str, room: float) -> tuple[str, ...]:
    """Words in lines, a number never parted from its unit."""
    room = max(room, min(WORD, max((text.width(word, strong=True) for word in words.split()), default=0.0)))
    kept = re.sub(r"(\d) (?=[^\W\d]{1,2}\b)", "\\1\u00a0", words)
    return tuple(line.replace("\u00a0", " ") for line in text.wrap(kept, room, strong=True))


def job_title(job: Job) -> str:
    """The job's title, or its file's name."""
    return job.title or job.path.rsplit("/", 1)[-1]


def title_block(job: Job, sheet: int, sheets: int) -> tuple[tuple[str, str], ...]:
    """Fields of the title block (ISO 7200) from the facts of the job; what is not said is left empty."""
    last = job.revisions[-1] if job.revisions else None
    return (
        ("title", job_title(job)),
        ("customer", _word(job, "customer")),
        ("job", _word(job, "number")),
        ("revision", last.name if last else ""),
        ("date", last.date if last else _word(job, "date")),
        ("drawn by", _word(job, "drawn-by") or (last.by if last else "")),
        ("sheet", f"{sheet} of {sheets}"),
    )


def _word(job: Job, name: str) -> str:
    fact = job.facts.get(name)
    return fact.word if fact else ""


_SYMBOL_NAMES = {
    "loose": "bare end in the air",
    "capped": "insulated end, stowed",
    "frame": "earth on the vehicle's body",
    "earth": "earth",
    "continuation": "goes on: sheet/zone, far end",
}


def legend(conductors: Iterable[Conductor], symbols: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """Colour letters in use, then the symbols whose meaning is not plain from the label."""
    used: dict[str, str] = {}
    for conductor in conductors:
        if conductor.colours:
            letters = colour_letters(conductor.colours)
            for word in conductor.colours if letters not in NAMES else ():
                short = LETTERS.get(word, "")
                if short in NAMES:
                    used[short] = NAMES[short]
            if letters in NAMES:
                used[letters] = NAMES[letters]
    rows = [(k, used[k]) for k in _ORDER if k in used]
    rows += [(s, _SYMBOL_NAMES[s]) for s in _SYMBOL_NAMES if s in symbols]
    return tuple(rows)


CAUTIONS = (
    "No statement of safety. Follow the makers' instructions and local codes; have the work checked by a qualified"
    " person.",
)
