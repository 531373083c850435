"""Specific cutting forces of the shipped materials against published and recalled handbook tables.

Sources
-------
[K] A tool maker's catalogues, turning 2017, p. 558, and boring 2022, p. 111: kc1 and mc by ISO 513 / VDI 3323
    material group. https://docs.steelcam.org/iscar/katalog-tokarnyj-instrument-2017-page558
[P] Palubicki, B. Cutting Forces in Peripheral Up-Milling of Particleboard. Materials 14 (2021) 2208: average
    specific principal cutting force 32.0 N/mm2 (slow) and 37.6 N/mm2 (fast).
[C] Carvill, J. Mechanical Engineer's Data Handbook, p. 192: turning constants, N/mm2.
[A] Milling Force Model for Aviation Aluminum Alloy: Academic Insight and Perspective Analysis. Chinese Journal of
    Mechanical Engineering 34 (2021), doi 10.1186/s10033-021-00536-9, Table 5.
[G] Groover, Fundamentals of Modern Manufacturing, Table 21.2, specific energy at 0.25 mm chip; from memory.
[M] Machinery's Handbook, power constants Kp at 0.30 mm feed, and Kalpakjian, Table 21.2; from memory.

Digits of the rows are the sources' own; a tolerance stands only where a formula rounds.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from millcalc.mechanics.kienzle import specific_force_n_mm2
from millcalc.tables import load_material

CATALOGUE = [
    ("al-5083", 700, 0.25),  # group 21, wrought, not hardenable
    ("al-5754", 700, 0.25),
    ("al-1050", 700, 0.25),
    ("al-6061-t6", 800, 0.25),  # group 22, wrought, cured
    ("al-6082-t6", 800, 0.25),
    ("al-2024", 800, 0.25),
    ("al-2017", 800, 0.25),
    ("al-cast-plate", 700, 0.25),  # groups 23 and 24
    ("brass-free-machining", 700, 0.27),  # group 26
    ("brass-cartridge", 700, 0.27),  # group 27
    ("steel-mild", 1350, 0.21),  # group 1
]


@pytest.mark.parametrize(("name", "kc11", "mc"), CATALOGUE)
def test_kc11_and_mc_are_the_catalogue_s(name: str, kc11: float, mc: float) -> None:
    """[K], table of material groups; the digits are equal."""
    row = load_material(name)
    assert (row.kc11_n_mm2.value, row.mc.value) == (kc11, mc)
    assert (row.kc11_n_mm2.source, row.mc.source) == ("iso-group-kc", "iso-group-kc")
    assert row.kc11_n_mm2.confidence == "published"


def test_steel_at_a_tenth_of_a_millimetre() -> None:
    """[K] group 1: 1350 x 0.1^-0.21 = 2189 N/mm2, rounded to a whole number."""
    row = load_material("steel-mild")
    assert specific_force_n_mm2(row.kc11_n_mm2.value, row.mc.value, 0.1) == pytest.approx(2189, abs=0.6)


def test_values_that_differ_from_the_catalogue_say_so() -> None:
    """[K] gives 800 for 7075 (group 22) and 700 for copper (group 28); the rows are higher and not `published`."""
    for name, catalogue in (("al-7075-t6", 800), ("copper", 700)):
        row = load_material(name)
        assert row.kc11_n_mm2.lowest == catalogue < row.kc11_n_mm2.value
        assert row.kc11_n_mm2.confidence == "estimate"


def test_particle_board() -> None:
    """[P] 32.0 and 37.6 N/mm2 lie inside the row's spread at the study's mean chip of 0.165 mm (radius 82.5 mm, 1.5 mm
    a tooth, width 2 mm); its middle is within 1 % of their mean."""
    row = load_material("particle-board")
    low, middle, high = specific_force_n_mm2(
        np.array([row.kc11_n_mm2.lowest, row.kc11_n_mm2.value, row.kc11_n_mm2.highest]), row.mc.value, 0.165
    )
    assert low < 32.0 < 37.6 < high
    assert middle == pytest.approx((32.0 + 37.6) / 2, rel=0.01)


@pytest.mark.parametrize(
    ("name", "book"), [("al-6061-t6", 700), ("al-5083", 700), ("brass-cartridge", 1250), ("steel-mild", 1200)]
)
def test_turning_constants_lie_in_the_spread(name: str, book: float) -> None:
    """[C] p. 192: aluminium 700, brass 1250, mild steel 1200 N/mm2."""
    row = load_material(name)
    assert row.kc11_n_mm2.lowest <= book <= row.kc11_n_mm2.highest


EDGE = [  # Ktc, Krc, Kac [N/mm2], Kte, Kre, Kae [N/mm], as printed; a dash of the source is 0 here
    ("al-6082-t6", (631, 99, 273, 13, 10, 2.8)),
    ("al-6061-t6", (243.77, 113.5, 0, 7.53, 7.83, 0)),
    ("al-7075-t6", (767.01, 168.8, 222, 27.7, 26.6, 0.7)),
    ("al-7075-t6", (600.46, 180.96, 0, 17.9, 20.42, 0)),
    ("al-7075-t6", (951.365, 262.597, 323.33, 11.115, 11.314, 1.105)),
    ("al-7075-t6", (1319.41, 788.83, 48.75, 19.65, 26.77, 2.05)),
]


@pytest.mark.parametrize(("name", "printed"), EDGE)
def test_edge_sets_are_the_table_s(name: str, printed: tuple[float, ...]) -> None:
    """[A] Table 5, row by row; the digits are equal."""
    sets = [
        (s.ktc_n_mm2, s.krc_n_mm2, s.kac_n_mm2, s.kte_n_mm, s.kre_n_mm, s.kae_n_mm)
        for s in load_material(name).edge_sets
        if s.source == "cjme-2021" and s.confidence == "published"
    ]
    assert printed in sets


def test_no_edge_set_takes_the_misaligned_row() -> None:
    """[A] prints 204.3 and 6.7 for AlMgSi0.5 in columns where they cannot belong; no row uses them."""
    for name in ("al-6061-t6", "al-6082-t6", "al-7075-t6", "al-unknown"):
        for edges in load_material(name).edge_sets:
            assert edges.kte_n_mm != 204.3 and edges.kac_n_mm2 != 6.7


def test_kienzle_is_the_high_side_of_the_edge_sets_for_thin_chips() -> None:
    """[A] 6082-T6 against [K]: kc = Ktc + Kte/h is 1312, 891, 761 at 0.019, 0.05, 0.10 mm; Kienzle is above it."""
    row = load_material("al-6082-t6")
    chip = np.array([0.019, 0.05, 0.10])
    edges = row.edge_sets[0]
    mechanistic = edges.ktc_n_mm2 + edges.kte_n_mm / chip
    # the printed values are rounded; 1312 belongs to a chip of 0.0191 mm
    np.testing.assert_allclose(mechanistic, [1312, 891, 761], rtol=0.003)
    ratio = specific_force_n_mm2(row.kc11_n_mm2.value, row.mc.value, chip) / mechanistic
    assert np.all((ratio > 1.5) & (ratio < 2.0))


ENERGY = [  # J/mm3 = 1000 N/mm2, at an uncut chip of 0.25 mm; from memory of [G] and [M]
    ("al-6061-t6", 0.4, 1.0),  # [M] Kalpakjian, aluminium alloys
    ("al-5083", 0.68, 0.90),  # [M] Kp aluminium cast to hard
    ("brass-free-machining", 0.68, 2.2),  # [M] free-machining, [G] brass
    ("copper", 1.4, 3.2),  # [M] Kalpakjian, copper alloys
    ("steel-mild", 1.6, 2.24),  # [G] 150-200 HB steel, [M] Kp 180-200 HB
]


@pytest.mark.parametrize(("name", "low", "high"), ENERGY)
def test_specific_energy_of_handbooks_at_a_quarter_millimetre(name: str, low: float, high: float) -> None:
    """[G], [M]: bands from memory. Books for sharp tools differ by their rake and chip: within a factor of 1.5."""
    row = load_material(name)
    energy = specific_force_n_mm2(row.kc11_n_mm2.value, row.mc.value, 0.25) / 1000
    assert low / 1.5 < energy < high * 1.5


def test_order_of_materials() -> None:
    """Handbooks agree on the order at a tenth of a millimetre: foam < wood < MDF < plastics < aluminium < steel."""
    names = ["pu-foam-240", "softwood", "mdf", "acrylic-cast", "al-6082-t6", "steel-mild"]
    rows = [load_material(name) for name in names]
    kc = [specific_force_n_mm2(row.kc11_n_mm2.value, row.mc.value, 0.1) for row in rows]
    assert all(a < b for a, b in pairwise(kc))
