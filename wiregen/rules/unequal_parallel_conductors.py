"""unequal-parallel-conductors: conductors side by side do not share the current as they are meant to.

Hazard
    Conductors in parallel share by resistance, not by number: the shorter or thicker one takes more than its part and
    gets hot while the other idles. And where a lug comes loose nobody notices, since all still works: those that are
    left carry the whole current, with no fuse that opens.
Test
    Conductors between the same two pieces of metal, by their true shares in the case in which they carry most: shares
    that differ by more than 10 % of an even share, where one of them carries more than it bears; and what the others
    carry when the one with the largest share opens, against what they bear.
Basis
    IEC 60364-4-43, 433.4: conductors in parallel are alike, or each is judged by itself (from memory, not read). That
    the others have to bear the current when one opens is common practice, no source.
Bad
    load winch 80 A
    fuse F5 100 A strip
    busbar PB1
    start.+ -- F5
    F5 --[W1 red 10 mm2 1 m]-- PB1
    F5 --[W2 red 10 mm2 4 m]-- PB1
    PB1 --[W3 red 25 mm2 1 m]-- winch --[W4 black 25 mm2 1 m]-- start.-
    own-figures "Hot corner" { ampacity { 10 mm2: 60 A }
    }
Good
    load winch 80 A
    fuse F5 100 A strip
    busbar PB1
    start.+ -- F5
    F5 --[W1 red 16 mm2 2 m]-- PB1
    F5 --[W2 red 16 mm2 2 m]-- PB1
    PB1 --[W3 red 25 mm2 1 m]-- winch --[W4 black 25 mm2 1 m]-- start.-
    own-figures "Hot corner" { ampacity { 16 mm2: 80 A }
    }
Limits
    Conductors with a fuse each lie between different pieces of metal and are no such group: their fuses look after
    them. Conductors too thin even if they shared evenly are for undersized-conductor. Starter current lasts seconds
    and is not judged.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.parallel import Parallel, groups, parallels
from wiregen.circuit.protection import feeds, guards
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import live_posts
from wiregen.rules.currents import starter_turns, too_thin, uneven
from wiregen.rules.fixes import put
from wiregen.rules.verdict import Bad, Content, Verdict, at_name, mark, rule
from wiregen.rules.words import amps, apart, beyond, listed, metres, percent


@rule("unequal-parallel-conductors", severity="danger", basis="IEC 60364-4-43, 433.4 (from memory, not read)")
def check(study: Study) -> Iterator[Verdict]:
    """One finding for each group of parallel conductors."""
    if not groups(study.job) or crossings(study.job, study.network):  # currents then say nothing
        return
    unequal, thin = uneven(study), too_thin(study)
    cases = [case.name for case in study.cases if not starter_turns(study, case)]
    for group in parallels(study, cases):
        hot = [id for id in group.shares if id in unequal]
        if hot:
            yield _unequal(study, group, hot[0])
        elif thin & set(group.shares):
            yield Content(group.opened, "too thin for its own current: undersized-conductor says so")
        elif group.survivor is None or group.survivor_current_a is None or group.survivor_ampacity_a is None:
            continue
        elif beyond(group.survivor_current_a, group.survivor_ampacity_a):
            yield _alone(study, group, group.opened in _fused(study))
        else:
            told = (percent(group.largest), group.survivor, amps(group.survivor_current_a), group.case)
            yield Content(group.opened, "carries {} of its group; when it opens {} bears the {} of {}", told)


def _fused(study: Study) -> Collection[str]:
    """Conductors on the way from a source's positive, where a fuse has its place."""
    network = without(study.network, crossings(study.job, study.network))
    return guards(study.job, network, (*live_posts(study.job, network), *feeds(study.job)))


