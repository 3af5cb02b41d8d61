"""Operating cases: which state the job is in. The tool's own, where the parts allow them, and the job's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from wiregen.language.tree import Measure
from wiregen.model.job import Case, Fact, Job

LOADS = frozenset({"load", "lamp", "sensor", "inverter"})
CHARGERS = frozenset({"charger", "solar-controller", "mains-charger"})


@dataclass(frozen=True, slots=True)
class State:
    """One operating case as settings of parts. What is not set is as built.

    engine : alternators turn and switched feeds are live
    sun : irradiance on the panels, 1 is 1000 W/m2
    starting : starters draw
    charge : state of charge of batteries that do not say theirs
    low : variable alternators stand at their low end
    """

    name: str
    title: str
    engine: bool = True
    sun: float = 1.0
    starting: bool = False
    low: bool = False
    charge: float = 1.0
    on: frozenset[str] = frozenset()
    off: frozenset[str] = frozenset()
    closed: Mapping[str, bool] = field(default_factory=dict)  # part -> contacts closed or open
    apart: frozenset[str] = frozenset()
    broken: frozenset[str] = frozenset()
    held: Mapping[str, Measure] = field(default_factory=dict)
    facts: Mapping[str, Mapping[str, Fact]] = field(default_factory=dict)
    ambients: Mapping[str, float] = field(default_factory=dict)

    def runs(self, part: str, as_built: bool) -> bool:
        """Whether a part is on: what the case says, else as built."""
        if part in self.on:
            return True
        return as_built and part not in self.off


STARTS = {
    state.name: state
    for state in (
        State("driving", "Engine running, at the end of bulk charge"),
        State("driving-low", "Engine running, variable alternator at its low end", low=True),
        State("driving-dark", "Engine running, no sun, alternator at its low end where it has one", sun=0.0, low=True),
        State("parked-sun", "Engine off, full sun", engine=False),
        State("parked-dark", "Engine off, no sun", engine=False, sun=0.0),
        State("cranking", "Starter turning", engine=False, sun=0.0, starting=True),
    )
}
"""The tool's own cases, which a case of the job may be like."""


def operating_cases(job: Job) -> tuple[State, ...]:
    """All cases to solve: the tool's own where the parts allow them, replaced by the job's of the same name, then
    the job's other cases in the order of the file."""
    kinds = {part.kind for part in job.parts.values()}
    variable = any(p.kind == "alternator" and p.word("control") == "variable" for p in job.parts.values())
    own: list[State] = []
    if "alternator" in kinds or kinds & {"charger", "feed", "voltage-relay"}:
        own.append(STARTS["driving"])
        if variable:
            own.append(STARTS["driving-low"])
        if _shares_sun(job):
            own.append(STARTS["driving-dark"])
    if "panel" in kinds:
        own.append(STARTS["parked-sun"])
    if kinds & {"battery"}:
        own.append(STARTS["parked-dark"])
    if "starter" in kinds:
        own.append(STARTS["cranking"])
    jobs = {case.name: from_job(job, case) for case in job.cases.values()}
    if "driving" in jobs:
        night = replace(jobs["driving"], name="driving-dark", title="As driving, without sun", sun=0.0)
        said = any(_drives_dark(job, case) for case in jobs.values())
        own = [night if case.name == "driving-dark" else case for case in own if case.name != "driving-low"]
        own = [case for case in own if case.name != "driving-dark" or not said]
    names = [case.name for case in own]
    return (*(jobs.get(case.name, case) for case in own), *(c for name, c in jobs.items() if name not in names))


def _drives_dark(job: Job, case: State) -> bool:
    """Whether the engine runs in a case, and no panel gives anything."""
    off = {kind: {p.id for p in job.parts.values() if p.kind == kind} <= case.off for kind in ("alternator", "panel")}
    turns = any(part.kind == "alternator" for part in job.parts.values()) and not off["alternator"]
    return case.engine and turns and (case.sun == 0 or off["panel"])


def _shares_sun(job: Job) -> bool:
    """Whether a panel stands behind a charger that the engine feeds too: what the sun brings it does not draw from
    the vehicle, so its feed carries most when there is none."""
    if not any(part.kind == "panel" for part in job.parts.values()):
        return False
    solar = {f"{part.id}.solar.+" for part in job.parts.values() if part.kind == "charger"}
    return any(solar & {c.from_, c.to} for c in job.conductors.values()) or any(solar & {n.a, n.b} for n in job.links)


def in_case(job: Job, state: State) -> Job:
    """The job with the facts that a case sets in place of its parts' and conductors' own; the job itself without."""
    if not state.facts:
        return job
    parts, conductors = dict(job.parts), dict(job.conductors)
    for id, facts in state.facts.items():
        if id in parts:
            parts[id] = replace(parts[id], facts={**parts[id].facts, **facts})
        elif id in conductors:
            conductors[id] = replace(conductors[id], facts={**conductors[id].facts, **facts})
    return replace(job, parts=parts, conductors=conductors)


def from_job(job: Job, case: Case) -> State:
    """A case of the job as a state. Later settings win over earlier ones."""
    on: set[str] = set()
    off: set[str] = set()
    closed: dict[str, bool] = {}
    apart: set[str] = set()
    broken: set[str] = set()
    held: dict[str, Measure] = {}
    facts: dict[str, dict[str, Fact]] = {}
    ambients: dict[str, float] = {}
    start = STARTS.get(case.like, STARTS["driving"])
    sun = start.sun
    for setting in case.settings:
        if setting.verb == "sun" and setting.measure:
            sun = setting.measure.value
        for target in setting.targets:
            if setting.verb in ("on", "off"):
                (on if setting.verb == "on" else off).add(target)
                (off if setting.verb == "on" else on).discard(target)
                if setting.verb == "off":
                    held.pop(target, None)
            elif setting.verb in ("open", "pulled"):
                closed[target] = False
            elif setting.verb == "closed":
                closed[target] = True
            elif setting.verb == "apart":
                apart.add(target)
            elif setting.verb == "broken":
                broken.add(target)
                closed[target] = False
            elif setting.verb == "volts" and setting.measure:
                held[target] = setting.measure
                off.discard(target)
            elif setting.verb == "ambient" and setting.measure:
                ambients[target] = setting.measure.high
            elif setting.verb == "facts":
                facts.setdefault(target, {}).update(setting.facts)
    return State(
        name=case.name,
        title=case.title,
        engine=start.engine,
        sun=sun,
        starting=start.starting or case.name == "cranking",
        low=start.low,
        on=frozenset(on),
        off=frozenset(off),
        closed=closed,
        apart=frozenset(apart),
        broken=frozenset(broken),
        held=held,
        facts=facts,
        ambients=ambients,
    )
