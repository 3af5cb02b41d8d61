"""The system in one paragraph of plain words, written from the netlist."""

from __future__ import annotations

from wiregen.circuit.assemble import main_battery
from wiregen.circuit.study import Study
from wiregen.model.job import Part
from wiregen.papers.plain import listed, place_words, rating
from wiregen.papers.texts import Texts

MOST_LOADS = 6  # named one by one


def story(study: Study, texts: Texts) -> str:
    """What there is, where it sits, and what feeds what."""
    job = study.job
    said = [*_batteries(study, texts), *_chargers(study, texts), *_panels(study, texts), *_loads(study, texts)]
    fuses = sum(part.kind in ("fuse", "breaker") for part in job.parts.values())
    if fuses:
        said.append(texts.say("story.fuses", count=fuses))
    return " ".join(said)


def _named(study: Study, texts: Texts, part: Part) -> str:
    """`the second battery aux (100 Ah agm) in the boot`."""
    place = place_words(study.job, part.place)
    words = texts.say("story.part", name=part.title or texts.say(f"kinds.{part.kind}"), id=part.id, rating=rating(part))
    where = texts.say("story.at", place=place)
    return f"{words} {where}" if place else words


def _batteries(study: Study, texts: Texts) -> list[str]:
    main = main_battery(study.job)
    batteries = [part for part in study.job.parts.values() if part.kind == "battery"]
    others = [battery for battery in batteries if main is None or battery.id != main.id]
    said = []
    if main and others:
        said.append(texts.say("story.main", battery=_named(study, texts, main)))
        said.append(texts.say("story.others", batteries=listed(_named(study, texts, each) for each in others)))
    elif batteries:
        said.append(texts.say("story.only", batteries=listed(_named(study, texts, each) for each in batteries)))
    return said


def _chargers(study: Study, texts: Texts) -> list[str]:
    chargers = [p for p in study.job.parts.values() if p.kind in ("charger", "mains-charger", "solar-controller")]
    return [texts.say("story.charger", charger=_named(study, texts, charger)) for charger in chargers]


def _panels(study: Study, texts: Texts) -> list[str]:
    panels = [part for part in study.job.parts.values() if part.kind == "panel"]
    return [texts.say("story.panel", panels=listed(_named(study, texts, panel) for panel in panels))] if panels else []


def _loads(study: Study, texts: Texts) -> list[str]:
    loads = [part for part in study.job.parts.values() if part.kind in ("load", "lamp", "inverter")]
    if not loads:
        return []
    if len(loads) > MOST_LOADS:
        return [texts.say("story.many", count=len(loads))]
    return [texts.say("story.loads", loads=listed(load.title or load.id for load in loads))]
