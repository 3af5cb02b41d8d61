"""What can be worked out of a case, as a class does it: a sum for each quantity of the study that has one answer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from wiregen.catalogue import catalogue
from wiregen.circuit.fault_study import Net
from wiregen.circuit.figures import Figures
from wiregen.circuit.protection import OPEN, guards
from wiregen.circuit.resistance import TEMPERATURE_COEFFICIENT
from wiregen.circuit.study import CaseResult, Study, Supply
from wiregen.circuit.unprotected import live_posts
from wiregen.circuit.wires import Wire
from wiregen.layout.words import colour_letters, quantity
from wiregen.model.job import Conductor, Part
from wiregen.teaching.sum import GIVEN, Given, Sum, made, shown

MOST_TERMS = 8  # resistances on the way of a short
LEAST_DROP = 0.02  # V: less is not worth being taken off a voltage
NOTHING = 0.005  # A: less is not worth a sum
APART = 1.15  # a size is told by its resistance where the next ones are so far from it


def sums(study: Study, case: CaseResult) -> tuple[Sum, ...]:
    """Everything that can be asked of a case, in the order of the file; of one quantity there may be several sums."""
    return tuple(found for found in _all(study, case) if found is not None) if case.solved else ()


def _all(study: Study, case: CaseResult) -> Iterator[Sum | None]:
    figures, guards_of = Figures(study.job), _guards(study)
    for conductor in study.job.conductors.values():
        yield from _conductor(figures, case, conductor)
    yield from _faults(study, figures)
    for part in study.job.parts.values():
        yield from _part(study, figures, case, part, guards_of)
    for circuit in study.job.circuits.values():
        for supply in study.supplies:
            if supply.case == case.name and _runs(circuit.from_, circuit.to, supply):
                yield from _supply(case, circuit.id, supply)
                break


# ---------------------------------------------------------------- conductors


def _conductor(figures: Figures, case: CaseResult, c: Conductor) -> Iterator[Sum | None]:
    if not c.named:
        return
    flow, wire = case.flows.get(c.id), figures.wire(c)
    if c.colours and (letters := colour_letters(c.colours)) != " ".join(c.colours):
        insulation = " and ".join(c.colours)
        yield Sum(
            c.id, "colour", c.id, f"colour of {c.id}", f"its insulation is {insulation}; write its letters (IEC 60757)",
            "", insulation, (), lambda: 0.0, 0.0, letters, letters, "", "", 0,
        )  # fmt: skip
    if wire.ampacity and wire.table_a and not wire.own:
        yield from _ampacity(figures, c, wire)
    if flow is None or flow.current_a is None or flow.drop_v is None or flow.resistance_ohm is None:
        return
    if flow.temperature_c is None or abs(flow.current_a) < NOTHING:
        return
    length, size = c.number("length"), quantity(c.fact("size"))
    amps = Given(abs(flow.current_a), "A", (c.id, "current"))
    volts = Given(abs(flow.drop_v), "V", (c.id, "drop"))
    ohm = Given(flow.resistance_ohm, "Ω", (c.id, "resistance"))
    warm = Given(flow.temperature_c, "°C", (c.id, "temperature"), 3)
    yield made(
        c.id, "current", f"current in {c.id}", "{} are lost along its {}", "I = U / R", "{} / {}", (volts, ohm),
        lambda u, r: u / r, amps.value, "A",
    )  # fmt: skip
    yield made(
        c.id, "power", f"power lost in {c.id}", "{} flow through {}", "P = I² × R", "({})² × {}", (amps, ohm),
        lambda i, r: i * i * r, amps.value * volts.value, "W",
    )  # fmt: skip
    if length and size and wire.area and not wire.joints:
        metre = Given(wire.ohm_20 / length, "Ω/m")
        long = Given(length, "m", (c.id, "length"))
        yield from _by_length(c, size, metre, long, warm, amps, volts, ohm)
    if len(wire.stretches) == 1 and wire.table_a and wire.fixed is None:
        air = Given(wire.stretches[0].ambient, "°C", None, 3)
        yield made(
            c.id, "temperature", f"temperature of {c.id}",
            "the air has {}; {} flow, and {} would warm it by {}", "T = Ta + ΔT × (I / Iz)²",
            "{0} + {3} × ({1} / {2})²", (air, amps, Given(wire.table_a, "A"), Given(wire.rise, "K", None, 3)),
            lambda t, i, iz, rise: t + rise * (i / iz) ** 2, flow.temperature_c, "°C",
        )  # fmt: skip


def _by_length(
    c: Conductor, size: str, metre: Given, long: Given, warm: Given, amps: Given, volts: Given, ohm: Given
) -> Iterator[Sum | None]:
    """Resistance at its temperature, the drop by it, and back to the length and the size."""

    def warmer(t: float) -> float:
        return 1.0 + TEMPERATURE_COEFFICIENT * (t - 20.0)

    a = f"{TEMPERATURE_COEFFICIENT:g}"
    hot = f"(1 + {a} × ({{:n}} − 20))"
    found = made(
        c.id, "resistance", f"resistance of {c.id}", f"{{1}} of {size}, {{0}} at 20 °C; it has {{2}}",
        "R = r × L × (1 + α × (T − 20))", f"{{}} × {{}} × {hot}", (metre, long, warm),
        lambda r, m, t: r * m * warmer(t), ohm.value, "Ω",
    )  # fmt: skip
    yield found and found._replace(size=True)
    found = made(
        c.id, "drop", f"drop along {c.id}", f"{{0}} through {{2}} of {size}, {{1}} at 20 °C; it has {{3}}",
        "U = I × r × L × (1 + α × (T − 20))", f"{{}} × {{}} × {{}} × {hot}", (amps, metre, long, warm),
        lambda i, r, m, t: i * r * m * warmer(t), volts.value, "V",
    )  # fmt: skip
    yield found and found._replace(size=True)
    found = made(
        c.id, "length", f"length of {c.id}", f"{{0}} are lost at {{1}} in {size}, {{2}} at 20 °C; it has {{3}}",
        "L = U / (I × r × (1 + α × (T − 20)))", f"{{}} / ({{}} × {{}} × {hot})", (volts, amps, metre, warm),
        lambda u, i, r, t: u / (i * r * warmer(t)), long.value, "m",
    )  # fmt: skip
    yield found and found._replace(size=True)
    family = {"mm²": "mm2"}.get(size.rpartition(" ")[2])
    rows = [row for row in catalogue().rows("conductor") if row["family"] == family]
    at = next((k for k, row in enumerate(rows) if abs(row["ohm_per_km"] * 1e-3 - metre.value) < 1e-7), None)
    near = rows[max(0, at - 1) : at + 2] if at is not None else []
    others = [row["ohm_per_km"] * 1e-3 / metre.value for row in near if row is not rows[at or 0]]
    if at is None or not others or any(1 / APART < ratio < APART for ratio in others):
        return
    table = ", ".join(
        f"{shown(row['ohm_per_km'] * 1e-3, 'Ω/m', GIVEN, whole=False)} is {row['size']} mm²" for row in near
    )
    found = made(
        c.id, "size", f"size of {c.id}", f"{{0}} are lost along {{2}} at {{1}}, {{3}}; at 20 °C {table}",
        "r = U / (I × L × (1 + α × (T − 20)))", f"{{}} / ({{}} × {{}} × {hot})", (volts, amps, long, warm),
        lambda u, i, m, t: u / (i * m * warmer(t)), metre.value, "Ω/m",
    )  # fmt: skip
    if found:
        yield found._replace(answer=size, unit="mm²", figures=0, then=f": {size}")


def _ampacity(figures: Figures, c: Conductor, wire: Wire) -> Iterator[Sum | None]:
    """What the table allows, less what the hottest place takes off."""
    assert wire.table_a and wire.ampacity
    hottest = max(stretch.ambient for stretch in wire.stretches)
    reference = wire.insulation - wire.rise
    if hottest <= reference:
        return
    table = Given(wire.table_a, "A")
    most, air = Given(wire.insulation, "°C", None, 3), Given(hottest, "°C", None, 3)
    yield made(
        c.id, "ampacity", f"ampacity of {c.id}",
        f"{{0}} in air of {reference:g} °C; it lies in {{2}}, its insulation bears {{1}}",
        "Iz = It × √((Tmax − Ta) / (Tmax − Tt))", f"{{0}} × √(({{1:n}} − {{2:n}}) / ({{1:n}} − {reference:g}))",
        (table, most, air), lambda i, t, ta: i * ((t - ta) / (t - reference)) ** 0.5, wire.ampacity, "A",
    )  # fmt: skip


def _faults(study: Study, figures: Figures) -> Iterator[Sum | None]:
    """The lowest short-circuit current at the far end of each conductor that one battery feeds along one way."""
    net = Net(study.job, figures, weak=True)
    for fault in study.faults:
        c = study.job.conductors[fault.conductor]
        if not c.named or fault.terminal != c.to or not fault.min_current_a or fault.cleared_by is None:
            continue
        bolted = net.fault(fault.terminal)
        if bolted is None or bolted.amps is None or net.solution is None:
            continue
        high, low = (net.solution.voltages.get(t) or 0.0 for t in (fault.terminal, bolted.minus))
        way = [b for b in net.branches.values() if abs(net.flow(bolted, b.key) or 0.0) > 0.999 * bolted.amps]
        source = [b.key[1] for b in way if b.key[0] == "part" and b.volts]
        total = (high - low) / bolted.amps
        if len(source) != 1 or abs(sum(b.ohm for b in way) - total) > 1e-3 * total or len(way) > MOST_TERMS:
            continue
        ohms = [(b.key[1], b.ohm) for b in way if b.key[1] != source[0] and b.ohm > 1e-3 * total]
        inside = next(b.ohm for b in way if b.key[1] == source[0])
        givens = (Given(high - low, "V"), Given(inside, "Ω"), *(Given(ohm, "Ω") for _, ohm in ohms))
        named = ", ".join(f"{id} {{}}" for id, _ in ohms)
        yield made(
            c.id, "fault", f"lowest short-circuit current at {fault.terminal}",
            f"the battery {source[0]} has {{}} behind {{}}, weak; cables are hot: {named}",
            "I = U / (Ri + R1 + R2 + ...)", f"{{}} / ({' + '.join(['{}'] * (len(ohms) + 1))})", givens,
            lambda u, *all_: u / sum(all_), fault.min_current_a, "A",
        )  # fmt: skip


# ---------------------------------------------------------------- parts


def _part(
    study: Study, figures: Figures, case: CaseResult, part: Part, guards_of: Mapping[str, str]
) -> Iterator[Sum | None]:
    said = case.parts.get(part.id, {})
    amps, drop = said.get("current_a"), said.get("drop_v")
    if amps is not None and abs(amps) >= NOTHING and drop and part.contacts:
        current = Given(abs(amps), "A", (part.id, "current"))
        yield made(
            part.id, "power", f"power lost in {part.id}", "{} flow, {} are lost across it", "P = U × I", "{1} × {0}",
            (current, Given(abs(drop), "V", (part.id, "drop"))), lambda i, u: i * u, abs(amps * drop), "W",
        )  # fmt: skip
        ohm = Given(figures.contact_ohm(part, part.contacts[0]), "Ω")
        yield made(
            part.id, "drop", f"drop across {part.id}", "{} flow through {}", "U = I × R", "{} × {}", (current, ohm),
            lambda i, r: i * r, abs(drop), "V",
        )  # fmt: skip
    if part.kind in ("fuse", "breaker"):
        yield from _fuse(study, figures, case, part, guards_of)
    volts, watts = said.get("voltage_v"), said.get("power_w")
    if part.kind in ("load", "lamp", "inverter", "starter") and amps and volts and watts and abs(amps) >= NOTHING:
        u, i = Given(abs(volts), "V", (part.id, "voltage")), Given(abs(amps), "A", (part.id, "current"))
        p = Given(abs(watts), "W", (part.id, "power"))
        yield made(
            part.id, "power", f"power of {part.id}", "it takes {1} at {0}", "P = U × I", "{} × {}", (u, i),
            lambda u, i: u * i, abs(watts), "W",
        )  # fmt: skip
        yield made(
            part.id, "current", f"current of {part.id}", "it takes {0} at {1}", "I = P / U", "{} / {}",
            (p, u), lambda p, u: p / u, abs(amps), "A",
        )  # fmt: skip
        supply = next((s for s in study.supplies if s.case == case.name and s.to == part.id), None)
        if supply and supply.drop_v is not None:
            yield _arriving(study, case, part, supply, abs(volts))
    if part.kind == "charger":
        yield _charger(case, part)
    if part.kind == "battery" and amps and volts and amps <= -NOTHING and volts > 0:
        yield _sagging(figures, part, -amps, volts)


def _sagging(figures: Figures, part: Part, amps: float, volts: float) -> Sum | None:
    """What a battery loses in itself while it gives a current."""
    cell = figures.battery(part)
    return made(
        part.id, "voltage", f"voltage at {part.id}", "{0} open, {2} inside; it gives {1}", "U = U0 − I × Ri",
        "{0} − {1} × {2}", (Given(cell.volts, "V"), Given(amps, "A", (part.id, "current")), Given(cell.ohm, "Ω")),
        lambda u, i, r: u - i * r, volts, "V",
    )  # fmt: skip


def _arriving(study: Study, case: CaseResult, part: Part, supply: Supply, volts: float) -> Sum | None:
    """What is left at a load of its source's voltage."""
    source = study.job.parts.get(supply.from_)
    high = case.parts.get(supply.from_, {}).get("voltage_v") if source else None
    drop = supply.nominal_drop_v if supply.nominal_drop_v is not None else supply.drop_v
    if not high or drop is None or drop < LEAST_DROP:
        return None
    return made(
        part.id, "voltage", f"voltage at {part.id}", f"of {{}} at {supply.from_}, {{}} are lost there and back",
        "U = Us − Ud", "{} − {}", (Given(high, "V", (supply.from_, "voltage")), Given(drop, "V", (supply.to, "drop"))),
        lambda a, b: a - b, volts, "V",
    )  # fmt: skip


