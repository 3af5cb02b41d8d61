"""The ways back of devices, each conductor against the fuse that guards the way out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from wiregen.circuit.crossing import crossings, without
from wiregen.circuit.parallel import Share, shares
from wiregen.circuit.polarity import SINKS, gives
from wiregen.circuit.protection import OPEN, Guard, feeds, guard_at, guards
from wiregen.circuit.questions import Rails, ports, rails, way_back
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import live_posts
from wiregen.model.job import Conductor, Part
from wiregen.rules.currents import too_thin
from wiregen.rules.ratings import number_below
from wiregen.rules.words import beyond


class Return(NamedTuple):
    """A return conductor, the guard of the way out, the port whose way back it is, and what it bears [A].

    `asked` is the guard's rating [A]; where the way out bears less, the smaller one that oversized-fuse asks for.
    """

    conductor: Conductor
    guard: Guard
    carries: float
    asked: float
    port: str

    @property
    def weak(self) -> bool:
        """Whether it bears less than its guard has to let through."""
        return beyond(self.asked, self.carries)


def returns(study: Study) -> Iterator[Return]:
    """The ways back of all devices; left out are conductors that are too thin for their own current."""
    job = study.job
    network = without(study.network, crossings(job, study.network))
    sources = (*live_posts(job, network), *feeds(job))
    at = guard_at(job, network, sources)
    thin, shared = too_thin(study), shares(study)
    passing = _least_on_the_way_out(study, guards(job, network, sources), thin, shared)
    lines = rails(study)
    for part in job.parts.values():
        if part.kind not in SINKS:
            continue
        for plus, minus in ports(part):
            guard = at.get(plus)
            if guard is None or guard.rating == OPEN:
                continue
            asked = guard.rating
            if beyond(asked, passing.get(guard.device, asked)):
                asked = number_below(study, guard.device, passing[guard.device])
            for conductor in way_back(study, minus, _goals(study, lines, part, minus, guard)) or ():
                carries = study.ampacities.get(conductor.id)
                if not carries or conductor.id in thin:  # none is left in a place too hot for it: insulation-too-cool
                    continue
                carries /= shared[conductor.id].share if conductor.id in shared else 1.0  # side by side with others
                yield Return(conductor, guard, carries, asked, plus)


def _least_on_the_way_out(
    study: Study, guarded: Mapping[str, Guard], thin: frozenset[str], shared: Mapping[str, Share]
) -> dict[str, float]:
    """Device -> what its weakest conductor bears [A]. Where that is below the device, oversized-fuse asks for less."""
    least: dict[str, float] = {}
    for name, guard in guarded.items():
        carries = study.ampacities.get(name)
        if carries and name not in thin:
            carries /= shared[name].share if name in shared else 1.0
            least[guard.device] = min(carries, least.get(guard.device, carries))
    return least


def _goals(study: Study, lines: Rails, part: Part, minus: str, guard: Guard) -> set[str]:
    """Where a fault's current goes back to: the battery that drives it, else, as of batteries in series, any source.

    Through a common negative another battery may be nearer, but the current of this fuse does not go there.
    """
    job = study.job
    source = job.parts[job.terminals[guard.source].part]
    own = f"{source.word('from') if source.kind == 'feed' else source.id}.-"
    if minus in lines.net and lines.net.get(own) == lines.net[minus]:
        return {own}
    return {t for t in job.terminals if t.endswith("-") and gives(job, t) and job.terminals[t].part != part.id}


def too_thin_already(study: Study) -> frozenset[str]:
    """Conductors too thin for their current or for their fuse, out or back: other rules say so, as dangers."""
    network = without(study.network, crossings(study.job, study.network))
    at = guards(study.job, network, (*live_posts(study.job, network), *feeds(study.job)))
    bears = study.ampacities
    fused = (id for id, g in at.items() if g.rating != OPEN and beyond(g.rating, bears.get(id) or g.rating))
    return too_thin(study) | frozenset(fused) | frozenset(each.conductor.id for each in returns(study) if each.weak)
