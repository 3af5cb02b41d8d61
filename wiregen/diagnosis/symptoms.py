"""What people say is wrong, as a factor of belief: what each symptom means stands in `catalogue/symptoms.toml`."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import TYPE_CHECKING, Any, NamedTuple

from wiregen.circuit.questions import ports
from wiregen.diagnosis.readings import NotUnderstood
from wiregen.diagnosis.signatures import Bench, Signature
from wiregen.model.job import Job, Part

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from wiregen.diagnosis.dictionary import Dictionary
    from wiregen.diagnosis.faults import Fault

    Array = NDArray[np.float64]

DEAD, WEAK, HIGH, IDLE, CHARGED = 0.5, 0.96, 1.02, 0.2, 0.25  # of what the sound job has there
STOPS, GUARDED = 0.87, frozenset({"load", "inverter"})  # kinds that guard the battery: a fridge at 12.7 V stops at 11 V
WATTS = 1.0  # of heat in a joint that a hand feels
FILLING = frozenset({"the", "a", "an", "again", "my", "is", "it", "always", "often", "will"})
SHORT = {"doesn't": "does not", "does'nt": "does not", "won't": "does not", "isn't": "not"}


class Symptom(NamedTuple):
    """One symptom as said: `id` of the catalogue's row, the parts that it is of, what it means and how sure that is."""

    words: str
    id: str
    parts: tuple[str, ...]
    means: str
    seen: float
    otherwise: float


@cache
def rows() -> tuple[Mapping[str, Any], ...]:
    """The catalogue's symptoms."""
    import tomllib
    from importlib.resources import files

    text = files("wiregen.catalogue").joinpath("symptoms.toml").read_text(encoding="utf-8")
    return tuple(tomllib.loads(text)["symptom"])


def symptom(job: Job, words: str) -> Symptom:
    """The symptom that words tell. Raises NotUnderstood."""
    said = _plain(words)
    names = sorted(job.parts.values(), key=lambda part: -len(part.id))
    known = rows()
    named = [part for part in names if f" {part.id.lower()} " in f" {' '.join(said)} "]
    titled = [part for part in names if part.title and f" {part.title.lower()} " in f" {' '.join(said)} "]
    for part in (*named, *titled):
        name = part.id if part in named else part.title
        rest = " ".join(said)
        at = f" {rest} ".index(f" {name.lower()} ")
        pattern = _plain(f"{rest[:at]} {{part}} {rest[at + len(name) :]}")
        for row in known:
            if part.kind in row["kinds"] and pattern in [_plain(p) for p in row["says"]]:
                return _made(words, row, (part.id,))
    for row in known:
        if said in [_plain(p) for p in row["says"] if "{part}" not in p]:
            kinds = [kind for kind in row["kinds"] if said[0] in kind.split("-")] or row["kinds"]
            kinds += ["solar-controller"] if said[0] == "charger" and "solar-controller" in row["kinds"] else []
            parts = tuple(part.id for part in job.parts.values() if part.kind in kinds)
            if row["id"] == "indicator":
                parts = _indicators(job) or parts
            if parts:
                return _made(words, row, parts)
    raise NotUnderstood(
        f"the symptom `{words.strip()}` is not known{_of(named or titled)}",
        "each symptom has one meaning in the circuit, stated in the catalogue",
        _ways(known, named or titled),
    )


def of_part(id: str, part: Part) -> Symptom:
    """A symptom of the catalogue, of one part, in the words that the catalogue has first for it."""
    row = next(row for row in rows() if row["id"] == id)
    says = next((words for words in row["says"] if "{part}" in words), row["says"][0])
    return _made(says.replace("{part}", part.title or part.id), row, (part.id,))


def _made(words: str, row: Mapping[str, Any], parts: tuple[str, ...]) -> Symptom:
    return Symptom(words.strip(), row["id"], parts, row["means"], row["seen"], row["otherwise"])


def _plain(words: str) -> list[str]:
    plain = [word.strip(".,!?\"'").lower().replace("\u2019", "'") for word in words.split()]
    kept = [word for said in plain for word in SHORT.get(said, said).split()]
    return [word for word in kept if word and word not in FILLING]


def _of(parts: Sequence[Part]) -> str:
    return f" of {parts[0].id}" if parts else ": it names no part of this job that it could be of"


def _ways(known: Sequence[Mapping[str, Any]], parts: Sequence[Part]) -> str:
    fitting = [row for row in known if parts and parts[0].kind in row["kinds"]] or list(known)
    ways = [row["says"][0].replace("{part}", parts[0].id if parts else "PART") for row in fitting]
    return "say it as one of: " + "; ".join(ways)


def _indicators(job: Job) -> tuple[str, ...]:
    """Lamps on the indicator output of a charger."""
    found = []
    for conductor in job.conductors.values():
        for one, other in ((conductor.from_, conductor.to), (conductor.to, conductor.from_)):
            at, part = job.terminals.get(one), job.part_of(other)
            if at and at.name == "indicator" and part and part.kind == "lamp":
                found.append(part.id)
    return tuple(found)


# ---------------------------------------------------------------- what it means


