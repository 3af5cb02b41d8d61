"""The budget of a day against arithmetic by hand."""

from __future__ import annotations

import pytest

from wiregen.circuit import study
from wiregen.model import read


def energy(text: str) -> dict[str, float | None]:
    job, findings = read("day.wnet", text=text)
    assert job is not None and not findings, [f.message for f in findings]
    return dict(study(job)[0].energy)


CAMP = """job "Day" {{ system 12 V, limits iso13297 }}
battery start 70 Ah flooded
battery aux 100 Ah {chemistry}
charger dcdc 20 A, profile {chemistry}, negative common
panel sun 100 W, vmp 20 V, imp 5 A
load fridge 4 A, duty 50 %
lamp lights 12 W, duty 25 %
start.+ --[red 10 mm2 2 m]-- dcdc.in.+
start.- --[black 10 mm2 2 m]-- dcdc.in.-
dcdc.out.+ --[red 10 mm2 1 m]-- aux.+
dcdc.out.- --[black 10 mm2 1 m]-- aux.-
sun.+ --[red 4 mm2 3 m]-- dcdc.solar.+
sun.- --[black 4 mm2 3 m]-- dcdc.solar.-
aux.+ --[red 2.5 mm2 3 m]-- fridge --[black 2.5 mm2 3 m]-- aux.-
aux.+ --[red 1.5 mm2 3 m]-- lights --[black 1.5 mm2 3 m]-- aux.-
"""


def test_a_lead_acid_day():
    found = energy(CAMP.format(chemistry="agm"))
    # fridge 4 A x 12 V x 50 % = 24 W, lamps 3 W: 27 W, 648 Wh a day
    assert found["daily_load_wh"] == pytest.approx(648.0)
    # half of 1200 Wh is used: 600 Wh / 27 W
    assert found["usable_wh"] == pytest.approx(600.0)
    assert found["autonomy_h"] == pytest.approx(600 / 27)
    # 20 A are within 20 % of 100 Ah: 240 W less 27 W; 600 Wh / 0.85 to bring back
    assert found["recharge_alternator_h"] == pytest.approx(600 / 0.85 / 213)
    # cells at 30 + 30 degC, 35 K above the data sheet: 20 V less 35 x 0.33 % of 24.4 V, 5 A and 35 x 0.05 % more;
    # x 0.85 (efficiency taken), less 27 W
    watts = (20.0 - 35 * 0.0033 * 24.4) * 5.0 * (1 + 35 * 0.0005)
    assert found["recharge_sun_h"] == pytest.approx(600 / 0.85 / (0.85 * watts - 27))


def test_lithium_goes_lower_and_takes_its_own_limit():
    found = energy(CAMP.format(chemistry="lifepo4").replace("100 Ah lifepo4", "100 Ah lifepo4, max-charge 10 A"))
    assert found["autonomy_h"] == pytest.approx(0.8 * 1200 / 27)
    assert found["recharge_alternator_h"] == pytest.approx(960 / 0.97 / (120 - 27))


def test_a_load_that_outweighs_its_sources_is_never_recharged():
    found = energy(CAMP.format(chemistry="agm").replace("load fridge 4 A, duty 50 %", "load fridge 40 A"))
    assert found["recharge_alternator_h"] is None
    assert found["recharge_sun_h"] is None


def test_a_job_without_a_battery_has_no_budget():
    text = 'job "None" { system 12 V, limits iso13297 }\nload fan 2 A\nfan.+ --[red 1 mm2 1 m]-- capped'
    assert energy(text) == {}
