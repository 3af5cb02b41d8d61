"""One sum: what is given, how it is worked out, and its result to as many figures as what is given bears out.

The numbers are rounded as a sheet prints them. A sum that does not come out at the value of the study to two figures is
none.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import NamedTuple

GIVEN = 4  # figures of what is given
FIGURES = (3, 2)  # of a result: as many as what is given bears out
SCALED = frozenset({"A", "V", "Ω", "W", "Ω/m"})  # units that take m and k

NONE: Mapping[tuple[str, str], str] = MappingProxyType({})


class Given(NamedTuple):
    """A number that a sum takes, in the base unit; `digits` figures of it are printed. `of` names the study's quantity
    that it is, where a sheet could ask for that too."""

    value: float
    unit: str
    of: tuple[str, str] | None = None
    digits: int = GIVEN

    @property
    def words(self) -> str:
        """As a sheet prints it."""
        return shown(self.value, self.unit, self.digits, whole=False)

    def __format__(self, spec: str) -> str:
        """`n` is the number without its unit."""
        return self.words.rpartition(" ")[0] if spec == "n" else self.words

    @property
    def taken(self) -> float:
        """What is reckoned with: as printed, in the base unit."""
        return float(f"{self.value:.{self.digits}g}")


class Sum(NamedTuple):
    """One thing to be worked out. `subject` is a part, a conductor or a circuit; `where` it has a label in a drawing.

    `told` is what is given and `terms` the numbers of the sum, both with a `{}` for each of `givens`; `formula` and
    `reckon` say how they make the result. `answer` is what belongs in the blank, most often the result itself, else
    what `then` tells; `unit` stands beside the blank, `base` is it without a prefix. `figures` is how many the result
    is stated to (0: it is no number). `value` is the study's. `size` tells that the conductor's size is given away.
    """

    subject: str
    quantity: str
    where: str
    asked: str
    told: str
    formula: str
    terms: str
    givens: tuple[Given, ...]
    reckon: Callable[..., float]
    value: float
    result: str
    answer: str
    unit: str
    base: str
    figures: int
    then: str = ""
    size: bool = False

    @property
    def key(self) -> tuple[str, str]:
        """The quantity of the study that it asks for."""
        return self.subject, self.quantity

    @property
    def uses(self) -> frozenset[tuple[str, str]]:
        """Quantities of the study that `told` gives away."""
        own = {(self.subject, "size")} if self.size else set()
        return frozenset(own | {given.of for given in self.givens if given.of})

    def data(self, answered: Mapping[tuple[str, str], str] = NONE) -> str:
        """What is given, in words; what is the answer to another question is called by its number."""
        return self.told.format(
            *(
                f"the answer to {answered[given.of]}" if given.of and given.of in answered else given
                for given in self.givens
            )
        )

    @property
    def worked(self) -> tuple[str, ...]:
        """The whole sum: the formula, then its numbers and the result."""
        sides = [side for side in (self.terms.format(*self.givens), self.result) if side]
        return tuple(line for line in (self.formula, f"= {' = '.join(sides)}{self.then}") if line)


def carried_on(asked: Sum, answers: Mapping[tuple[str, str], Sum]) -> Sum | None:
    """The same sum with the stated answers of others in it; None where it does not come out with them."""
    givens = tuple(
        each._replace(digits=answers[each.of].figures or each.digits) if each.of and each.of in answers else each
        for each in asked.givens
    )
    if not asked.figures:  # a choice between what is sold
        came = asked.reckon(*(each.taken for each in givens))
        return asked._replace(givens=givens) if abs(came - asked.value) <= 0.02 * asked.value else None
    found = _stated(asked.value, asked.reckon(*(each.taken for each in givens)), asked.base, asked.figures)
    return found and asked._replace(givens=givens, result=found[0], answer=found[0], figures=found[1])


def _stated(value: float, came: float, unit: str, most: int = FIGURES[0]) -> tuple[str, int] | None:
    """The result to as many figures as the study and the sum with its printed numbers agree to."""
    for digits in FIGURES:
        if digits <= most and shown(came, unit, digits) == shown(value, unit, digits):
            return shown(value, unit, digits), digits
    return None


QUANTITIES: Mapping[str, tuple[str, ...]] = {
    "conductor": (
        "current",
        "drop",
        "resistance",
        "power",
        "temperature",
        "ampacity",
        "fault",
        "size",
        "length",
        "colour",
    ),
    "part": ("current", "voltage", "drop", "power", "rating", "choice"),
    "circuit": ("drop", "share", "left"),
}  # fmt: skip
"""What can be asked of each kind of thing."""


def shown(value: float, unit: str, digits: int, *, whole: bool = True) -> str:
    """A number of so many figures with its unit: `190 mV`, `0.480 V` is `480 mV`. Not `whole`: without last noughts."""
    size = float(f"{value:.{digits}g}")
    if unit in SCALED and 0 < abs(size) < 1:
        return f"{_plain(value * 1000, digits, whole)} m{unit}"
    if unit in SCALED and abs(size) >= 1000:
        return f"{_plain(value / 1000, digits, whole)} k{unit}"
    return f"{_plain(value, digits, whole)} {unit}"


def _plain(value: float, digits: int, whole: bool) -> str:
    """Never an exponent: what has more places before the point than figures is filled up with noughts."""
    rounded = float(f"{value:.{digits}g}")
    left = len(str(int(abs(rounded)))) if abs(rounded) >= 1 else 0
    if abs(rounded) < 1 and rounded:
        left = int(f"{abs(rounded):e}".partition("e")[2]) + 1
    text = f"{rounded:.{max(0, digits - left)}f}"
    return (text if whole or "." not in text else text.rstrip("0").rstrip(".")).replace("-", "−")


def made(
    subject: str,
    quantity: str,
    asked: str,
    told: str,
    formula: str,
    terms: str,
    givens: tuple[Given, ...],
    reckon: Callable[..., float],
    value: float,
    unit: str,
    where: str | None = None,
) -> Sum | None:
    """A sum that comes out; else None."""
    found = _stated(value, reckon(*(given.taken for given in givens)), unit)
    return found and Sum(
        subject, quantity, subject if where is None else where, asked, told, formula, terms, givens, reckon, value,
        found[0], found[0], found[0].rpartition(" ")[2], unit, found[1],
    )  # fmt: skip