def factor(dictionary: Dictionary, symptoms: Sequence[Symptom]) -> Array:
    """How likely the symptoms are with each row of the dictionary: a symptom holds that holds in one of its cases."""
    import numpy as np

    found = np.ones(len(dictionary.owner))
    for each in symptoms:
        test = MEANINGS[each.means]
        for k, rows in enumerate(zip(*dictionary.rows, strict=True)):
            owner = int(dictionary.owner[k])
            fault = dictionary.faults[owner] if owner >= 0 else None
            holds = any(
                row is not None and test(bench, row, fault, part)
                for bench, row in zip(dictionary.benches, rows, strict=True)
                for part in each.parts
            )
            found[k] *= each.seen if holds else each.otherwise
    return found


def _port(bench: Bench, row: Signature, id: str) -> float | None:
    """The voltage of a part's first port. [V]"""
    part = bench.job.parts[id]
    pairs = ports(part)
    if not pairs:
        return None
    plus, minus = (bench.terminals[t] for t in pairs[0])
    return float(row.volts[plus] - row.volts[minus]) if row.islands[plus] == row.islands[minus] else 0.0


def _ratio(bench: Bench, row: Signature, id: str) -> float | None:
    sound, now = _port(bench, bench.sound, id), _port(bench, row, id)
    return None if sound is None or now is None or abs(sound) < 0.5 else now / sound


def _failed(fault: Fault | None, id: str) -> bool:
    return fault is not None and fault.kind == "dead" and fault.subject == id


def _dead(bench: Bench, row: Signature, fault: Fault | None, id: str) -> bool:
    ratio = _ratio(bench, row, id)
    least = STOPS if bench.job.parts[id].kind in GUARDED else DEAD
    return _failed(fault, id) or (ratio is not None and ratio < least)


def _weak(bench: Bench, row: Signature, fault: Fault | None, id: str) -> bool:
    ratio = _ratio(bench, row, id)
    return id in row.unsteady or (ratio is not None and DEAD <= ratio < WEAK)


def _rests(bench: Bench, row: Signature, fault: Fault | None, id: str) -> bool:
    before, now = dict(bench.sound.logic), dict(row.logic)
    stopped = bool(before.get(id)) and not now.get(id, True)
    given = _current(bench, row, f"{id}.out.+")
    sound = _current(bench, bench.sound, f"{id}.out.+")
    return _failed(fault, id) or stopped or (abs(sound) > 0.5 and abs(given) < IDLE * abs(sound))


def _hunts(bench: Bench, row: Signature, fault: Fault | None, id: str) -> bool:
    return id in row.unsteady


def _blown(bench: Bench, row: Signature, fault: Fault | None, id: str) -> bool:
    return id in row.blown or (fault is not None and fault.kind == "open" and fault.subject == id)


def _hot(bench: Bench, row: Signature, fault: Fault | None, id: str) -> bool:
    if fault is None or fault.kind != "joint" or not row.ohm or fault.at is None:
        return False
    job = bench.job
    at = fault.at[1:] if fault.at[0] in ("landing", "link") else ()
    if fault.at[0] == "conductor":
        conductor = job.conductors[fault.subject]
        at = (conductor.from_, conductor.to)
    there = fault.at[0] == "contact" and fault.at[1] == id
    if not there and id not in [part.id for t in at if (part := job.part_of(t))]:
        return False
    channel = bench.channels.get(fault.at)
    amps = float(row.amps[channel]) if channel is not None else max((_current(bench, row, t) for t in at), key=abs)
    return amps * amps * row.ohm >= WATTS


def _uncharged(bench: Bench, row: Signature, fault: Fault | None, id: str) -> bool:
    if fault is not None and fault.subject == id and fault.kind in ("set wrong", "dead"):
        return True
    sound, now = _current(bench, bench.sound, f"{id}.+"), _current(bench, row, f"{id}.+")
    return sound > 0.5 and now < CHARGED * sound


def _high(bench: Bench, row: Signature, fault: Fault | None, id: str) -> bool:
    ratio = _ratio(bench, row, id)
    return ratio is not None and ratio > HIGH


def _idle(bench: Bench, row: Signature, fault: Fault | None, id: str) -> bool:
    plus = f"{id}.+" if f"{id}.+" in bench.job.terminals else id
    sound, now = _current(bench, bench.sound, plus), _current(bench, row, plus)
    return _failed(fault, id) or (abs(sound) > 0.01 and abs(now) < IDLE * abs(sound))


def _current(bench: Bench, row: Signature, terminal: str) -> float:
    """What conductors bring to a terminal. [A]"""
    total = 0.0
    for conductor in bench.job.conductors.values():
        channel = bench.channels["conductor", conductor.id]
        if conductor.to == terminal:
            total += float(row.amps[channel])
        elif conductor.from_ == terminal:
            total -= float(row.amps[channel])
    return total


MEANINGS: Mapping[str, Callable[[Any, Signature, Any, str], bool]] = {
    "dead": _dead,
    "weak": _weak,
    "rests": _rests,
    "hunts": _hunts,
    "blown": _blown,
    "hot": _hot,
    "uncharged": _uncharged,
    "high": _high,
    "idle": _idle,
}
