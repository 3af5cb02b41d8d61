"""Panels against pvlib on modules of its open database (by column, names left out), and against print."""

from __future__ import annotations

import pytest

from wiregen.catalogue import catalogue
from wiregen.circuit.figures import Figures
from wiregen.circuit.panel import cold_voltage, lit_panel, single_diode
from wiregen.model import read

pvsystem = pytest.importorskip("pvlib").pvsystem

COLD = [  # printed: Voc, per cent per K, degC, V: inspectors' magazine; NEC examples
    (49.5, -0.27, -10, 54.178),
    (45.0, -0.28, 3, 45.0 * 1.0616),
]


@pytest.mark.parametrize("voc, per_cent, temperature, printed", COLD)
def test_printed_cold_voltages(voc, per_cent, temperature, printed):
    found = cold_voltage(voc=voc, coefficient=per_cent / 100, temperature=temperature)
    assert found == pytest.approx(printed, abs=1e-3)


COLUMNS = (5331, 14488, 20106, 19623, 2257, 1604, 2409, 12149)


@pytest.fixture(scope="module")
def modules():
    return pvsystem.retrieve_sam("CECMod")


def curve(module, temperature=25.0):
    fitted = pvsystem.calcparams_cec(
        1000, temperature, module.alpha_sc, module.a_ref, module.I_L_ref, module.I_o_ref, module.R_sh_ref, module.R_s,
        module.Adjust,
    )  # fmt: skip
    return fitted, pvsystem.singlediode(*fitted)


@pytest.mark.parametrize("column", COLUMNS)
def test_the_linear_cold_voltage_is_at_most_3_per_cent_below_the_single_diode_one(modules, column):
    module = modules.iloc[:, column]
    linear = cold_voltage(voc=module.V_oc_ref, coefficient=module.beta_oc / module.V_oc_ref, temperature=-10)
    full = float(curve(module, -10.0)[1]["v_oc"])
    assert 0.0 < full / linear - 1.0 < 0.03


@pytest.mark.parametrize("column", COLUMNS)
def test_the_curve_from_the_data_sheet_is_within_6_per_cent_of_the_full_model(modules, column):
    """The stated error: current 0 to 6 % of Isc above the full model, since it has no shunt."""
    module = modules.iloc[:, column]
    fitted, points = curve(module)
    a, saturation, ohm = single_diode(
        float(points["v_oc"]), float(points["v_mp"]), float(points["i_sc"]), float(points["i_mp"])
    )
    isc = float(points["i_sc"])
    for share in (0.2, 0.5, 0.8, 0.9, 1.0):
        volts = share * float(points["v_mp"])
        full = float(pvsystem.i_from_v(volts, *fitted))
        assert -1e-6 * isc <= ours(volts, a, saturation, ohm, isc) - full <= 0.06 * isc


def ours(volts, a, saturation, ohm, isc):
    """Current of the simplified model at a voltage, by bisection: no code of the solver."""
    from math import exp

    low, high = -isc, 2 * isc
    for _ in range(200):
        middle = (low + high) / 2
        if isc - saturation * (exp((volts + middle * ohm) / a) - 1) > middle:
            low = middle
        else:
            high = middle
    return low


@pytest.mark.parametrize("column", COLUMNS)
def test_the_curve_passes_through_the_data_sheet(modules, column):
    module = modules.iloc[:, column]
    voc, vmp, isc, imp = (float(module[k]) for k in ("V_oc_ref", "V_mp_ref", "I_sc_ref", "I_mp_ref"))
    a, saturation, ohm = single_diode(voc, vmp, isc, imp)
    assert ours(voc, a, saturation, ohm, isc) == pytest.approx(0.0, abs=1e-6 * isc)
    assert ours(vmp, a, saturation, ohm, isc) == pytest.approx(imp, rel=1e-3)


def test_twelve_volt_panels_show_21_to_23_volts(modules):
    # common practice, no source: "12 V" panels show 21 to 23 V open circuit; the catalogue's default panel does
    ratio, volts = catalogue().default("panel-open"), catalogue().default("panel-volts")
    assert 21.0 <= ratio * volts <= 23.0
    silicon = modules.loc["Technology"].isin(["Mono-c-Si", "Multi-c-Si"])
    crystalline = modules.loc[:, (modules.loc["N_s"] == 36) & silicon]
    found = crystalline.loc["V_oc_ref"].astype(float)
    # reference values 9.3: 257 modules, 20.4 to 23.4 V, median 22.19 V
    assert (found.min(), found.max()) == pytest.approx((20.4, 23.4), abs=0.05)
    assert found.median() == pytest.approx(22.19, abs=0.05)


PANEL = """job "Panel" {{ system 12 V }}
place roof "Roof", ambient {ambient:g} degC
panel p1 100 W, at roof, voc {voc} V, vmp {vmp} V, isc {isc} A, imp {imp} A, voc-coefficient {slope:.4f} %/K
"""


@pytest.mark.parametrize("column", COLUMNS)
@pytest.mark.parametrize(
    "sun, ambient, within", [(1.0, 10.0, 0.07), (1.0, 35.0, 0.07), (0.6, 25.0, 0.10), (0.3, 20.0, 0.22)]
)
def test_a_warm_panel_in_part_sun_is_as_near_to_the_full_model_as_is_stated(modules, column, sun, ambient, within):
    module = modules.iloc[:, column]
    _, points = curve(module)
    text = PANEL.format(
        ambient=ambient, voc=points["v_oc"], vmp=points["v_mp"], isc=points["i_sc"], imp=points["i_mp"],
        slope=100 * module.beta_oc / module.V_oc_ref,
    )  # fmt: skip
    job, findings = read("panel.wnet", text=text)
    assert job is not None, [f.message for f in findings]
    lit = lit_panel(Figures(job), job.parts["p1"], sun)
    assert lit.cell == pytest.approx(ambient + 30.0 * sun)
    full = pvsystem.singlediode(
        *pvsystem.calcparams_cec(
            1000 * sun, lit.cell, module.alpha_sc, module.a_ref, module.I_L_ref, module.I_o_ref, module.R_sh_ref,
            module.R_s, module.Adjust,
        )
    )  # fmt: skip
    assert lit.best_volts * lit.best_amps == pytest.approx(float(full["p_mp"]), rel=within)
    assert lit.best_volts == pytest.approx(float(full["v_mp"]), rel=within)
