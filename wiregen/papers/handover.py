"""What the owner gets: what it does, what the lamps show, what to look after, when to call someone."""

from __future__ import annotations

from wiregen.circuit.study import Study
from wiregen.papers.document import Block, Heading, Paper, Points, Text
from wiregen.papers.plain import listed
from wiregen.papers.story import story
from wiregen.papers.texts import Texts


def handover(study: Study, texts: Texts) -> Paper:
    """One page for the owner, without figures that only a fitter needs."""
    say = texts.say
    job = study.job
    kinds = {part.kind for part in job.parts.values()}
    blocks: list[Block] = [Heading(say("handover.does"))]
    blocks += [Text(words) for words in story(study, texts, ways=False)]
    does = [say("handover.does-panel")] if "panel" in kinds else []
    does += [say("handover.does-inverter")] if "inverter" in kinds else []
    if "charger" in kinds:
        engine = say("handover.does-charger") if "alternator" in kinds else say("handover.does-charger-alone")
        does.insert(0, engine)
    blocks.append(Points(tuple(does)))
    lamps = [part for part in job.parts.values() if part.kind == "lamp" and _indicates(study, part.id)]
    blocks.append(Heading(say("handover.lamps")))
    if lamps:
        named = listed((lamp.title or lamp.id for lamp in lamps), say("story.and"))
        blocks.append(Text(say("handover.indicator", lamps=named)))
        blocks.append(Points(texts.all("handover.signals")))
    else:
        blocks.append(Text(say("handover.no-lamp")))
    care = list(texts.all("handover.care"))
    if "panel" in kinds:
        care.append(say("handover.care-panel"))
    if any(part.kind == "battery" and part.word("chemistry") in ("flooded", "calcium") for part in job.parts.values()):
        care.append(say("handover.care-flooded"))
    if any(part.kind == "battery" and part.word("chemistry") == "lifepo4" for part in job.parts.values()):
        care.append(say("handover.care-lithium"))
    blocks += [Heading(say("handover.look-after")), Points(tuple(care))]
    blocks += [Heading(say("handover.call")), Points(texts.all("handover.calls"))]
    blocks.append(Text(say("handover.notice"), "caution"))
    return Paper("handover", say("handover.title"), tuple(blocks))


def _indicates(study: Study, lamp: str) -> bool:
    """Whether a lamp hangs on a charger's indicator lead."""
    seen = {f"{lamp}.+"}
    todo = list(seen)
    while todo:
        for edge, other in study.network.around(todo.pop()):
            if other in seen or edge.protects:
                continue
            part = study.job.part_of(other)
            if part and other == f"{part.id}.indicator":
                return True
            if part is None or part.kind in ("connector", "plug", "socket", "splice", "switch", "diode", "lamp"):
                seen.add(other)
                todo.append(other)
    return False
