"""The job as a graph that can be walked: terminals joined by conductors, links and contacts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import wraps
from typing import Any, Literal, NamedTuple, TypeVar

from wiregen.model.job import Conductor, Contact, Job, Link

PROTECTIVE = frozenset({"fuse", "breaker"})


class Edge(NamedTuple):
    """One way from terminal to terminal. `subject` is the conductor's id, the contact's part, or `` for a link."""

    kind: Literal["conductor", "link", "contact"]
    subject: str
    a: str
    b: str
    item: Conductor | Link | Contact

    def other(self, terminal: str) -> str:
        """The terminal at the other end."""
        return self.b if terminal == self.a else self.a

    @property
    def protects(self) -> bool:
        """Whether a fuse or breaker sits here."""
        return isinstance(self.item, Contact) and self.item.kind in PROTECTIVE


@dataclass(frozen=True, slots=True)
class Network:
    """The graph as built (contacts in their built state). Both mappings are in the order of the file.

    `answers` keeps what was asked of it before: see `once`.
    """

    edges: tuple[Edge, ...]
    at: Mapping[str, tuple[Edge, ...]]  # terminal -> its edges
    answers: dict[str, tuple[Job, Any]] = field(default_factory=dict, compare=False, repr=False)

    def around(self, terminal: str) -> Iterator[tuple[Edge, str]]:
        """Each edge at a terminal with the terminal at its other end."""
        for edge in self.at.get(terminal, ()):
            yield edge, edge.other(terminal)


Answer = TypeVar("Answer")


def once(question: Callable[[Job, Network], Answer]) -> Callable[[Job, Network], Answer]:
    """A question to a job and its network that many ask: answered once for each network, which keeps the answer.

    The answer is shared, so that nobody may change it.
    """
    name = f"{question.__module__}.{question.__qualname__}"

    @wraps(question)
    def asked(job: Job, network: Network) -> Answer:
        known = network.answers.get(name)
        if known is None or known[0] is not job:
            known = network.answers[name] = job, question(job, network)
        answer: Answer = known[1]
        return answer

    return asked


def build(job: Job) -> Network:
    """The graph of one job: conductors first, then links, then the contacts inside parts."""
    edges = [Edge("conductor", c.id, c.from_, c.to, c) for c in job.conductors.values()]
    edges += [Edge("link", "", link.a, link.b, link) for link in job.links]
    edges += [Edge("contact", p.id, c.a, c.b, c) for p in job.parts.values() for c in p.contacts]
    at: dict[str, list[Edge]] = {terminal: [] for terminal in job.terminals}
    for edge in edges:
        at.setdefault(edge.a, []).append(edge)
        if edge.b != edge.a:
            at.setdefault(edge.b, []).append(edge)
    return Network(tuple(edges), {terminal: tuple(found) for terminal, found in at.items()})
