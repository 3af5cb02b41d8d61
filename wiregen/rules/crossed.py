"""How reversed-polarity and short-circuit name a crossing and point at it."""

from __future__ import annotations

from wiregen.circuit.crossing import Crossing, Joint
from wiregen.circuit.polarity import sign
from wiregen.findings import Mark, Use
from wiregen.model.job import Conductor, Job, Link


def name(joint: Joint) -> str:
    """The conductor or part of a joint in words."""
    return joint.edge.subject or f"the joint of {joint.edge.a} and {joint.edge.b}"


def subjects(job: Job, crossing: Crossing) -> tuple[str, ...]:
    """Ids of what would have to move, the one that carries the positive first.

    Of two parts joined without a conductor it is the one that has no polarity of its own, else the negative one.
    """

    def subject(joint: Joint) -> str:
        if joint.edge.subject:
            return joint.edge.subject
        bare = next((t for t in (joint.minus, joint.plus) if t in job.terminals and not sign(job, t)), joint.minus)
        return job.terminals[bare].part or bare

    return tuple(dict.fromkeys(subject(joint) for joint in crossing.joints))


def through(joint: Joint) -> tuple[Use, ...]:
    """The kits in which the joint stands."""
    return joint.edge.item.through if isinstance(joint.edge.item, Conductor | Link) else ()


def place(job: Job, joint: Joint, words: str, *, positive: bool = True) -> Mark:
    """Where the conductor lands on the wrong terminal; the joint or the part where it is no conductor."""
    item = joint.edge.item
    if isinstance(item, Conductor):
        wrong = joint.minus if positive else joint.plus
        span = item.to_span if wrong == item.to else item.from_span
        return Mark(span or item.span, words)
    return Mark(item.span if isinstance(item, Link) else job.parts[joint.edge.subject].span, words)
