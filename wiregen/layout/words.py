"""What labels, legend and description say: the words of a drawing, from the job alone."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from typing import NamedTuple

from wiregen.layout import text
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


def conductor_words(conductor: Conductor, lines: int) -> tuple[str, ...]:
    """Name, colour letters, size, length, in at most that many lines."""
    name = conductor.id if conductor.named else ""
    first = [w for w in (name, colour_letters(conductor.colours)) if w]
    size, length = quantity(conductor.fact("size")), quantity(conductor.fact("length"))
    rest = [w for w in (size, length) if w]
    if lines <= 1:
        rows = [" ".join(first + rest)]
    elif lines == 2:
        rows = [" ".join(first), " ".join(rest)]
    else:
        rows = [" ".join(first), *rest]
    return tuple(r for r in rows if r)


def flow_words(current_a: float | None, drop_v: float | None) -> str:
    """`12.4 A 63 mV`: the size of a conductor's current and drop, `` where it is not known."""
    if current_a is None or drop_v is None:
        return ""
    drop = abs(drop_v)
    volts = f"{drop:.3g} V" if drop >= 1.0 else f"{drop * 1000:.3g} mV" if drop >= 1e-5 else "0 mV"
    current = abs(current_a)
    return f"{current:.3g} A {volts}" if current >= 1e-3 else f"0 A {volts}"


def rating_words(part: Part) -> str:
    """`40 A`, `12 V 75 Ah agm`, `20 W`: what the part is sold by."""
    names = ("volts", "capacity", "chemistry") if part.kind == "battery" else ("rating", "draws")
    found = [quantity(part.fact(n)) for n in names if part.fact(n)]
    return " ".join(w for w in (found if part.kind == "battery" else found[:1]) if w)


def part_words(part: Part, lines: int = 3, room: float = 30.0) -> tuple[str, ...]:
    """Title, then name and rating, in lines of at most `room` mm where words allow; one line where `lines` is 1."""
    rating = rating_words(part)
    if part.kind == "earth":
        return (part.id,)
    title, name = part.title, part.id
    if title.lower() == name.lower():  # capitals do not distinguish names
        title, name = "", title
    last = " ".join(w for w in (name, rating) if w)
    if lines <= 1:
        return (f"{title} {last}" if title else last,)
    apart = rating and (not title or text.width(last, strong=True) > room)
    return (*_broken(title, room), *((name, *_broken(rating, room)) if apart else (last,)))


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


class Shown(NamedTuple):
    """What stands on one sheet of several."""

    number: int
    of: int
    parts: Collection[str]
    conductors: Collection[str]
    links: Collection[tuple[str, str]]
    goes_on: Mapping[str, int]  # cut conductors, and the sheet where they go on


def describe(job: Job, shown: Shown | None = None) -> str:
    """The circuit in words, part by part and conductor by conductor, for someone who cannot see it; of one sheet of
    several what is `shown` on it."""
    sentences = [f"Schematic of {job_title(job)}."]
    if shown:
        sentences = [f"Schematic of {job_title(job)}, sheet {shown.number} of {shown.of}."]
    kinds: dict[str, list[str]] = {}
    for part in job.parts.values():
        if shown and part.id not in shown.parts:
            continue
        kinds.setdefault(part.kind.replace("-", " "), []).append(part.title or part.id)
    listed = "; ".join(f"{kind}: {', '.join(names)}" for kind, names in kinds.items())
    if listed:
        sentences.append(f"Parts: {listed}.")
    for conductor in job.conductors.values():
        if shown and conductor.id not in shown.conductors:
            continue
        words = ", ".join(w for w in ("/".join(conductor.colours), *_figures(conductor)) if w)
        name = conductor.id if conductor.named else "A conductor"
        goes_on = shown.goes_on.get(conductor.id) if shown else None
        ends = f"from {conductor.from_} to {conductor.to}{f', goes on on sheet {goes_on}' if goes_on else ''}."
        sentences.append(f"{name} ({words}) {ends}" if words else f"{name} {ends}")
    for link in job.links:
        if link.why != "way" and (not shown or (link.a, link.b) in shown.links):
            sentences.append(f"{link.a} is joined metal to metal with {link.b}.")
    sentences.append("The drawing is not a statement that the installation is safe.")
    return " ".join(sentences)


def _figures(conductor: Conductor) -> tuple[str, str]:
    return quantity(conductor.fact("size")), quantity(conductor.fact("length"))


CAUTIONS = (
    "No statement of safety. Follow the makers' instructions and local codes; have the work checked by a qualified"
    " person.",
)