def _unequal(study: Study, group: Parallel, hot: str) -> Bad:
    """One takes too much because of what the others leave to it."""
    job = study.job
    conductors = [job.conductors[id] for id in group.shares]
    conductor = job.conductors[hot]
    current, bears = group.shares[hot] * group.current_a, study.ampacities[hot] or 0.0
    carries, can = apart(current, bears)
    even, left = group.current_a / len(conductors), group.current_a / (len(conductors) - 1)
    size = _size_for(study, group, left)
    alike = ["the same size"] if size is None else [size]
    lengths = [each.number("length") or 0.0 for each in conductors]
    if beyond(max(lengths), min(lengths)):
        alike.append(f"{metres(max(lengths))} long")
    others = [id for id in group.shares if id != hot]
    return Bad(
        subject=hot,
        message=(
            f"{hot} takes {percent(group.shares[hot])} of the {amps(group.current_a)} that it shares with"
            f" {listed(others)} in {group.case}: {carries} A, but it bears {can} A"
        ),
        at=mark(conductor, "size", f"bears {can} A"),
        related=tuple(others),
        marks=tuple(mark(job.conductors[id], "length", f"takes {percent(group.shares[id])}") for id in (hot, *others)),
        case=group.case,
        reason=f"conductors in parallel share by resistance: {hot} gets hotter than its insulation bears",
        remedy=(
            f"make {listed(group.shares)} alike: {', '.join(alike)} and with the same lugs, so that each carries"
            f" {amps(even)}, and {amps(left)} when one opens"
        ),
        values={
            "current_a": current,
            "ampacity_a": bears,
            "share_percent": group.shares[hot] * 100,
            "total_a": group.current_a,
            "even_a": even,
            "size_that_passes": size,
        },
        through=conductor.through,
    )


def _size_for(study: Study, group: Parallel, current: float) -> str | None:
    """The size of which each bears a current [A]: the thickest of the group where it does, else the next that does."""
    from wiregen.circuit.sizing import passing_size
    from wiregen.circuit.wires import copper_area

    areas = {id: copper_area(study.job.conductors[id]) or 0.0 for id in group.shares}
    ids = sorted(areas, key=lambda id: areas[id])
    thickest = areas[ids[-1]]

    def passes(changed: Study) -> bool:
        if beyond(thickest, copper_area(changed.job.conductors[ids[0]]) or 0.0):
            return False
        return not any(beyond(current, changed.ampacities.get(id) or 0.0) for id in ids)

    if passes(study):
        return study.job.conductors[ids[-1]].word("size")
    times = thickest / areas[ids[0]]
    return passing_size(study, ids, (), lambda size: not beyond(times, size.times), passes)


def _alone(study: Study, group: Parallel, fused: bool) -> Bad:
    """All is well until one opens, and nobody notices that it has."""
    job = study.job
    left = group.survivor or ""
    conductor = job.conductors[left]
    current, bears = group.survivor_current_a or 0.0, group.survivor_ampacity_a or 0.0
    carries, can = apart(current, bears)
    ids = list(group.shares)
    size = _size_for(study, group, group.current_a / (len(ids) - 1))
    remedies = [f"size {listed(ids)} at {size}" if size else "put one thick conductor in their place"]
    if not beyond(group.current_a, study.ampacities[group.opened] or 0.0):
        remedies.append(f"leave out all but {group.opened}, which bears {amps(group.current_a)} by itself")
    if fused:
        remedies.append("give each of them a fuse of its own")
    return Bad(
        subject=left,
        message=f"when {group.opened} opens, {left} beside it carries {carries} A in {group.case}, but bears {can} A",
        at=mark(conductor, "size", f"bears {can} A"),
        related=tuple(id for id in ids if id != left),
        marks=(at_name(job.conductors[group.opened], "may come loose unnoticed"),),
        case=group.case,
        reason=f"a lug of {group.opened} that comes loose is not noticed, and no fuse opens: {left} heats",
        remedy=listed(remedies, "or"),
        values={
            "current_a": current,
            "ampacity_a": bears,
            "opened": group.opened,
            "total_a": group.current_a,
            "size_that_passes": size,
        },
        through=conductor.through,
        severity="warning",
        basis="common practice, no source",
        fix=put([job.conductors[id] for id in ids], "size", size),
    )
