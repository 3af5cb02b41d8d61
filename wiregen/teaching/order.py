"""The order of an installation where the job says none: worked out from the netlist by common practice.

Run the cables with the fuses out; connect the auxiliary batteries, then the start battery, each with its fuses going in
last on its side; then the control leads; then the panels (common practice, no source).
"""

from __future__ import annotations

from collections import deque

from wiregen.circuit.assemble import main_battery
from wiregen.circuit.network import Network
from wiregen.circuit.questions import signal_lead
from wiregen.circuit.stages import CLOSED_BY_HAND, VEHICLE
from wiregen.circuit.study import Study
from wiregen.findings import Source, Span
from wiregen.model.job import Contact, Job, Part, Stage
from wiregen.teaching.captions import titled_part


def staged(study: Study) -> tuple[Stage, ...]:
    """The job's own stages, or else those of common practice; () for a job without a source."""
    return study.job.stages or proposed(study)


def proposed(study: Study) -> tuple[Stage, ...]:
    """The stages of common practice. A fuse or switch is fitted open first, and closed where it comes again."""
    job, network = study.job, study.network
    main = main_battery(job)
    batteries = [p for p in job.parts.values() if p.kind == "battery"]
    sources = [p for p in batteries if p is not main] + ([main] if main else [])
    panels = [p for p in job.parts.values() if p.kind == "panel"]
    if not sources and not panels:
        return ()
    fed = _nearest(job, network, [*sources, *panels])
    posts = {t: p.id for p in batteries for t in p.terminals}
    late: dict[str, str] = {}  # conductor -> the source that it is connected with, `control` for control leads
    for c in job.conductors.values():
        ends = {posts[t] for t in (c.from_, c.to) if t in posts}
        if signal_lead(study, c):
            late[c.id] = "control"
        elif ends:
            late[c.id] = next(p.id for p in reversed(sources) if p.id in ends)
        elif fed.get(c.id) in {p.id for p in panels}:
            late[c.id] = "panels"
    shut = [p for p in job.parts.values() if any(c.kind in CLOSED_BY_HAND for c in p.contacts)]
    spared = {p.id for p in (*batteries, *panels)} | {p.id for p in job.parts.values() if p.kind == "feed"}
    spared |= {p.id for p in job.parts.values() if p.kind in ("lamp", "sensor") and _only(job, p, late, "control")}
    first = [c for c in job.conductors if c not in late]
    first += [p.id for p in job.parts.values() if p.id not in spared and not p.block and p.kind not in VEHICLE]
    out: list[tuple[str, list[str]]] = []
    if first:
        done = "Parts fitted and cables run" if any(id in job.conductors for id in first) else "Parts fitted"
        out.append((done + (", all fuses out" if shut else ""), first))
    for source in sources:
        members = [source.id, *(c for c, at in late.items() if at == source.id)]
        closed = [p.id for p in shut if fed.get(p.id) == source.id]
        out.append(
            (f"Connect the {_within(titled_part(source))}" + (", its fuses last" if closed else ""), members + closed)
        )
    control = [p for p in job.parts if p in spared and job.parts[p].kind not in ("battery", "panel")]
    control += [c for c, at in late.items() if at == "control"]
    if control:
        out.append(("Connect the control leads", control))
    if panels:
        members = [p.id for p in panels] + [c for c, at in late.items() if at == "panels"]
        members += [p.id for p in shut if fed.get(p.id) in {s.id for s in panels}]
        out.append(("Connect the panel last" if len(panels) == 1 else "Connect the panels last", members))
    span = job.span or Span(Source(job.path, ""), 0, 0)
    return tuple(
        Stage(str(k), title, tuple(dict.fromkeys(members)), k == len(out), span)
        for k, (title, members) in enumerate(out, 1)
    )


def _within(words: str) -> str:
    """A title within a sentence: `Second battery (aux)` begins small, `AUX battery` does not."""
    return words if words[1:2].isupper() else words[:1].lower() + words[1:]


def _only(job: Job, part: Part, late: dict[str, str], why: str) -> bool:
    landing = [c.id for c in job.conductors.values() if part.terminals and {c.from_, c.to} & set(part.terminals)]
    return bool(landing) and any(late.get(c) == why for c in landing)


def _nearest(job: Job, network: Network, sources: list[Part]) -> dict[str, str]:
    """Conductors and parts with contacts -> the source that reaches them over the fewest joints."""
    owner: dict[str, str] = {}
    reached: dict[str, str] = {}
    queue: deque[str] = deque()
    for source in sources:
        for terminal in source.terminals:
            if terminal.endswith("+"):
                reached[terminal] = source.id
                queue.append(terminal)
    while queue:
        here = queue.popleft()
        for edge, there in network.around(here):
            item = edge.item
            if isinstance(item, Contact) and item.kind in ("diode", "relay", "solid"):
                part = job.parts[item.part]
                if part.kind not in ("busbar", "splice", "fuse-block"):
                    continue
            if edge.subject:
                owner.setdefault(edge.subject, reached[here])
            if there not in reached:
                reached[there] = reached[here]
                queue.append(there)
    return owner
