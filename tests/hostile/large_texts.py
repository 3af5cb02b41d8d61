"""Texts of close to 1 MB that are as awkward as one can think of: name -> a function that makes the text."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

SIZE = 990_000  # just under what a netlist may hold


def _fill(line: Callable[[int], str], head: str = "", tail: str = "") -> str:
    """As many numbered lines as fit."""
    out, length, n = [head], len(head) + len(tail), 0
    while True:
        more = line(n)
        length += len(more.encode())
        if length > SIZE:
            return "".join([*out, tail])
        out.append(more)
        n += 1


def _words(n: int, letters: str = "abcdefgh") -> str:
    chance = Random(n)
    return "".join(chance.choice(letters) for _ in range(8))


def _kits_in_kits(n: int) -> str:
    return f"kit k{n} {{\n k{n + 1} A\n k{n + 1} B\n}}\n"


HEAD = "battery b 70 Ah agm\nbusbar NB 100 A\nb.- -- NB\n"
LARGE: dict[str, Callable[[], str]] = {
    # many things
    "sound parts": lambda: _fill(lambda n: f"fuse F{n} 5 A\n", HEAD),
    "sound conductors": lambda: _fill(lambda n: f"b.+ --[W{n} red 1 mm2 1 m]-- NB\n", HEAD),
    "sound loads": lambda: _fill(
        lambda n: f"load L{n} 1 A\nb.+ --[red 1 mm2 1 m]-- L{n} --[black 1 mm2 1 m]-- NB\n", HEAD
    ),
    "one long chain": lambda: _fill(
        lambda n: f"fuse F{n + 1} 5 A\nF{n} --[red 1 mm2 1 m]-- F{n + 1}\n", "fuse F0 5 A\n"
    ),
    "ten thousand from one bar": lambda: (
        HEAD + "".join(f"lamp L{n} 1 W\nb.+ --[red 1 mm2 1 m]-- L{n} -- NB\n" for n in range(10_000))
    ),
    "places": lambda: _fill(lambda n: f"place p{n}\n"),
    "cases": lambda: _fill(lambda n: f"case c{n}, loads off\n", HEAD + "load L 5 A\nb.+ --[red 1 mm2 1 m]-- L -- NB\n"),
    "kits used": lambda: _fill(lambda n: f"k T{n}\n", "kit k {\n ends in out\n fuse F 5 A\n in -- F -- out\n}\n"),
    "kits within kits": lambda: _fill(_kits_in_kits, "k0 T\n"),
    "types": lambda: _fill(lambda n: f"type t{n} is fuse 5 A\n"),
    "a bar of ends": lambda: _fill(lambda n: f"busbar B{n} 100 A, studs 200\n"),
    "acceptances": lambda: _fill(lambda n: f'accept voltage-drop on W{n}, because "x"\n', HEAD),
    # slips
    "unknown words": lambda: _fill(lambda n: f"{_words(n)} X{n} 5 A\n"),
    "unknown names in paths": lambda: _fill(lambda n: f"{_words(n)} --[red 1 mm2 1 m]-- {_words(n + 10**6)}\n", HEAD),
    "names close to each other": lambda: _fill(lambda n: f"fuse {_words(n)} 5 A\n{_words(n)}x -- {_words(n)}y\n"),
    "unknown facts": lambda: _fill(lambda n: f"fuse F{n} 5 A, {_words(n)} 5 V, ratng 4 A\n"),
    "unknown names and very many parts": lambda: (
        "".join(f"fuse {_words(n)} 5 A\n" for n in range(25_000))
        + "".join(f"{_words(n + 10**6)} -- {_words(n + 2 * 10**6)}\n" for n in range(25_000))
    ),
    "declared twice": lambda: _fill(lambda n: "fuse F1 5 A\n"),
    "words of one letter": lambda: _fill(lambda n: "a b c d e f g\n"),
    "values that fit nothing": lambda: _fill(lambda n: f"fuse F{n} 5 mm2 3 V 2 m 1 %\n"),
    "accept of rules that are not": lambda: _fill(lambda n: f'accept {_words(n)} on F{n}, because "x"\n'),
    # shapes
    "opening braces": lambda: "{" * SIZE,
    "lines of opening braces": lambda: _fill(lambda n: "kit k {\n"),
    "closing braces": lambda: "}\n" * (SIZE // 2),
    "opening cores": lambda: "--[" * (SIZE // 3),
    "lines of opening cores": lambda: _fill(lambda n: f"a{n} --[\n"),
    "hyphens": lambda: "-" * SIZE,
    "lines that begin with --": lambda: "a" + "\n--" * (SIZE // 3),
    "dots": lambda: "a" + ".a" * (SIZE // 2),
    "numbers": lambda: "1" * SIZE,
    "numbers with gaps": lambda: "1 " * (SIZE // 2),
    "a quotation mark": lambda: '"' + "a" * (SIZE - 1),
    "quotation marks": lambda: '"' * SIZE,
    "a quotation mark a line": lambda: '"a\n' * (SIZE // 3),
    "backslashes": lambda: '"' + "\\" * (SIZE - 1),
    "spaces": lambda: "a" + " " * (SIZE - 2) + "b",
    "spaces a line": lambda: (" " * 9_998 + "x\n") * (SIZE // 10_000),
    "no-break spaces": lambda: "5" + "\xa0" * (SIZE // 2 - 2) + "A",
    "empty lines": lambda: "\n" * SIZE,
    "carriage returns": lambda: "\r" * SIZE,
    "remarks": lambda: "#\n" * (SIZE // 2),
    "a long remark": lambda: "#" * SIZE,
    "commas": lambda: "a," * (SIZE // 2),
    "commas a line": lambda: "a,\n" * (SIZE // 3),
    "colons": lambda: "1:" * (SIZE // 2),
    "blanks": lambda: "<a>" * (SIZE // 3),
    "long word": lambda: f"fuse {'F' * 9_000} 5 A\n" * (SIZE // 9_100),
    "long names": lambda: _fill(lambda n: f"fuse F{n}{'x' * 5000} 5 A\n"),
    "long titles": lambda: _fill(lambda n: f'fuse F{n} "{"x " * 4000}" 5 A\n', HEAD),
    "ways that are ranges": lambda: _fill(lambda n: f"L{n}..L99999 -- b.+\n"),
    "junk": lambda: "".join(Random(1).choice("[]{}()<>,;:=\"'.#/\\%$-+ \nab1") for _ in range(SIZE)),
    "letters with marks": lambda: "e\u0301" * (SIZE // 3),
    "signs of two bytes": lambda: "Ω " * (SIZE // 3),
}
HOSTILE = tuple(LARGE)[tuple(LARGE).index("unknown words") :]  # those that are no sound netlists
