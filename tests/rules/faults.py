"""For each rule, faults that can be planted in the text of a sound job, and whom the rule must then name.

A planter takes a `Sheet` (text, job, study of a sound netlist) and yields the job with one thing changed, for each
place where that can be done. Nothing is yielded where a job has no such place.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from wiregen.circuit import study
from wiregen.circuit.dead_ends import dead_ends
from wiregen.circuit.study import Study
from wiregen.circuit.unprotected import live_posts
from wiregen.findings import Span
from wiregen.language.tree import Measure
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
        if said and isinstance(item, Conductor) and self.line(said.span) != self.line(item.span):
            return None  # `wire red black` of a fuse block, which stands for all its ways
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

    def stands(self, span: Span) -> bool:
        """Whether the text still reads without a line: no `stack` or `stage` names what is on it."""
        return not read("job.wnet", text=self.without(span))[1]

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

    def ways(self, part: Part, terminal: str) -> bool:
        """Whether a terminal is joined inside its part to another on which something is: a common negative."""
        inside = {c.b if terminal == c.a else c.a for c in part.contacts if terminal in (c.a, c.b)}
        return any(self.landing(t) for t in inside)

    def indicators(self) -> frozenset[str]:
        """The indicator outputs of chargers: what hangs there is for rules of its own."""
        return frozenset(t.id for t in self.job.terminals.values() if t.name == "indicator")

    def before(self, block: str) -> float:
        """The rating of the fuse before a fuse block [A]."""
        feeds = {c.id for c in self.landing(f"{block}.in")}
        found = [f.number("rating") or 0.0 for f in self.parts("fuse") if feeds & self.behind(f"{f.id}.out")]
        return min(found, default=0.0)

    def mains(self) -> float:
        """The rating of the smallest main fuse, one of 30 A or more on a battery's post [A]."""
        posts = {c.id for p in self.parts("battery") for t in p.terminals for c in self.landing(t)}
        mains = [f for f in self.parts("fuse") if any(c.id in posts for t in f.terminals for c in self.landing(t))]
        return min((f.number("rating") or 0.0 for f in mains if (f.number("rating") or 0.0) >= 30), default=60.0)

    def volts(self, conductor: Conductor) -> float:
        """The highest voltage at its ends over all cases [V]."""
        ends = (conductor.from_, conductor.to)
        return max((abs(c.voltages.get(t) or 0.0) for c in self.study.cases for t in ends), default=0.0)

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
                yield planted(on.put((span, new)), (part.id, part.block or part.id), *also)

    change.__name__ = f"{fact}_{new}".replace(" ", "_")


def in_series(on: Sheet, panel: Part) -> bool:
    """Whether a panel's post leads to another panel."""
    ends = {end for t in panel.terminals for c in on.landing(t) for end in (c.from_, c.to)}
    return any((p := on.job.part_of(end)) is not None and p.kind == "panel" and p is not panel for end in ends)


def relayed(on: Sheet, part: Part) -> bool:
    """Whether a relay's contact is before a part."""
    ends = {end for c in on.landing(f"{part.id}.+") for end in (c.from_, c.to)}
    return any((p := on.job.part_of(end)) is not None and p.kind == "relay" for end in ends)


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
                yield planted(on.put((span, "0.3 m")), (c.id,))


@plants("unfused-positive")
def fuse_left_out(on: Sheet) -> Iterator[Planted]:
    for post in live_posts(on.job, on.study.network):
        for c in on.landing(post):
            far = on.job.part_of(c.to if c.from_ == post else c.from_)
            if far is not None and far.kind == "fuse" and on.mine(far.span) and not far.through:
                other = next(t for t in far.terminals if t not in (c.from_, c.to))
                yield planted(on.instead(far.span, f"splice {far.id}"), on.behind(other))


