"""The catalogue is sound: every figure has a source, stands in range and in order, and agrees with print."""

from __future__ import annotations

from math import pi

import pytest

from wiregen.built.catalogue import SOURCES, TABLES
from wiregen.catalogue import catalogue
from wiregen.catalogue.load import built_text, unsound


def test_the_tables_are_sound():
    assert unsound(SOURCES, TABLES) == []


def test_the_built_module_is_what_the_toml_files_say():
    import wiregen.built.catalogue as built

    with open(built.__file__, encoding="utf-8") as file:
        assert file.read() == built_text()


@pytest.mark.parametrize(
    "rows, said",
    [
        ([{"id": "a", "value": 1.0, "unit": "V"}], "source is missing"),
        ([{"id": "a", "value": 1.0, "unit": "V", "source": "nowhere"}], "no source 'nowhere'"),
        ([{"id": "a", "value": 1.0, "unit": "V", "source": "class5"}] * 2, "stands twice"),
        ([{"id": "a", "value": 1e9, "unit": "V", "source": "class5"}], "is not between"),
        ([{"id": "a", "value": "1", "unit": "V", "source": "class5"}], "is not between"),
        ([{"id": "a", "value": 1.0, "unit": "V", "source": "class5", "extra": 1}], "column extra is not known"),
    ],
)
def test_an_unsound_row_is_told(rows, said):
    assert any(said in problem for problem in unsound(SOURCES, {"default": tuple(rows)}))


def test_a_column_that_turns_back_is_told():
    rows = [dict(row) for row in TABLES["fuse_derating"]]
    rows[2]["factor"] = 0.9
    assert any("factor rises" in problem for problem in unsound(SOURCES, {"fuse_derating": tuple(rows)}))


def test_what_is_remembered_says_so():
    book = catalogue()
    iso = book.row("ampacity_table", "iso")
    cfr = book.row("ampacity_table", "cfr")
    assert book.remembered(iso) and "from memory, not read" in book.basis(iso)
    assert not book.remembered(cfr) and "read in the source" in book.basis(cfr)


CLASS_5 = {  # mm2: ohm/km at 20 degC, IEC 60228 class 5 plain, three reprints that agree
    0.5: 39.0, 0.75: 26.0, 1: 19.5, 1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.780, 35: 0.554,
    50: 0.386, 70: 0.272, 95: 0.206, 120: 0.161,
}  # fmt: skip


def test_class_5_resistances_are_those_in_print():
    rows = {row["area_mm2"]: row["ohm_per_km"] for row in catalogue().rows("conductor") if row["family"] == "mm2"}
    assert {size: rows[size] for size in CLASS_5} == CLASS_5


def test_class_5_lies_10_to_16_per_cent_over_pure_copper():
    # reference values 1.3, last column: 1.104 to 1.157 times 17.241 / A
    for size, ohm in CLASS_5.items():
        assert 1.10 <= ohm * size / 17.241 <= 1.16


AWG = {  # gauge: mm2, ohm/km solid at 20 degC; ASTM B258 formula, an AWG table agrees
    "20": (0.5176, 33.308), "18": (0.8230, 20.948), "14": (2.0809, 8.285), "8": (8.3656, 2.061), "2": (33.631, 0.5127),
    "1/0": (53.475, 0.3224), "4/0": (107.22, 0.1608),
}  # fmt: skip


@pytest.mark.parametrize("gauge", AWG)
def test_gauges_have_their_area_and_2_per_cent_over_solid(gauge):
    row = catalogue().row("conductor", f"awg-{gauge}")
    area, ohm = AWG[gauge]
    assert row["area_mm2"] == pytest.approx(area, rel=1e-4)
    assert row["ohm_per_km"] == pytest.approx(1.02 * ohm, rel=1e-3)


NEC = {"18": 26.1, "16": 16.4, "14": 10.3, "12": 6.50}  # seven strands, 75 degC: NFPA 70 chapter 9 table 8


@pytest.mark.parametrize("gauge", NEC)
def test_gauges_agree_with_stranded_conductors_in_print(gauge):
    row = catalogue().row("conductor", f"awg-{gauge}")
    assert row["ohm_per_km"] * (1 + 0.00393 * 55) == pytest.approx(NEC[gauge], rel=0.01)  # printed to three digits


AUTO = {"3": (14, 0.32), "4": (23, 0.32), "5": (36, 0.32), "6": (57, 0.32)}  # strands, mm: touring page


@pytest.mark.parametrize("size", AUTO)
def test_auto_cable_is_counted_by_its_strands(size):
    strands, diameter = AUTO[size]
    area = strands * pi / 4 * diameter**2
    assert catalogue().row("conductor", f"auto-mm-{size}")["area_mm2"] == pytest.approx(area, rel=1e-3)


def test_the_engine_space_column_is_the_factor_rounded_down():
    # 33 CFR 183.425 in an engine space at 105 degC, two reprints; 14 AWG is printed as 30 (29.75)
    printed = [17, 21, 30, 38, 51, 68, 102, 136, 153, 178, 208, 242, 280, 327, 378]
    rows = [row["amps"][4] for row in catalogue().rows("ampacity") if row["table"] == "cfr"]
    assert [int(0.85 * amps) for amps in rows[:2]] == printed[:2]
    assert [int(0.85 * amps) for amps in rows[3:]] == printed[3:]


def test_ratings_of_a_family_lie_within_their_gates():
    for family in catalogue().rows("fuse_family"):
        assert any(row["gates"] == family["gates"] for row in catalogue().rows("gate"))


def test_every_word_of_the_language_has_its_row():
    from wiregen.built.vocabulary import DATA

    for shape, table in (("fuse-type", "fuse_family"), ("chemistry", "chemistry")):
        for word in DATA["shapes"][shape].split("|"):
            assert catalogue().row(table, word.lstrip("=")) is not None, word
