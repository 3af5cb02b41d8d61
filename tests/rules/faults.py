"""For each rule, faults that can be planted in the text of a sound job, and whom the rule must then name.

A planter takes a `Sheet` (text, job, study of a sound netlist) and yields the job with one thing changed, for each
place where that can be done. Nothing is yielded where a job has no such place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from wiregen.circuit import study
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import live_posts
from wiregen.findings import Span
from wiregen.model import read
from wiregen.model.job import Conductor, Contact, Job, Part


class Planted(NamedTuple):
    """A netlist with one fault. Each finding of the rule must be on one of `subjects`; `also` may speak besides."""

    text: str
    subjects: frozenset[str]
    also: frozenset[str]


class Sheet(NamedTuple):
    """A sound netlist with what is read from it."""

    text: str
    job: Job
    study: Study

    def parts(self, *kinds: str) -> Iterator[Part]:
        """Parts of those kinds that stand in this text themselves, not in a kit."""
        return (p for p in self.job.parts.values() if p.kind in kinds and self.mine(p.span) and not p.through)

    def conductors(self) -> Iterator[Conductor]:
        """Conductors that stand in this text."""
        return (c for c in self.job.conductors.values() if self.mine(c.span) and not c.through)

    def mine(self, span: Span | None) -> bool:
        """Whether a span is of this text and not of an included one."""
        return span is not None and span.source.text == self.text

    def value(self, item: Part | Conductor, fact: str) -> Span | None:
        """Where the first value of a fact stands, if the item has it for itself."""
        said = item.fact(fact)
        own = said is not None and said.origin == "own" and said.values and not said.through
        return said.values[0].span if said and own and self.mine(said.values[0].span) else None

    def put(self, *edits: tuple[Span, str]) -> str:
        """The text with words in the places of others."""
        text = self.text
        for span, words in sorted(edits, key=lambda e: e[0].start, reverse=True):
            text = text[: span.start] + words + text[span.end :]
        return text

    def line(self, span: Span) -> tuple[int, int]:
        """Start and end of the line on which a span begins, its end of line with it."""
        start = self.text.rfind("\n", 0, span.start) + 1
        end = self.text.find("\n", span.start)
        return start, (len(self.text) if end < 0 else end + 1)

    def without(self, span: Span) -> str:
        """The text without a line."""
        start, end = self.line(span)
        return self.text[:start] + self.text[end:]

    def instead(self, span: Span, words: str) -> str:
        """The text with another line in the place of one."""
        start, end = self.line(span)
        return self.text[:start] + words + "\n" + self.text[end:]

    def ends(self, terminal: str) -> list[tuple[Conductor, Span]]:
        """Conductors that begin or end a path of their own at a terminal, with the words that name it there."""
        found = []
        for c in self.conductors():
            for end, span in ((c.from_, c.from_span), (c.to, c.to_span)):
                if end == terminal and span is not None and self.mine(span) and self._tip(span):
                    found.append((c, span))
        return found

    def _tip(self, span: Span) -> bool:
        """Whether the words at a span begin or end their path."""
        start, end = self.line(span)
        before, after = self.text[start : span.start].strip(), self.text[span.end : end].strip()
        return not before or (not after and "{" not in before)

    def landing(self, terminal: str) -> list[Conductor]:
        """All conductors at a terminal."""
        return [c for c in self.job.conductors.values() if terminal in (c.from_, c.to)]

    def behind(self, terminal: str) -> frozenset[str]:
        """Conductors that a terminal reaches without a fuse."""
        seen, queue, found = {terminal}, [terminal], set()
        while queue:
            here = queue.pop()
            for edge, there in self.study.network.around(here):
                if edge.protects or there in seen:
                    continue
                if isinstance(edge.item, Conductor):
                    found.add(edge.subject)
                seen.add(there)
                queue.append(there)
        return frozenset(found)

    def everything(self) -> frozenset[str]:
        """All ids: where a rule may choose whom it names."""
        return frozenset({*self.job.parts, *self.job.conductors, *self.job.bodies, *self.job.places})

    def indicators(self) -> frozenset[str]:
        """The indicator outputs of chargers: what hangs there is for rules of its own."""
        return frozenset(t.id for t in self.job.terminals.values() if t.name == "indicator")

    def carries(self, conductor: str) -> float:
        """Its largest current over all cases [A]."""
        return max((abs(c.flows[conductor].current_a or 0.0) for c in self.study.cases if c.solved), default=0.0)


def sheet(text: str, path: str = "job.wnet") -> Sheet:
    """A netlist that reads without mistakes, read and studied."""
    job, mistakes = read(path, text=text)
    assert job is not None and not mistakes, [m.message for m in mistakes]
    return Sheet(text, job, study(job)[0])


Planter = Callable[[Sheet], Iterator[Planted]]
PLANTERS: dict[str, list[Planter]] = {}


def plants(rule: str) -> Callable[[Planter], Planter]:
    """Enters a planter for a rule."""

    def enter(planter: Planter) -> Planter:
        PLANTERS.setdefault(rule, []).append(planter)
        return planter

    return enter


def planted(text: str, subjects: Iterable[str], *also: str) -> Planted:
    """One fault."""
    return Planted(text, frozenset(subjects), frozenset(also))


def facts(rule: str, kinds: str, fact: str, new: str, *also: str) -> None:
    """Enters the planter that writes one value anew in every part of some kinds that says it."""

    @plants(rule)
    def change(on: Sheet) -> Iterator[Planted]:
        for part in on.parts(*kinds.split()):
            span = on.value(part, fact)
            if span is not None and (part.kind in ("battery", "panel") or any(map(on.landing, part.terminals))):
                yield planted(on.put((span, new)), (part.id,), *also)

    change.__name__ = f"{fact}_{new}".replace(" ", "_")


def loads(on: Sheet) -> Iterator[tuple[Part, Conductor, Conductor]]:
    """Loads and lamps on conductors of their own: the part, its positive and its negative conductor."""
    for part in on.parts("load", "lamp"):
        out, back = on.landing(f"{part.id}.+"), on.landing(f"{part.id}.-")
        if len(out) == len(back) == 1 and not {out[0].from_, out[0].to} & on.indicators():
            yield part, out[0], back[0]


def contact_fuse(on: Sheet, conductor: Conductor) -> Part | None:
    """The fuse that a conductor hangs on directly."""
    for end in (conductor.from_, conductor.to):
        part = on.job.part_of(end)
        if part is not None and part.kind in ("fuse", "breaker"):
            return part
        for edge, _ in on.study.network.around(end):
            if isinstance(edge.item, Contact) and edge.protects:
                return on.job.parts[edge.subject]
            if edge.kind == "link":
                other = on.job.part_of(edge.other(end))
                if other is not None and other.kind in ("fuse", "breaker"):
                    return other
    return None


# protection


@plants("unfused-positive")
def tail_too_long(on: Sheet) -> Iterator[Planted]:
    for post in live_posts(on.job, on.study.network):
        for c in on.landing(post):
            far = on.job.part_of(c.to if c.from_ == post else c.from_)
            span = on.value(c, "length")
            if span is not None and far is not None and far.kind == "fuse":
                yield planted(on.put((span, "0.65 m")), (c.id,))


@plants("unfused-positive")
def fuse_left_out(on: Sheet) -> Iterator[Planted]:
    for post in live_posts(on.job, on.study.network):
        for c in on.landing(post):
            far = on.job.part_of(c.to if c.from_ == post else c.from_)
            if far is not None and far.kind == "fuse" and on.mine(far.span) and not far.through:
                yield planted(on.instead(far.span, f"splice {far.id}"), on.behind(f"{far.id}.out"))


@plants("oversized-fuse")
def fuse_too_large(on: Sheet) -> Iterator[Planted]:
    for _, out, _ in loads(on):
        fuse = contact_fuse(on, out)
        carries = on.study.ampacities.get(out.id)
        if fuse is None or carries is None:
            continue
        larger = next((r for r in (15, 20, 25, 30, 40, 50, 60) if r > carries * 1.02), None)
        room = fuse.number("holder") or 60.0
        span = on.value(fuse, "rating")
        if span is not None and larger is not None and larger <= room:
            yield planted(on.put((span, f"{larger} A")), on.behind(out.to) | on.behind(out.from_))


@plants("undersized-fuse")
def fuse_too_small(on: Sheet) -> Iterator[Planted]:
    for _, out, _ in loads(on):
        fuse = contact_fuse(on, out)
        span = on.value(fuse, "rating") if fuse else None
        if fuse and span and on.carries(out.id) > 2.0:
            yield planted(on.put((span, "2 A")), (fuse.id,))


facts("fuse-voltage", "fuse", "volts", "10 V")
facts("breaking-capacity", "fuse", "breaks", "40 A")
facts("holder-rating", "fuse", "holder", "1 A")


@plants("slow-clearing")
def fuse_out_of_reach(on: Sheet) -> Iterator[Planted]:
    """A very long thin run to a very small load: its fuse opens too late, or never."""
    for part, out, back in loads(on):
        fuse = contact_fuse(on, out)
        size, other = on.value(out, "size"), on.value(back, "size")
        spans = [on.value(out, "length"), on.value(back, "length"), on.value(part, "rating")]
        rating = on.value(fuse, "rating") if fuse else None
        if rating and size and other and size != other and all(spans) and (part.kind == "load"):
            edits = [(size, "1.5 mm2"), (other, "1.5 mm2"), (rating, "15 A")]
            edits += [(spans[0], "28 m"), (spans[1], "28 m"), (spans[2], "0.05 A")]  # type: ignore[list-item]
            yield planted(on.put(*edits), (out.id, back.id))


# conductors


@plants("undersized-conductor")
def run_too_long(on: Sheet) -> Iterator[Planted]:
    for _, out, back in loads(on):
        span = on.value(out, "length")
        mm2 = out.number("size")
        amps = on.carries(out.id)
        if span is not None and mm2 and amps >= 2 and span != on.value(back, "length"):
            volts = 48.0 if on.job.facts["system"].word.startswith("48") else 24.0
            metres = 0.12 * volts * mm2 / (0.0175 * amps)
            yield planted(on.put((span, f"{metres:.1f} m")), (out.id,), "slow-clearing")


@plants("undersized-conductor")
def conductor_too_thin(on: Sheet) -> Iterator[Planted]:
    for _, out, back in loads(on):
        span = on.value(out, "size")
        if span is not None and on.carries(out.id) >= 5 and span != on.value(back, "size"):
            yield planted(on.put((span, "0.22 mm2")), (out.id,), "oversized-fuse")


@plants("undersized-return")
def return_too_thin(on: Sheet) -> Iterator[Planted]:
    for _, out, back in loads(on):
        span = on.value(back, "size")
        fuse = contact_fuse(on, out)
        if span is not None and span != on.value(out, "size") and fuse and (fuse.number("rating") or 0) >= 10:
            yield planted(on.put((span, "0.22 mm2")), (back.id,), "undersized-conductor")


@plants("insulation-too-cool")
def past_the_exhaust(on: Sheet) -> Iterator[Planted]:
    hot = "\nplace manifold, ambient 130 degC\n"
    for _, out, _ in loads(on):
        span = on.value(out, "length")
        if span is not None and out.named:
            text = on.put((span, f"{span.text}, via manifold"))
            yield planted(text + hot, on.job.conductors, "oversized-fuse")


# polarity and connection


@plants("reversed-polarity")
def ends_swapped(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("load", "lamp", "inverter", "charger", "solar-controller", "panel", "battery"):
        for terminal in part.terminals:
            minus = terminal[:-1] + "-"
            if not terminal.endswith("+") or minus not in part.terminals:
                continue
            plus, back = on.ends(terminal), on.ends(minus)
            if len(plus) == len(back) == 1 and len(on.landing(terminal)) == len(on.landing(minus)) == 1:
                (one, first), (other, second) = plus[0], back[0]
                text = on.put((first, second.text), (second, first.text))
                yield planted(text, (one.id, other.id, part.id), *(("unfused-positive",) if part.kind == "battery" else ()))


@plants("short-circuit")
def bridged(on: Sheet) -> Iterator[Planted]:
    for part, out, _ in loads(on):
        size = out.fact("size")
        if size is not None:
            line = f"\n{part.id}.+ --[XX violet {size.word} 0.3 m]-- {part.id}.-\n"
            yield planted(on.text + line, ("XX",))


@plants("loose-end")
def end_in_the_air(on: Sheet) -> Iterator[Planted]:
    for part, _, _ in loads(on):
        for conductor, span in on.ends(f"{part.id}.+"):
            yield planted(on.put((span, "loose")), (conductor.id,))


@plants("unmated-connector")
def not_mated(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("socket"):
        at = on.text.find(f"mate {part.id} ")
        if at >= 0:
            other = on.text[at:].split()[2]
            yield planted(on.without(Span(part.span.source, at, at + 4)), (part.id, other), "missing-trigger")


@plants("unmated-connector")
def pulled_apart(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("connector"):
        span = on.value(part, "rating")
        if span is not None:
            yield planted(on.put((span, f"{span.text}, unmated")), (part.id,))


@plants("missing-return")
def return_taken_away(on: Sheet) -> Iterator[Planted]:
    for part, _, back in loads(on):
        if [c for c, _ in on.ends(f"{part.id}.-")] == [back]:
            yield planted(on.without(back.span), (part.id,), *(("indicator-without-return",)))


@plants("isolated-body-return")
def body_isolated(on: Sheet) -> Iterator[Planted]:
    for body in on.job.bodies.values():
        text = on.text.replace(f"body {body.id} bonded", f"body {body.id} isolated")
        earth = next((p for p in on.parts("earth") if p.id in body.earths), None)
        for part, _, _ in loads(on):
            ends = on.ends(f"{part.id}.-")
            if earth is not None and ends and text != on.text:
                moved = f"\nearth EX on {body.id}\n{part.id}.- --[XX black 6 mm2 0.5 m]-- EX\n"
                yield planted(text + moved, (body.id,))


facts("mixed-voltage", "lamp", "volts", "36 V")


@plants("colour-convention")
def green_and_yellow(on: Sheet) -> Iterator[Planted]:
    for _, out, _ in loads(on):
        span = on.value(out, "colour")
        if span is not None and out.colours == ("red",):
            yield planted(on.put((span, "green/yellow")), (out.id,))


@plants("colour-convention")
def black_on_the_positive(on: Sheet) -> Iterator[Planted]:
    for _, out, _ in loads(on):
        span = on.value(out, "colour")
        if span is not None and out.colours == ("red",):
            yield planted(on.put((span, "black")), (out.id,))


# sensing and control


def sense_leads(on: Sheet) -> Iterator[tuple[Conductor, Span]]:
    """Conductors on a sense terminal, with the words that name their other end."""
    for conductor in on.conductors():
        names = [on.job.terminals[t].name for t in (conductor.from_, conductor.to)]
        if names[0] == "sense" and conductor.to_span is not None and on.mine(conductor.to_span):
            yield conductor, conductor.to_span


@plants("unterminated-sense-lead")
def sense_lead_off(on: Sheet) -> Iterator[Planted]:
    for conductor, span in sense_leads(on):
        yield planted(on.put((span, "loose")), (conductor.id,))


@plants("unterminated-sense-lead")
def sense_lead_capped(on: Sheet) -> Iterator[Planted]:
    for conductor, span in sense_leads(on):
        yield planted(on.put((span, 'capped "for now"')), (conductor.id,))


@plants("misplaced-sense-lead")
def sense_lead_moved(on: Sheet) -> Iterator[Planted]:
    places = [f"{p.id}" for p in on.parts("busbar")] + [f"{p.id}.-" for p in on.parts("load")]
    places += [f"{p.id}.{sign}" for p in on.parts("battery") for sign in "+-"]
    for conductor, span in sense_leads(on):
        for place in places:
            if place != span.text:
                yield planted(on.put((span, place)), (conductor.id,), "unfused-positive")


@plants("missing-trigger")
def trigger_taken_away(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("charger"):
        for conductor, _ in on.ends(f"{part.id}.trigger"):
            yield planted(on.without(conductor.span), (part.id,))


@plants("unswitched-trigger")
def feed_always_live(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("feed"):
        span = on.value(part, "state")
        chargers = [p.id for p in on.parts("charger") if on.landing(f"{p.id}.trigger")]
        if span is not None and chargers:
            yield planted(on.put((span, "live")), chargers)


# charging

facts("profile-mismatch", "charger solar-controller mains-charger", "profile", "gel")
@plants("overcharge-current")
def battery_bears_less(on: Sheet) -> Iterator[Planted]:
    chargers = [p for p in on.parts("charger", "solar-controller", "mains-charger")]
    for part in on.parts("battery"):
        span = on.value(part, "max-charge")
        profile = {p.word("profile") for p in chargers}
        if span is not None and part.id in ("aux", "small") and part.word("chemistry") in profile:
            yield planted(on.put((span, "2 A")), (part.id,))


@plants("mixed-batteries")
def another_chemistry(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("battery"):
        span = on.value(part, "chemistry")
        if span is not None and {"one", "two"} <= set(on.job.parts):
            yield planted(on.put((span, "gel")), ("one", "two"))


@plants("cold-lithium-charge")
def left_in_the_frost(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("battery"):
        place = on.job.places.get(part.place or "")
        senses = any(p.has("sense") for p in on.parts("charger", "solar-controller"))
        charged = any(on.parts("solar-controller")) and part.id == "aux"
        if part.word("chemistry") == "lifepo4" and place is not None and charged and not senses:
            ambient = place.fact("ambient")
            if ambient is not None and ambient.values:
                yield planted(on.put((ambient.values[0].span, "-15..40 degC")), (part.id,))


# sun

facts("solar-overvoltage", "solar-controller charger", "solar-max", "20 V")
facts("solar-overcurrent", "solar-controller charger", "solar-max-current", "2 A")


@plants("regulated-solar-input")
def regulator_before_the_port(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("panel"):
        span = on.value(part, "rating")
        if span is not None:
            yield planted(on.put((span, f"{span.text}, regulated")), on.everything())


@plants("unfused-parallel-strings")
def string_fuse_left_out(on: Sheet) -> Iterator[Planted]:
    for panel in on.parts("panel"):
        for c in on.landing(f"{panel.id}.+"):
            fuse = contact_fuse(on, c)
            if fuse is not None and "SP1" in on.job.parts:
                yield planted(on.instead(fuse.span, f"splice {fuse.id}"), on.everything())


# connectors

@plants("connector-overcurrent")
def contact_too_small(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("connector", "isolator", "relay", "plug", "socket"):
        span = on.value(part, "rating")
        carried = max((on.carries(c.id) for t in part.terminals for c in on.landing(t)), default=0.0)
        if span is not None and carried > 1.0 and f"{part.id}.86" not in part.terminals:
            mated = next((m.split() for m in on.text.splitlines() if m.startswith("mate ") and part.id in m.split()), [])
            yield planted(on.put((span, f"{carried * 0.9:.2f} A, resistance 0.3 mohm")), (part.id, *mated))


facts("connector-voltage", "connector isolator switch relay", "volts", "10 V")


# operation and record


@plants("no-operating-point")
def battery_spent(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("inverter"):
        span = on.value(part, "rating")
        if span is not None:
            yield planted(on.put((span, "90000 W")), (part.id,))


@plants("no-operating-point")
def battery_tired(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("battery"):
        span = on.value(part, "resistance")
        if span is not None and part.id == "start" and "dcdc" in on.job.parts:
            yield planted(on.put((span, "500 mohm")), ("dcdc",))


@plants("laxer-own-figure")
def own_tail(on: Sheet) -> Iterator[Planted]:
    yield planted(on.text + '\nown-figures "House rules" { tail 0.5 m }\n', ("job", "tail", *(p.id for p in on.parts("battery"))))


@plants("live-end-at-stage")
def part_comes_last(on: Sheet) -> Iterator[Planted]:
    if on.job.stages:
        return
    for part, out, _ in loads(on):
        if not out.named:
            continue
        others = [p.id for p in on.job.parts.values() if p is not part and not p.block]
        leads = [c.id for c in on.job.conductors.values() if c.named]
        stages = f"\nstage 1, {' '.join([*others, *leads])}\nstage 2, {part.id}\n"
        yield planted(on.text + stages, (out.id,))
