"""Jobs that nobody should build and people write down all the same: solved or told, never an exception."""

from __future__ import annotations

import pytest

from wiregen.circuit import study
from wiregen.circuit.size_job import size_job
from wiregen.circuit.study_json import as_json
from wiregen.circuit.study_text import as_text
from wiregen.findings.json import dumps
from wiregen.model import read

HEAD = 'job "Odd" { system 12 V, limits iso13297 }\n'
ODD = {
    "nothing at all": "",
    "a load without a source": "load fan 5 A\nfan.+ --[W1 red 1 mm2 1 m]-- fan.-",
    "a load in the air": "load fan 5 A\nfan.+ --[W1 red 1 mm2 1 m]-- loose",
    "a battery alone": "battery b 70 Ah agm",
    "a battery shorted by a wire": "battery b 70 Ah agm\nb.+ --[W1 red 10 mm2 1 m]-- b.-",
    "a battery shorted by a bolt": "battery b 70 Ah agm\nb.+ -- b.-",
    "an ideal battery shorted": "battery b 70 Ah agm, resistance 0 ohm\nb.+ -- b.-",
    "two batteries in series": "battery a 70 Ah agm\nbattery b 70 Ah agm\nload fan 5 A\na.+ -- b.-\n"
    "b.+ --[W1 red 2 mm2 1 m]-- fan --[W2 black 2 mm2 1 m]-- a.-",
    "two batteries against each other": "battery a 70 Ah agm\nbattery b 70 Ah agm\na.+ --[W1 red 10 mm2 1 m]-- b.-\n"
    "a.- --[W2 black 10 mm2 1 m]-- b.+",
    "12 V and 24 V side by side": "battery a 70 Ah agm\nbattery b 70 Ah agm, 24 V\na.+ --[W1 red 10 mm2 1 m]-- b.+\n"
    "a.- --[W2 black 10 mm2 1 m]-- b.-",
    "held apart without a wire": "battery a 70 Ah agm\nbattery b 70 Ah agm\na.+ -- b.+\na.- -- b.-\n"
    "case test, a 12 V, b 13 V",
    "an alternator alone": "alternator alt 100 A fixed\nload fan 5 A\nalt.+ --[W1 red 2.5 mm2 1 m]-- fan\n"
    "fan.- --[W2 black 2.5 mm2 1 m]-- alt.-",
    "a panel on a load": "panel p 100 W\nload fan 5 A\np.+ --[W1 red 2.5 mm2 1 m]-- fan\n"
    "fan.- --[W2 black 2.5 mm2 1 m]-- p.-",
    "a panel the wrong way round": "battery b 70 Ah agm\npanel p 100 W\np.+ --[W1 red 2.5 mm2 1 m]-- b.-\n"
    "p.- --[W2 black 2.5 mm2 1 m]-- b.+",
    "a controller without panels": "battery b 70 Ah agm\nsolar-controller c 20 A, profile agm\n"
    "c.out.+ --[W1 red 4 mm2 1 m]-- b.+\nc.out.- --[W2 black 4 mm2 1 m]-- b.-",
    "a controller without a battery": "solar-controller c 20 A, profile agm\npanel p 200 W\nload fan 5 A\n"
    "p.+ --[W1 red 4 mm2 1 m]-- c.solar.+\np.- --[W2 black 4 mm2 1 m]-- c.solar.-\n"
    "c.out.+ --[W3 red 4 mm2 1 m]-- fan\nfan.- --[W4 black 4 mm2 1 m]-- c.out.-",
    "a charger on itself": "battery b 70 Ah agm\ncharger c 20 A, profile agm, negative common\n"
    "b.+ --[W1 red 10 mm2 1 m]-- c.in.+\nc.in.- --[W2 black 10 mm2 1 m]-- b.-\nc.out.+ --[W3 red 10 mm2 1 m]-- b.+\n"
    "c.out.- --[W4 black 10 mm2 1 m]-- b.-",
    "a charger that feeds itself": "charger c 20 A, profile agm, negative common\n"
    "c.out.+ --[W1 red 10 mm2 1 m]-- c.in.+\nc.in.- --[W2 black 10 mm2 1 m]-- c.out.-",
    "a charger reversed": "battery a 70 Ah agm\nbattery b 70 Ah agm\ncharger c 20 A, profile agm\n"
    "a.- --[W1 red 10 mm2 1 m]-- c.in.+\na.+ --[W2 black 10 mm2 1 m]-- c.in.-\nc.out.+ --[W3 red 10 mm2 1 m]-- b.+\n"
    "c.out.- --[W4 black 10 mm2 1 m]-- b.-",
    "a relay that switches itself off": "battery b 70 Ah agm\nrelay K1 30 A\nb.+ --[W1 red 1 mm2 1 m]-- K1.30\n"
    "K1.87a --[W2 red 1 mm2 1 m]-- K1.86\nK1.85 --[W3 black 1 mm2 1 m]-- b.-",
    "a voltage relay that hunts": "battery a 70 Ah agm, open-circuit 13.4 V, resistance 100 mohm\n"
    "battery b 70 Ah agm, open-circuit 11 V, resistance 10 mohm\nvoltage-relay V 100 A, closes-above 13.3 V, "
    "opens-below 12.8 V\na.+ --[W1 red 16 mm2 1 m]-- V.in\nV.out --[W2 red 16 mm2 1 m]-- b.+\n"
    "a.- --[W3 black 16 mm2 1 m]-- b.-\nV.- --[W4 black 1 mm2 1 m]-- a.-",
    "wires without size or length": "battery b 70 Ah agm\nload fan 5 A\nb.+ --[W1 red]-- fan --[W2 black 2 mm2]-- b.-",
    "hair and a bar": "battery b 70 Ah agm\nload fan 5 A\n"
    "b.+ --[W1 red 0.05 mm2 100 m]-- fan --[W2 black 400 mm2 1 mm]-- b.-",
    "no capacity, no chemistry": "battery b\nload fan 5 A\nb.+ --[W1 red 1 mm2 1 m]-- fan --[W2 black 1 mm2 1 m]-- b.-",
    "two returns through two bodies": "battery b 70 Ah agm\nbody s bonded\nbody t isolated\nearth E1 on s\n"
    "earth E2 on s\nearth E3 on t\nload fan 5 A\nb.- --[W1 black 6 mm2 1 m]-- E1\nb.+ --[W2 red 2.5 mm2 1 m]-- fan\n"
    "fan.- --[W3 black 2.5 mm2 1 m]-- E2\nfan.- --[W4 black 2.5 mm2 1 m]-- E3",
    "a starter through a hair": "battery b 70 Ah flooded\nstarter m 300 A\n"
    "b.+ --[W1 red 0.5 mm2 5 m]-- m.+\nm.- --[W2 black 0.5 mm2 5 m]-- b.-",
}


