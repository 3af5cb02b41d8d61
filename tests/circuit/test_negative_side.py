"""The negative side: what a shunt sees, what leads around a plug, what stays live when it is apart, where leads end."""

from __future__ import annotations

from pathlib import Path

import pytest

from wiregen.circuit import study
from wiregen.circuit.leads import ends_of_lead
from wiregen.circuit.live import live_sources, live_without
from wiregen.circuit.loops import overload_without, plugs_passed_by
from wiregen.circuit.polarity import joined
from wiregen.circuit.shunts import measuring, passing_by
from wiregen.circuit.study import Study
from wiregen.model import read

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


def of(text: str) -> Study:
    made, findings = read("negative.wnet", text='job "Negative" { system 12 V, each insulation 105 degC }\n' + text)
    assert made is not None and not findings, [f.message for f in findings]
    return study(made)[0]


def test_in_a_sound_van_the_shunt_carries_all_that_the_battery_gives_and_takes() -> None:
    """Kirchhoff: with nothing beside the shunt, its current is the battery's in every case."""
    job, _ = read(str(EXAMPLES / "camper-van.wnet"))
    assert job is not None
    van = study(job)[0]
    (one,) = measuring(van)
    assert (one.shunt.id, one.batteries, one.past, one.around) == ("SH", ("house",), (), ())
    assert passing_by(van, one) is None


def test_what_passes_by_a_shunt_is_what_the_load_on_the_post_draws() -> None:
    made = of(
        "battery aux 100 Ah agm, open-circuit 12.8 V, resistance 1 mohm\n"
        "shunt SH 300 A\nload pump 5 A\nload fan 3 A\n"
        "aux.+ --[W1 red 6 mm2 1 m]-- pump.+\naux.+ --[W2 red 6 mm2 1 m]-- fan.+\n"
        "aux.- --[B0 black 16 mm2 0.2 m]-- SH --[W3 black 6 mm2 1 m]-- pump.-\nfan.- --[W4 black 6 mm2 1 m]-- aux.-\n"
    )
    (one,) = measuring(made)
    assert one.past == ("fan",)
    found = passing_by(made, one)
    assert found is not None
    assert found[1] == pytest.approx(3.0, abs=1e-6)
    assert found[2] == pytest.approx(8.0, abs=1e-6)


PLUG = (
    "battery start 70 Ah flooded, open-circuit 12.8 V, resistance 1 mohm\nload heater 15 A\n"
    "connector X1 50 A, poles + -\n"
    "start.+ --[W1 red 6 mm2 1 m]-- X1.+ --[W2 red 6 mm2 1 m]-- heater.+\n"
    "start.- --[B1 black 6 mm2 1 m]-- X1.- --[B2 black 6 mm2 1 m]-- heater.-\n"
)


def test_when_the_pin_opens_the_second_way_carries_all_of_it() -> None:
    made = of(PLUG + "start.- --[E1 black 0.75 mm2 4 m]-- heater.-\nown-figures { ampacity { 0.75 mm2: 14 A } }\n")
    (plug,) = plugs_passed_by(made)
    assert (plug.part.id, plug.ids) == ("X1", ("B1", "E1", "B2"))
    over = overload_without(made, plug, [case.name for case in made.cases])
    assert over is not None and over.conductor.id == "E1"
    assert over.current == pytest.approx(15.0, abs=1e-6)
    assert over.ampacity == 14.0


def test_a_plug_that_nothing_leads_around_is_none() -> None:
    assert list(plugs_passed_by(of(PLUG))) == []


def test_what_is_live_on_each_side_of_a_plug_that_is_apart() -> None:
    made = of(PLUG)
    poles = [edge for edge in made.network.edges if edge.subject == "X1"]
    ways = joined(made.job, made.network)
    live = live_without(ways, live_sources(made.job, made.network), poles)
    assert [t for t in live if t.startswith("X1")] == ["X1.a.+"]
    assert set(live.values()) == {"start"}
    assert "heater.+" in live_without(ways, live_sources(made.job, made.network), [])


def test_a_lead_ends_at_devices_and_coils_and_not_at_what_leads_on() -> None:
    made = of(
        "battery start 70 Ah flooded\nsplice J1\nrelay K1 30 A\nlamp one 1 W\ncharger dcdc 18 A\n"
        "dcdc.indicator --[L1 white 1 mm2 1 m]-- J1 --[L2 white 1 mm2 1 m]-- one.+\n"
        "J1 --[L3 white 1 mm2 1 m]-- K1.86\nJ1 --[L4 white 1 mm2 1 m]-- K1.30\n"
    )
    assert [lead.terminal for lead in ends_of_lead(made, "dcdc.indicator")] == ["one.+", "K1.86"]