def _charger(case: CaseResult, part: Part) -> Sum | None:
    """What a charger takes in for what it gives out."""
    said = case.parts.get(part.id, {})
    out_a, out_w, in_w = (said.get(key) for key in ("output_current_a", "output_power_w", "input_power_w"))
    in_v, in_a, out_v = (said.get(key) for key in ("input_voltage_v", "input_current_a", "output_voltage_v"))
    if not (out_a and out_w and in_w and in_v and in_a and out_v):
        return None
    return made(
        part.id, "current", f"input current of {part.id}",
        "it gives {0} at {1} from {3}, and {2} of what goes in comes out", "I = Uo × Io / (η × Ui)",
        "{1} × {0} / ({2} × {3})",
        (Given(out_a, "A"), Given(out_v, "V"), Given(out_w / in_w * 100, "%"), Given(in_v, "V")),
        lambda i, u, share, v: u * i / (share / 100 * v), in_a, "A",
    )  # fmt: skip


def _fuse(
    study: Study, figures: Figures, case: CaseResult, part: Part, guards_of: Mapping[str, str]
) -> Iterator[Sum | None]:
    rating, amps = part.number("rating"), case.parts.get(part.id, {}).get("current_a")
    ratings = [float(each) for each in figures.family(part)["ratings"]]
    if not rating:
        return
    guarded = [
        (wire.ampacity, c.id)
        for c in study.job.conductors.values()
        if guards_of.get(c.id) == part.id and (wire := figures.wire(c)).ampacity
    ]
    if guarded:
        bears, weakest = min(guarded)
        least = abs(amps or 0.0) / figures.fuse_factor(part)
        fitting = [each for each in ratings if least <= each <= bears]
        if fitting and min(abs(bears - max(fitting)), *(abs(bears - each) for each in ratings)) > 0.01 * bears:
            best = max(fitting)
            listed = " ".join(f"{each:g}" for each in ratings if best / 2 <= each <= best * 2)
            carries, iz = Given(amps or 0.0, "A", (part.id, "current"), 3), Given(bears, "A", (weakest, "ampacity"), 3)
            told = f"it carries {{}} and guards {weakest}, which bears {{}}; the largest that suits of {listed} A"
            for name, where in (("choice", ""), *((("rating", part.id),) if best == rating else ())):
                asked = f"fuse at {part.id}" if name == "choice" else f"rating of {part.id}"
                yield Sum(
                    part.id, name, where, asked, told, "In ≤ Iz", "{1}", (carries, iz),
                    lambda i, z: max(each for each in ratings if i <= each <= z), best, "", f"{best:g} A", "A", "A", 0,
                    f": {best:g} A",
                )  # fmt: skip
    if amps and abs(amps) >= NOTHING:
        share = Given(abs(amps) / rating * 100, "%")
        found = made(
            part.id, "rating", f"rating of {part.id}", "it carries {0}, {1} of its rating", "In = I / share",
            "{} / {}", (Given(abs(amps), "A", (part.id, "current")), share), lambda i, s: i / (s / 100), rating, "A",
        )  # fmt: skip
        if found:
            answer = f"{rating:g} A"
            yield found._replace(result=answer, answer=answer, figures=0)


