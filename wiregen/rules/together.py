"""What is one mistake though several parts suffer it: the ways of a block that says a value, the halves of a pair."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from wiregen.circuit.study import Study
from wiregen.model.job import Job, Part
from wiregen.rules.verdict import Bad, Verdict
from wiregen.rules.words import clearly_more, listed


def sayer(job: Job, part: Part, fact: str) -> Part:
    """The part that says a fact: the fuse block where its way fuse has it from there, else the part itself."""
    block = job.parts.get(part.block or "")
    return block if block is not None and block.has(fact) and block.where(fact) == part.where(fact) else part


def halves(job: Job) -> Mapping[str, str]:
    """Plug or socket -> the half that is mated to it."""
    found: dict[str, str] = {}
    for link in job.links:
        if link.why == "mated":
            one, other = job.terminals[link.a].part, job.terminals[link.b].part
            found.setdefault(one, other)
            found.setdefault(other, one)
    return found


def once(study: Study, said: Iterable[Verdict], value: str = "") -> Iterator[Verdict]:
    """One finding for each subject, and for each mated pair: the one with the largest `value`, others related.

    Without `value` it is the first.
    A finding about a block names its way first among what is related.
    """
    pairs = halves(study.job)
    groups: dict[str, list[Bad]] = {}
    out: list[Verdict | str] = []
    for verdict in said:
        if not isinstance(verdict, Bad):
            out.append(verdict)
            continue
        key = verdict.subject if pairs.get(verdict.subject) not in groups else pairs[verdict.subject]
        if key not in groups:
            out.append(key)
        groups.setdefault(key, []).append(verdict)
    for each in out:
        yield _one(groups[each], value) if isinstance(each, str) else each


def _one(bads: list[Bad], value: str) -> Bad:
    worst = bads[0]
    for bad in bads[1:]:
        if clearly_more(_number(bad, value), _number(worst, value)):
            worst = bad
    also = [bad.subject if bad.subject != worst.subject else bad.related[0] for bad in bads if bad is not worst]
    related = dict.fromkeys((*worst.related, *also, *(id for bad in bads for id in bad.related)))
    return worst._replace(
        message=worst.message + (f" (so too {listed(also)})" if also else ""),
        related=tuple(id for id in related if id != worst.subject),
    )


def _number(bad: Bad, value: str) -> float:
    number = bad.values.get(value)
    return number if isinstance(number, float) else 0.0
