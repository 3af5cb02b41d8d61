"""What stays live where something has been taken apart: which source still reaches which terminal."""

from __future__ import annotations

from collections import deque
from collections.abc import Collection, Iterable, Mapping

from wiregen.circuit.network import Edge, Network
from wiregen.circuit.polarity import Way, sign
from wiregen.circuit.unprotected import live_posts
from wiregen.model.job import Contact, Job

BESIDE_BATTERIES = frozenset({"panel", "mains-charger", "feed"})


def live_sources(job: Job, network: Network) -> dict[str, str]:
    """Live terminal -> its part: batteries by the post that is not earthed; panels, mains chargers, feeds.

    The output of a charger is no source here: many give nothing without a battery.
    """
    live = {post: job.terminals[post].part for post in live_posts(job, network)}
    for terminal, at in job.terminals.items():
        part = job.parts.get(at.part)
        if part is not None and part.kind in BESIDE_BATTERIES and sign(job, terminal) == "+":
            live.setdefault(terminal, part.id)
    return live


def live_without(ways: Iterable[Way], sources: Mapping[str, str], gone: Collection[Edge]) -> dict[str, str]:
    """Terminal -> the part whose live side reaches it once the edges `gone` no longer conduct.

    Switches and relays count as closed, fuses as in; a diode leads on in its own direction only.
    """
    apart = {id(edge) for edge in gone}
    onward: dict[str, list[str]] = {}
    for edge, a, b in ways:
        if edge is None or id(edge) in apart:
            continue
        onward.setdefault(a, []).append(b)
        if not (isinstance(edge.item, Contact) and edge.item.kind == "diode"):
            onward.setdefault(b, []).append(a)
    live = dict(sources)
    queue = deque(live)
    while queue:
        here = queue.popleft()
        for there in onward.get(here, ()):
            if there not in live:
                live[there] = live[here]
                queue.append(there)
    return live