@plants("oversized-fuse")
def fuse_too_large(on: Sheet) -> Iterator[Planted]:
    for _, out, back in loads(on):
        fuse = contact_fuse(on, out)
        carries = on.study.ampacities.get(out.id)
        if fuse is None or carries is None:
            continue
        larger = next((r for r in (15, 20, 25, 30, 40, 50, 60) if r > carries * 1.02), None)
        room = min(on.before(fuse.block) if fuse.block else fuse.number("holder") or 0.0, on.mains())
        span = on.value(fuse, "rating")
        weaker = (on.study.ampacities.get(back.id) or carries) < carries  # the way back, where it is hotter
        if span is not None and larger is not None and larger <= room:
            also = ("undersized-return",) if weaker else ()
            yield planted(on.put((span, f"{larger} A")), on.behind(out.to) | on.behind(out.from_), *also)


@plants("undersized-fuse")
def fuse_too_small(on: Sheet) -> Iterator[Planted]:
    for _, out, _ in loads(on):
        fuse = contact_fuse(on, out)
        span = on.value(fuse, "rating") if fuse else None
        if fuse and span and on.carries(out.id) > 2.0:
            yield planted(on.put((span, "2 A")), (fuse.id,))


facts("fuse-voltage", "fuse", "volts", "10 V")


