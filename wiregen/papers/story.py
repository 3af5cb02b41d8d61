"""The system in plain prose, written from the netlist: batteries, chargers and the ways of their cables, sun, loads."""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.circuit.assemble import main_battery
from wiregen.circuit.network import Edge
from wiregen.circuit.study import Study
from wiregen.layout.words import quantity
from wiregen.model.job import Conductor, Contact, Part
from wiregen.papers.plain import listed, place_words, rating, size
from wiregen.papers.texts import Texts
from wiregen.papers.wiring import battery_at, way

MOST_LOADS = 6  # told of one by one
CHARGERS = ("charger", "mains-charger", "solar-controller")


def story(study: Study, texts: Texts, *, ways: bool = True) -> tuple[str, ...]:
    """Paragraphs: what there is and what feeds what. With `ways` each cable, fuse and connector on the way is named."""
    said = [
        " ".join((*_batteries(study, texts), *([] if ways else _in_short(study, texts)))),
        *(_chargers(study, texts) if ways else ()),
        " ".join((*_panels(study, texts), *_loads(study, texts, ways), *_fuses(study, texts))),
    ]
    return tuple(words for words in said if words)


def _named(study: Study, texts: Texts, part: Part, *, full: bool = True) -> str:
    """`second battery (aux; 100 Ah AGM; boot)`, without an article."""
    name = texts.say("story.untitled", kind=texts.say(f"kinds.{part.kind}"), id=part.id)
    told = []
    if part.title:
        name = _within(part.title, texts)
        alike = sum(each.title == part.title for each in study.job.parts.values())
        told = [part.id] if full or alike > 1 else []
    if full:
        sold = " ".join(_printed(word, texts) for word in rating(part).split(" "))
        told += [sold, _within(place_words(study.job, part.place), texts)]
    facts = "; ".join(word for word in told if word)
    return texts.say("story.facts", name=name, facts=facts) if facts else name


def _printed(word: str, texts: Texts) -> str:
    return texts.say(f"chemistry.{word}") if word in texts.words["chemistry"] else word


def _within(title: str, texts: Texts) -> str:
    """A title within a sentence. Where the language writes nouns small, its first letter is, unless it is a name."""
    first = title.split(" ", 1)[0].rstrip(",;:")
    common = first[1:].islower() and "'" not in first
    return title[:1].lower() + title[1:] if common and texts.say("story.titles") == "small" else title


def _the(texts: Texts, words: str) -> str:
    return texts.say("story.the", noun=words)


def _batteries(study: Study, texts: Texts) -> Iterator[str]:
    say = texts.say
    main = main_battery(study.job)
    batteries = [part for part in study.job.parts.values() if part.kind == "battery"]
    others = [battery for battery in batteries if main is None or battery.id != main.id]
    if main is None:
        return
    starts = any(part.kind in ("alternator", "starter") for part in study.job.parts.values())
    named = _the(texts, _named(study, texts, main))
    yield say("story.main", battery=named) if starts else say("story.first", battery=named)
    if others:
        rest = listed((_the(texts, _named(study, texts, each)) for each in others), say("story.and"))
        yield say("story.others", batteries=rest)


def _in_short(study: Study, texts: Texts) -> Iterator[str]:
    for part in study.job.parts.values():
        if part.kind in CHARGERS:
            yield texts.say("story.charger-short", charger=_named(study, texts, part))


def _chargers(study: Study, texts: Texts) -> Iterator[str]:
    """A paragraph for each charger: where it takes from, where it gives to, and by which way."""
    say = texts.say
    for part in study.job.parts.values():
        if part.kind not in CHARGERS:
            continue
        named = _named(study, texts, part)
        said: list[str] = []
        for port, key in (("in", "feed"), ("out", "gives")):
            start = f"{part.id}.{port}.+"
            edges = way(study, start) if start in study.job.terminals else ()
            battery = battery_at(study, start, edges)
            if battery is None:
                continue
            steps = list(_steps(study, texts, edges))
            there = _the(texts, _named(study, texts, battery, full=False))
            over = listed(steps[::-1] if key == "feed" else steps, say("story.and"))
            words = say("story.gives-too", battery=there, way=over)
            said.append(words if said else say(f"story.{key}", charger=named, battery=there, way=over))
        yield " ".join(said) or say("story.charger-short", charger=named)


def _steps(study: Study, texts: Texts, edges: tuple[Edge, ...], *, cables: bool = True) -> Iterator[str]:
    """What lies on a way, in order: cables with size and length, fuses with their rating, connectors, bars."""
    last = ""
    for edge in edges:
        words = ""
        if isinstance(edge.item, Conductor):
            facts = ", ".join(word for word in (size(edge.item), quantity(edge.item.fact("length"))) if word)
            name = edge.item.id if edge.item.named else texts.say("story.a-cable")
            words = (texts.say("story.facts", name=name, facts=facts) if facts else name) if cables else ""
        elif isinstance(edge.item, Contact):
            part = study.job.parts[edge.item.part]
            facts = rating(part) if edge.protects else ""
            name = texts.say("story.untitled", kind=texts.say(f"kinds.{part.kind}"), id=part.id)
            words = texts.say("story.facts", name=name, facts=facts) if facts else name
        elif edge.item.why == "mated":
            one, other = study.job.part_of(edge.a), study.job.part_of(edge.b)
            if one and other:
                words = texts.say("story.mated", one=one.id, other=other.id)
        if words and words != last:
            yield words
            last = words


def _panels(study: Study, texts: Texts) -> Iterator[str]:
    panels = [part for part in study.job.parts.values() if part.kind == "panel"]
    if panels:
        named = (_the(texts, _named(study, texts, panel)) for panel in panels)
        yield texts.say("story.panel", panels=listed(named, texts.say("story.and")))


def _loads(study: Study, texts: Texts, ways: bool) -> Iterator[str]:
    say = texts.say
    loads = [part for part in study.job.parts.values() if part.kind in ("load", "lamp", "inverter")]
    if len(loads) > MOST_LOADS:
        yield say("story.many", count=len(loads))
        return
    for load in loads:
        edges = way(study, f"{load.id}.+") if f"{load.id}.+" in study.job.terminals else ()
        battery = battery_at(study, f"{load.id}.+", edges)
        steps = list(_steps(study, texts, edges, cables=False))[::-1]
        named = _named(study, texts, load)
        if battery is None:  # a charger's lamp, say
            continue
        source = _the(texts, _named(study, texts, battery, full=False))
        through = listed(steps, say("story.and"))
        yield (
            say("story.load", load=named, battery=source, way=through)
            if through and ways
            else say("story.load-short", load=named, battery=source)
        )


def _fuses(study: Study, texts: Texts) -> Iterator[str]:
    fuses = sum(part.kind in ("fuse", "breaker") for part in study.job.parts.values())
    if fuses:
        yield texts.say("story.one-fuse") if fuses == 1 else texts.say("story.fuses", count=fuses)
