"""holder-rating: a fuse is rated above the holder that it sits in.

Hazard
    The holder melts below a current at which the fuse never opens.
Test
    The rating of each fuse and breaker against its `holder`; the fuses of a fuse block each against the block's rating.
Basis
    the maker's rating; in-line holders for regular blades carry 20 to 30 A (read in a reprint)
Bad
    fuse F1 60 A strip, holder 50 A
    start.+ -- F1 --[W1 red 16 mm2 1 m]-- heater.+
    heater.- --[W2 black 16 mm2 1 m]-- start.-
Good
    fuse F1 60 A strip, holder 60 A
    start.+ -- F1 --[W1 red 16 mm2 1 m]-- heater.+
    heater.- --[W2 black 16 mm2 1 m]-- start.-
Limits
    A fuse that does not say its holder is not judged.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.study import Study
from wiregen.rules.verdict import Bad, Content, Verdict, mark, rule
from wiregen.rules.words import amps, apart, beyond


@rule("holder-rating", severity="danger", basis="the maker's rating")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each fuse that is too large for its holder."""
    for part in study.job.parts.values():
        rating = part.number("rating")
        if part.kind not in ("fuse", "breaker") or rating is None:
            continue
        block = study.job.parts.get(part.block or "")
        holder = part.number("holder") if part.has("holder") else block.number("rating") if block else None
        if holder is None:
            continue
        if not beyond(rating, holder):
            yield Content(part.id, "is {} in a holder for {}", (amps(rating), amps(holder)))
            continue
        fuse, bears = apart(rating, holder)
        named = block.id if block and not part.has("holder") else "its holder"
        yield Bad(
            subject=part.id,
            message=f"{part.id} is rated {fuse} A, but {named} bears {bears} A",
            at=mark(part, "rating", f"{fuse} A"),
            related=(block.id,) if block else (),
            marks=(mark(part, "holder", f"{bears} A"),) if part.has("holder") else (),
            reason="the holder melts while the fuse stays closed",
            remedy=f"fit {part.id} at {bears} A or less, or a holder for {fuse} A",
            values={"rating_a": rating, "holder_a": holder},
            through=part.through,
        )
