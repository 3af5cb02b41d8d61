"""Names that the user may have meant."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def distance(a: str, b: str, limit: int) -> int:
    """Edits (insert, drop, change, swap two neighbours) from one word to the other; limit + 1 where it is more."""
    if abs(len(a) - len(b)) > limit:
        return limit + 1
    before: list[int] = []
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        before, last, row = row, before, [i]
        for j, y in enumerate(b, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (x != y))
            if i > 1 and j > 1 and x == b[j - 2] and y == a[i - 2]:
                cost = min(cost, last[j - 2] + 1)
            row.append(cost)
        if min(row) > limit:
            return limit + 1
    return row[-1]


def close(word: str, known: Iterable[str], most: int = 3) -> tuple[str, ...]:
    """Up to three known words close to this one, the closest first, in their own spelling; capitals do not count."""
    wanted = word.lower()[:60]
    limit = 1 if len(wanted) <= 4 else 2 if len(wanted) <= 8 else 3
    near = []
    for order, name in enumerate(known):
        if len(wanted) <= 3 and name[:1].lower() != wanted[:1]:
            continue  # among names such as W1 and F1 one edit says nothing
        edits = distance(wanted, name.lower(), limit)
        if edits <= limit and edits < len(wanted):
            near.append((edits, order, name))
    return tuple(name for _, _, name in sorted(near)[:most])


def did_you_mean(word: str, known: Iterable[str], after: str = "") -> str:
    """A remedy that names the close words, or `` where none is close. `after` is written behind each of them."""
    near = [name + after for name in close(word, known)]
    return "write " + listed(near) if near else ""


def listed(words: Sequence[str]) -> str:
    """`a`, `a or b`, `a, b or c`."""
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " or " + words[-1]
