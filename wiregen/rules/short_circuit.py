"""short-circuit: positive runs straight into negative.

Hazard
    The whole fault current flows as soon as the last joint is made: the fuse blows, or the conductor burns.
Test
    As for reversed-polarity: where a positive and a negative meet in one net and nothing changes places, the conductor
    or joint that brings them together.
Basis
    common practice; resistance between the rails is tested before the fuse goes in
Bad
    splice SP1
    start.+ --[red 6 mm2 100 mm]-- F1 --[W2 red 2.5 mm2 3 m]-- SP1
    start.- --[W3 black 2.5 mm2 3 m]-- SP1
Good
    start.+ --[red 6 mm2 100 mm]-- F1 --[W2 red 2.5 mm2 3 m]-- pump.+
    pump.- --[W3 black 2.5 mm2 3 m]-- start.-
Limits
    A switch that shorts when it closes counts as closed. A changeover relay is taken as it is built.
"""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.crossing import Crossing, crossings
from wiregen.circuit.study import Study
from wiregen.rules.crossed import place, subjects, through
from wiregen.rules.verdict import Bad, Content, Verdict, rule


@rule("short-circuit", severity="danger", basis="common practice; tested before the fuse goes in")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each place where positive runs into negative."""
    shorts = [crossing for crossing in crossings(study.job, study.network) if crossing.kind == "short"]
    for crossing in shorts:
        yield _short(study, crossing)
    if not shorts:
        yield Content("job", "no positive runs straight into a negative, whatever switches do")


def _short(study: Study, crossing: Crossing) -> Bad:
    first = crossing.joints[0]
    names = subjects(study.job, crossing)
    of = f" of {crossing.source}" if crossing.source else ""
    return Bad(
        subject=names[0],
        message=f"{names[0]} joins the positive{of} at {first.plus} to the negative at {first.minus}",
        at=place(study.job, first, "joins positive and negative"),
        related=(first.plus, first.minus),
        reason="the whole fault current flows as soon as the circuit is closed",
        remedy=f"take {names[0]} off {first.minus}, and find where it belongs",
        values={"plus": first.plus, "minus": first.minus, "source": crossing.source or None},
        through=through(first),
    )
