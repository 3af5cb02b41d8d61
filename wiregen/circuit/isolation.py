"""What a battery still feeds when everything that a hand can open is open."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from wiregen.circuit.network import Network
from wiregen.circuit.unprotected import passes
from wiregen.model.job import Contact


class Reach(NamedTuple):
    """A terminal that is reached: from which start, and the ids on the way (conductors and parts, in order)."""

    source: str
    path: tuple[str, ...]


def none_open(contact: Contact) -> bool:
    """No contact: all count as closed."""
    return False


def fed(network: Network, sources: Iterable[str], opened: Callable[[Contact], bool] = none_open) -> dict[str, Reach]:
    """Terminals that metal joins to one of the sources with the `opened` contacts open, in the fewest steps.

    All other contacts count as closed; the pulled halves of a connector do not.
    """
    found = {source: Reach(source, ()) for source in sources}
    queue = list(found)
    for here in queue:  # grows while it is walked
        source, path = found[here]
        for edge, there in network.around(here):
            if there in found or not passes(edge) or (isinstance(edge.item, Contact) and opened(edge.item)):
                continue
            new = edge.subject and (not path or path[-1] != edge.subject)
            found[there] = Reach(source, (*path, edge.subject) if new else path)
            queue.append(there)
    return found