@pytest.mark.parametrize("name", ODD)
def test_odd_jobs_are_solved_or_told(name):
    job, _ = read("odd.wnet", text=HEAD + ODD[name])
    assert job is not None
    done, findings = study(job)
    assert findings == ()
    for case in done.cases:
        assert case.solved or case.troubles, case.name
    dumps(as_json(done))
    as_text(done)
    size_job(job)


def test_three_hundred_parallel_conductors_share_alike():
    lines = ["battery b 70 Ah agm", "load fan 50 A", "b.- --[B1 black 50 mm2 1 m]-- fan.-"]
    lines += [f"b.+ --[W{k} red 1 mm2 1 m]-- fan.+" for k in range(300)]
    job, _ = read("odd.wnet", text=HEAD + "\n".join(lines))
    done, _ = study(job)
    case = done.cases[0]
    assert case.solved
    shares = [case.flows[f"W{k}"].current_a for k in range(300)]
    assert shares == pytest.approx([50 / 300] * 300, rel=1e-9)


def test_a_ring_of_links_is_no_trouble():
    lines = ["battery b 70 Ah agm", "load fan 5 A", *(f"splice S{k}" for k in range(30))]
    lines += [f"S{k} -- S{(k + 1) % 30}" for k in range(30)]
    lines += ["b.+ --[W1 red 2.5 mm2 1 m]-- S0", "S15 --[W2 red 2.5 mm2 1 m]-- fan.+"]
    lines += ["fan.- --[W3 black 2.5 mm2 1 m]-- b.-"]
    job, _ = read("odd.wnet", text=HEAD + "\n".join(lines))
    done, _ = study(job)
    assert done.cases[0].flows["W2"].current_a == pytest.approx(5.0)