@plants("breaking-capacity")
def fuse_that_breaks_little(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("fuse"):
        span = on.value(part, "breaks")
        faults = [f.max_current_a or 0.0 for f in on.study.faults if f.terminal in part.terminals]
        if span is not None and max(faults, default=0.0) > 100:
            yield planted(on.put((span, "40 A")), (part.id, part.block or part.id))


facts("holder-rating", "fuse", "holder", "1 A")


@plants("slow-clearing")
def fuse_out_of_reach(on: Sheet) -> Iterator[Planted]:
    """A very long thin run to a very small load: its fuse opens too late, or never."""
    for part, out, back in loads(on):
        fuse = contact_fuse(on, out)
        size, other = on.value(out, "size"), on.value(back, "size")
        spans = [on.value(out, "length"), on.value(back, "length"), on.value(part, "draws")]
        rating = on.value(fuse, "rating") if fuse else None
        if rating and size and other and size != other and all(spans) and (part.kind == "load"):
            edits = [(size, "1.5 mm2"), (other, "1.5 mm2"), (rating, "15 A")]
            metres = f"{28 * on.volts(out) / 12:g} m"
            edits += [(spans[0], metres), (spans[1], metres), (spans[2], "0.05 A")]  # type: ignore[list-item]
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
        rating = (contact_fuse(on, out) or back).number("rating") or 0.0
        if span is None or span == on.value(out, "size") or rating < 10:
            continue
        for mm2 in ("0.22 mm2", "0.35 mm2", "0.5 mm2", "0.75 mm2", "1 mm2", "1.5 mm2"):
            text = on.put((span, mm2))
            bears = sheet(text).study.ampacities[back.id] or 0.0
            if 1.3 * on.carries(back.id) < bears < 0.9 * rating:
                yield planted(text, (back.id,), "undersized-conductor")
                break


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
            if {terminal, minus} & set(on.job.stacks) or (part.kind == "panel" and in_series(on, part)):
                continue  # panels in series: which lead of the string is the crossed one, nobody can say
            if len(plus) == len(back) == 1 and len(on.landing(terminal)) == len(on.landing(minus)) == 1:
                (one, first), (other, second) = plus[0], back[0]
                text = on.put((first, second.text), (second, first.text))
                yield planted(
                    text, (one.id, other.id, part.id), *(("unfused-positive",) if part.kind == "battery" else ())
                )


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
            yield planted(on.without(back.span), (part.id,), "loose-end")  # its bar may be left with nothing on it


@plants("missing-return")
def battery_negative_taken_away(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("battery"):
        leads = on.landing(f"{part.id}.-")
        if len(leads) == 1 and [c for c, _ in on.ends(f"{part.id}.-")] == leads and on.stands(leads[0].span):
            yield planted(on.without(leads[0].span), on.everything())


@plants("missing-return")
def charger_or_panel_negative_taken_away(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("charger", "solar-controller", "mains-charger", "panel"):
        for terminal in part.terminals:
            leads = on.landing(terminal)
            if terminal.endswith("-") and [c for c, _ in on.ends(terminal)] == leads:
                text = on.without(leads[0].span) if len(leads) == 1 and on.stands(leads[0].span) else on.text
                if text != on.text and not sheet(text).ways(part, terminal):
                    yield planted(text, on.everything())


@plants("missing-feed")
def positive_forgotten(on: Sheet) -> Iterator[Planted]:
    for part, out, _ in loads(on):
        if [c for c, _ in on.ends(f"{part.id}.+")] == [out] and not relayed(on, part) and on.stands(out.span):
            text = on.without(out.span)
            after = sheet(text)
            if not dead_ends(after.job, after.study.network):  # else its bar is left with nothing on it: loose-end
                yield planted(text, (part.id,))


@plants("charger-without-battery")
def output_forgotten(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("charger", "solar-controller"):
        leads = on.landing(f"{part.id}.out.+")
        if [c for c, _ in on.ends(f"{part.id}.out.+")] == leads and len(leads) == 1 and on.stands(leads[0].span):
            yield planted(on.without(leads[0].span), (part.id,))


@plants("isolated-body-return")
def body_isolated(on: Sheet) -> Iterator[Planted]:
    for body in on.job.bodies.values():
        state = body.fact("state")
        if state is None or not on.mine(state.values[0].span) or not body.earths:
            continue
        for part, _, back in loads(on):
            far = [span for end in {back.from_, back.to} - {f"{part.id}.-"} for c, span in on.ends(end) if c is back]
            if len(far) == 1 and not on.text[on.line(back.span)[0] :].lstrip()[0].isdigit():  # no way row
                text = on.put((state.values[0].span, "isolated"), (far[0], "EX"))
                yield planted(f"{text}earth EX on {body.id}, at cabin\n", (body.id,), "loose-end")


@plants("mixed-voltage")
def lamp_for_another_system(on: Sheet) -> Iterator[Planted]:
    for part, _, _ in loads(on):
        span = on.value(part, "volts")
        if span is not None:
            yield planted(on.put((span, f"{(part.number('volts') or 0) / 2:g} V")), (part.id,))


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
                yield planted(on.put((span, place)), (conductor.id,), "unfused-positive", "oversized-fuse")


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
    chargers = list(on.parts("charger", "solar-controller", "mains-charger"))
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
            other = {"agm": "flooded", "flooded": "agm", "lifepo4": "agm"}[part.word("chemistry")]
            yield planted(on.put((span, other)), ("one", "two"), "unvented-battery")


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


@plants("unregulated-panel")
def panel_straight_on_the_bars(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("solar-controller"):
        ends = on.ends(f"{part.id}.solar.+"), on.ends(f"{part.id}.solar.-")
        bars = [next((p.id for p in on.parts("busbar") if p.id.startswith(sign)), "") for sign in ("BP", "BN")]
        if len(ends[0]) == len(ends[1]) == 1 and all(bars):
            text = on.put((ends[0][0][1], bars[0]), (ends[1][0][1], bars[1]))
            panels = [p.id for p in on.parts("panel")]
            yield planted(text, panels, "oversized-fuse", "slow-clearing", "undersized-return", "exposed-live-pin")


@plants("centre-tap")
def radio_on_the_lower_half(on: Sheet) -> Iterator[Planted]:
    """A battery of the system's voltage becomes two of half of it, and something is fed from the lower one."""
    for part in on.parts("battery"):
        volts, start = on.value(part, "volts"), on.line(part.span)[0]
        if volts is None or part.number("volts") != 24 or part.id != "start":
            continue
        words = on.text[start : on.line(part.span)[1]].rstrip("\n").replace("24 V", "12 V", 1)
        more = (
            f"{words.replace('battery start', 'battery lower', 1)}\n"
            "lower.+ --[XL red 50 mm2 0.2 m]-- start.-\n"
            "fuse FX 10 A cartridge, at bay, volts 58 V, breaks 5 kA\nload radio 3 A, at bay\n"
            "lower.+ -- FX --[XR red 4 mm2 1 m]-- radio --[XB black 4 mm2 1 m]-- lower.-\n"
        )
        leads = [span for _, span in on.ends("start.-")]
        if leads:
            text = on.put(*((span, "lower.-") for span in leads)).replace(
                on.text[start : on.line(part.span)[1]], words + "\n"
            )
            yield planted(text + more, ("radio",), "breaking-capacity")


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
            mated = next(
                (m.split() for m in on.text.splitlines() if m.startswith("mate ") and part.id in m.split()), []
            )
            keeps = "" if part.has("resistance") else ", resistance 0.3 mohm"
            yield planted(on.put((span, f"{carried * 0.9:.2f} A{keeps}")), (part.id, *mated))


facts("connector-voltage", "connector isolator switch relay", "volts", "10 V")


# operation and record


@plants("no-operating-point")
def charger_that_hunts(on: Sheet) -> Iterator[Planted]:
    """It stops just below the voltage that it has while it charges, and starts just above."""
    for part in on.parts("charger"):
        stops, starts = on.value(part, "stops-below"), on.value(part, "starts-above")
        driving = next((c for c in on.study.cases if c.name == "driving" and c.solved), None)
        if stops and starts and driving and "dcdc" in on.job.parts:
            volts = driving.voltages["dcdc.in.+"] or 0.0
            yield planted(on.put((stops, f"{volts + 0.01:.3f} V"), (starts, f"{volts + 0.02:.3f} V")), (part.id,))


@plants("laxer-own-figure")
def own_tail(on: Sheet) -> Iterator[Planted]:
    yield planted(
        on.text + '\nown-figures "House rules" { tail 0.5 m }\n', ("job", "tail", *(p.id for p in on.parts("battery")))
    )


@plants("live-end-at-stage")
def part_comes_last(on: Sheet) -> Iterator[Planted]:
    if on.job.stages:
        return
    for part, out, _ in loads(on):
        if not out.named or relayed(on, part):
            continue
        others = [p.id for p in on.job.parts.values() if p is not part and not p.block]
        leads = [c.id for c in on.job.conductors.values() if c.named]
        stages = f"\nstage 1, {' '.join([*others, *leads])}\nstage 2, {part.id}\n"
        yield planted(on.text + stages, (out.id,))


# rules on what lies around: drops, sizes, places, order


@plants("voltage-drop")
def corroded_pins(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("connector"):
        span = on.value(part, "resistance")
        carried = max((on.carries(c.id) for t in part.terminals for c in on.landing(t)), default=0.0)
        if span is not None and carried > 5 and "dcdc" in on.job.parts:
            ohm = 0.04 * (on.job.facts["system"].measure or _none()).value / carried  # both poles: 8 %
            yield planted(on.put((span, f"{ohm * 1000:.1f} mohm")), (part.id,), "slow-clearing")


@plants("ambiguous-size")
def auto_cable(on: Sheet) -> Iterator[Planted]:
    for part, out, back in loads(on):
        one, other = on.value(out, "size"), on.value(back, "size")
        rating = (contact_fuse(on, out) or out).number("rating") or 0.0
        if not one or not other or one == other or rating > 10:
            continue
        text = on.put((one, "5 auto-mm"), (other, "5 auto-mm"))
        drops = [s for s in sheet(text).study.supplies if s.to.startswith(part.id) and s.drop_ratio is not None]
        worst = max(drops, key=lambda s: s.drop_ratio or 0.0, default=None)
        if worst is not None and worst.drop_ratio and worst.drop_ratio > 0.004:
            limit = f"limit {worst.drop_ratio * 102:.4f} % {worst.from_.partition('.')[0]} to {part.id}\n"
            yield planted(text + limit, (out.id, back.id))


@plants("minimum-size")
def thinner_than_allowed(on: Sheet) -> Iterator[Planted]:
    for _, out, back in loads(on):
        span = on.value(out, "size")
        rating = (contact_fuse(on, out) or out).number("rating") or 0.0
        if span is not None and span != on.value(back, "size") and rating <= 5:
            yield planted(on.put((span, "0.75 mm2")), (out.id,))


@plants("terminal-fit")
def terminals_too_small(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("connector", "isolator"):
        span = on.value(part, "rating")
        landing = [c.id for t in part.terminals for c in on.landing(t)]
        if span is not None and landing:
            yield planted(on.put((span, f"{span.text}, fits 0.5..1 mm2")), (part.id, *landing))


@plants("unequal-parallel-conductors")
def one_of_two_thinned(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("inverter"):
        side_by_side = on.landing(f"{part.id}.+")
        for c in side_by_side:
            span = on.value(c, "size")
            if span is not None and len(side_by_side) == 2:
                ids = [c.id for c in side_by_side]
                yield planted(on.put((span, "2.5 mm2")), ids, "oversized-fuse", "undersized-conductor")


@plants("wet-place")
def enclosure_too_open(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("connector", "plug", "socket", "load", "panel"):
        span = on.value(part, "ingress")
        if span is not None and (place := on.job.places.get(part.place or "")) is not None and place.has("wet"):
            yield planted(on.put((span, "IP20")), (part.id,))


@plants("exposed-live-pin")
def wrong_half_shrouded(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("connector"):
        span = on.value(part, "shrouded")
        if span is not None and span.text == "both":
            yield planted(on.put((span, "b")), (part.id,))


@plants("exposed-live-pin")
def shroud_on_the_dead_half(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("socket"):
        mate = next((m.split()[2] for m in on.text.splitlines() if m.startswith(f"mate {part.id} ")), "")
        if mate in on.job.parts and part.has("shrouded"):
            plug = on.job.parts[mate]
            said, bare = part.fact("shrouded"), on.value(plug, "rating")
            if said is not None and bare is not None:
                text = on.put((said.span, "volts 80 V"), (bare, f"{bare.text}, shrouded"))
                yield planted(text.replace(", volts 80 V, volts 80 V", ", volts 80 V"), (part.id, mate))


@plants("missing-main-isolation")
def isolator_left_out(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("isolator"):
        if "inv" in on.job.parts:
            batteries = [b.id for b in on.parts("battery")]
            yield planted(on.instead(part.span, f"splice {part.id}"), (part.id, *batteries))


@plants("switched-always-live")
def alarm_behind_the_isolator(on: Sheet) -> Iterator[Planted]:
    if not any(on.parts("isolator")):
        return
    for part, _, _ in loads(on):
        span = on.value(part, "draws")
        if part.kind == "load" and span is not None and not part.has("always-live") and not relayed(on, part):
            yield planted(on.put((span, f"{span.text}, always-live")), (part.id,))


# rules on chargers and their leads


@plants("unfused-trigger")
def trigger_from_the_post(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("charger"):
        for conductor, _ in on.ends(f"{part.id}.trigger"):
            lead = f"start.+ --[{conductor.id} blue 1 mm2 1.5 m]-- ST --[WT blue 1 mm2 1 m]-- {part.id}.trigger"
            yield planted(on.instead(conductor.span, f"switch ST 5 A, volts 80 V\n{lead}"), (conductor.id,))


@plants("start-battery-drain")
def radio_on_the_start_battery(on: Sheet) -> Iterator[Planted]:
    if {"start", "aux", "ign"} <= set(on.job.parts) and "cabin" in on.job.places:
        more = (
            "fuse FR 10 A cartridge, volts 58 V, breaks 5 kA\nload radio 3 A, at cabin\n"
            "start.+ -- FR --[WR1 red 4 mm2 2 m]-- radio.+\nradio.- --[WR2 black 4 mm2 2 m]-- start.-\n"
            "case camp, alt off, ign off, on radio\n"
        )
        yield planted(on.text + more, ("radio", "start"))


@plants("wrong-sensing-side")
def disconnect_turned_round(on: Sheet) -> Iterator[Planted]:
    """A disconnect before a load, its input at the load."""
    for part, out, _ in loads(on):
        ends, minus = on.ends(f"{part.id}.+"), on.landing(f"{part.id}.-")
        size = out.fact("size")
        if (
            len(ends) == 1
            and minus
            and size is not None
            and (part.number("draws") or 0) < 100
            and not relayed(on, part)
        ):
            more = (
                f"low-voltage-disconnect XD 30 A, opens-below 9 V, closes-above 10 V, volts 80 V\n"
                f"XD.in --[XL red {size.word} 0.1 m]-- {part.id}.+\nXD.- --[XB black {size.word} 0.1 m]-- {part.id}.-\n"
            )
            yield planted(on.put((ends[0][1], "XD.out")) + more, ("XD",), "no-operating-point")


@plants("alternator-overload")
def alternator_too_small(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("alternator"):
        rating, idle = on.value(part, "rating"), on.value(part, "idle")
        if rating and idle and "dcdc" in on.job.parts:
            yield planted(on.put((rating, "8 A"), (idle, "7 A")), (part.id,))


@plants("charger-behind-load")
def load_on_the_chargers_fuse(on: Sheet) -> Iterator[Planted]:
    for lead in on.landing("dcdc.in.+") if {"start", "dcdc", "ign"} <= set(on.job.parts) else ():
        for part in on.parts("fuse"):
            feed = on.landing(f"{part.id}.out")
            if lead.id in on.behind(f"{part.id}.out") and feed and (size := feed[0].fact("size")):
                more = (
                    f"load extra 3.5 A, at cabin\n{part.id}.out --[WE1 red {size.word} 1 m]-- extra.+\n"
                    f"extra.- --[WE2 black {size.word} 1 m]-- start.-\n"
                )
                yield planted(on.text + more, ("dcdc",))


@plants("charger-far-from-battery")
def charger_beside_the_wrong_battery(on: Sheet) -> Iterator[Planted]:
    for c in on.landing("dcdc.out.+") if "dcdc" in on.job.parts else ():
        size, length = on.value(c, "size"), on.value(c, "length")
        if size and length:
            yield planted(on.put((size, "95 mm2"), (length, "7 m")), ("dcdc",))


@plants("unvented-battery")
def vent_forgotten(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("battery"):
        place = on.job.places.get(part.place or "")
        start, end = on.line(part.span)
        if part.word("chemistry") == "flooded" and place is not None and place.has("space"):
            line = on.text[start:end].rstrip("\n")
            yield planted(on.instead(part.span, line.replace(", vented", "")), (part.id,))


facts("indicator-overload", "charger", "indicator-max", "0.01 A")


@plants("indicator-without-return")
def lamp_without_return(on: Sheet) -> Iterator[Planted]:
    for c in on.landing("tell.-") if "tell" in on.job.parts else ():
        yield planted(on.without(c.span), ("tell", "dcdc"))


@plants("missing-indicator")
def lamp_off(on: Sheet) -> Iterator[Planted]:
    for c in on.landing("tell.+") if "tell" in on.job.parts else ():
        yield planted(on.without(c.span), ("dcdc",))


# rules on the negative side


@plants("body-not-bonded")
def bond_taken_off(on: Sheet) -> Iterator[Planted]:
    for c in on.landing("E1") if "E2" in on.job.parts else ():
        yield planted(on.without(c.span), (*on.job.bodies, "E1", "E2"))


@plants("shunt-bypass")
def return_to_the_post(on: Sheet) -> Iterator[Planted]:
    for shunt in on.parts("shunt"):
        post = next((t for t in on.study.network.at if t.endswith(".-") and _side(on, shunt, t)), "")
        bar = next((t for c in on.landing(f"{shunt.id}.out") for t in _bars(on, c)), "")
        for part, _, back in loads(on):
            far = [span for end in {back.from_, back.to} - {f"{part.id}.-"} for c, span in on.ends(end) if c is back]
            if post and len(far) == 1 and far[0].text == bar and _bars_load(on, bar) > 1:
                yield planted(on.put((far[0], post)), (shunt.id,))


def _bars(on: Sheet, conductor: Conductor) -> list[str]:
    """The busbars on which a conductor lands."""
    landed = [on.job.part_of(end) for end in (conductor.from_, conductor.to)]
    return [part.id for part in landed if part is not None and part.kind == "busbar"]


def _bars_load(on: Sheet, bar: str) -> int:
    """How many loads return to a busbar. A shunt that has only chargers beyond it measures those, by the rule."""
    return sum(bar in _bars(on, back) for _, _, back in loads(on))


def _side(on: Sheet, shunt: Part, post: str) -> bool:
    """Whether a terminal is the post of a battery on the shunt's own lead."""
    part = on.job.part_of(post)
    leads = {c.id for c in on.landing(post)}
    return part is not None and part.kind == "battery" and any(c.id in leads for c in on.landing(f"{shunt.id}.in"))


@plants("double-bond")
def second_bond(on: Sheet) -> Iterator[Planted]:
    for body in on.job.bodies.values():
        if body.word("state") == "isolated" and "BN1" in on.job.parts:
            more = f"earth EX on {body.id}, at cabin\nBN1 --[XX black 35 mm2 0.4 m]-- EX\n"
            yield planted(on.text + more, (body.id,))


@plants("bypassed-switch")
def lead_around_the_isolator(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("isolator"):
        leads = [c for t in part.terminals for c in on.landing(t)]
        if len(leads) == 2 and all(c.has("size") for c in leads):
            yield planted(
                f"{on.text}\n{part.id}.in --[XX red {leads[0].word('size')} 0.3 m]-- {part.id}.out\n",
                (part.id,),
                "missing-main-isolation",
                "switched-always-live",
            )


@plants("switch-rating")
def switch_that_breaks_little(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("isolator", "switch"):
        span = on.value(part, "rating")
        carried = max((on.carries(c.id) for t in part.terminals for c in on.landing(t)), default=0.0)
        if span is not None and carried > 1:
            yield planted(on.put((span, f"{span.text}, breaks {carried * 0.8:.2f} A")), (part.id,))


@plants("missing-pre-charge")
def inverter_straight_behind_the_isolator(on: Sheet) -> Iterator[Planted]:
    if on.job.facts["system"].word == "48 V" and {"BP1", "BN1"} <= set(on.job.parts):
        more = (
            "fuse FI 30 A strip, at cabin, volts 125 V, breaks 5 kA, holder 60 A\n"
            "inverter big 800 W, at cabin, efficiency 90 %\n"
            "BP1 -- FI --[WI1 red 10 mm2 1 m]-- big.+\nbig.- --[WI2 black 10 mm2 1 m]-- BN1\n"
        )
        yield planted(on.text + more, ("big", *(p.id for p in on.parts("isolator"))))


@plants("load-dump")
def alternator_on_lithium_alone(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("battery"):
        chemistry, most = on.value(part, "chemistry"), on.value(part, "max-charge")
        if part.id == "start" and chemistry and most:
            yield planted(on.put((chemistry, "lifepo4"), (most, "120 A")), ("alt", "start"))


@plants("battery-overcurrent")
def battery_may_give_less(on: Sheet) -> Iterator[Planted]:
    for part in on.parts("battery"):
        span = on.value(part, "max-discharge")
        gives = max((-(c.parts[part.id].get("current_a") or 0.0) for c in on.study.cases if c.solved), default=0.0)
        if span is not None and gives > 1:
            yield planted(on.put((span, f"{gives * 0.9:.2f} A")), (part.id,))


@plants("unnamed-conductor")
def name_left_out(on: Sheet) -> Iterator[Planted]:
    for _, out, _ in loads(on):
        if out.named and on.text[out.span.start - 1] == "[":
            text = on.put((out.span, ""))
            unnamed = [c.id for c in sheet(text).job.conductors.values() if not c.named]
            yield planted(text, unnamed)


def _none() -> Measure:
    raise AssertionError("a sound job says its system voltage")