def _guards(study: Study) -> dict[str, str]:
    """Conductor -> the fuse that stands guard over it."""
    found = guards(study.job, study.network, live_posts(study.job, study.network))
    return {id: guard.device for id, guard in found.items() if guard.device and guard.rating < OPEN}


# ---------------------------------------------------------------- circuits


def _runs(from_: str, to: str, supply: Supply) -> bool:
    """Whether a supply is that of a circuit: from the one part to the other."""
    return any(
        _on(one, supply.from_) and _on(other, supply.to) for one, other in ((from_, to), (to, from_)) if one and other
    )


def _on(terminal: str, port: str) -> bool:
    """Whether a terminal is one of a port's."""
    return terminal == port or terminal.startswith(f"{port}.")


def _supply(case: CaseResult, circuit: str, supply: Supply) -> Iterator[Sum | None]:
    """All that is lost there and back, its share of the nominal voltage, and what the limit leaves."""
    nominal = supply.nominal_drop_v if supply.nominal_drop_v is not None else supply.drop_v
    if nominal is None or nominal < 1e-3:
        return
    way = f"{supply.from_} to {supply.to}"
    lost = tuple(
        Given(abs(volts), "V", (id, "drop"), 3) for id, volts in supply.losses.items() if abs(volts) >= 5e-4 * nominal
    )
    named = [id for id, volts in supply.losses.items() if abs(volts) >= 5e-4 * nominal]
    drop = Given(nominal, "V", (circuit, "drop"))
    if len(lost) > 1:
        each = ", ".join(f"{id} {{}}" for id in named)
        yield made(
            circuit, "drop", f"drop, {way}, there and back", f"lost in {each}", "U = U1 + U2 + ...",
            " + ".join(["{}"] * len(lost)), lost, lambda *all_: sum(all_), nominal, "V", "",
        )  # fmt: skip
    of = Given(supply.of_v, "V")
    yield made(
        circuit, "share", f"drop, {way}, in per cent", "{} of {}", "u = U / Un", "{} / {}", (drop, of),
        lambda u, n: u / n * 100, nominal / supply.of_v * 100, "%", "",
    )  # fmt: skip
    if supply.limit_ratio and supply.limit_ratio * supply.of_v > nominal * 1.05:
        left = supply.limit_ratio * supply.of_v - nominal
        yield made(
            circuit, "left", f"drop that is left, {way}", "{0} of {1} are allowed, {2} are lost", "Ur = u × Un − U",
            "{} × {} − {}", (Given(supply.limit_ratio * 100, "%"), of, drop), lambda s, n, u: s / 100 * n - u, left,
            "V", "",
        )  # fmt: skip
