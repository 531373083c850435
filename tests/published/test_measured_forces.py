"""Milling forces and powers that were measured, against the forces and powers that settings and check compute.

[G] Goli, G., Curti, R., Marcon, B., Scippa, A., Campatelli, G., Furferi, R., Denaud, L. Specific Cutting Forces of
    Isotropic and Orthotropic Engineered Wood Products by Round Shape Machining. Materials 11 (2018) 2575,
    doi 10.3390/ma11122575, Tables 2 to 4. One straight carbide edge, diameter 80 mm, 3000 rev/min, 2 m/min, width 0.3,
    0.7, 1.1 and 1.5 mm, up-milling; dynamometer. The measured force on each millimetre of edge is printed as a line,
    slope times chip plus intercept.
[P] Palubicki, B. Cutting Forces in Peripheral Up-Milling of Particleboard. Materials 14 (2021) 2208,
    doi 10.3390/ma14092208, abstract: 32.0 and 37.6 N/mm2 at 40 and 60 m/s; one knife, radius 82.5 mm, 1.5 mm a tooth,
    width 2 mm, board 17 mm.
[D] Durkovic, M., Danon, G. Comparison of measured and calculated values of cutting forces in oak wood peripheral
    milling. Wood Research 62 (2017) 293-306, equation 3: motor power P = 1890.7 e^0.477 W for a mean chip e in mm.
    Four blades, diameter 125 mm, 5860 rev/min, oak 30 mm thick, along the grain, feed 4 to 16 m/min, width 2 to 4.5 mm,
    chips 0.0216 to 0.1295 mm.
[C] Chuchala, D. et al. The effect of wood provenance and density on cutting forces while sawing Scots pine.
    BioResources 9 (2014) 5349-5361, abstract: force from density alone "a rather rough and imperfect estimate".

The digits were read in public transcriptions that quote the papers, not in the papers themselves. Tolerances are the
spread that the program itself prints about its nominal force.
"""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.limits.coefficients import edge_sets
from millcalc.mechanics.chip import max_chip_mm, mean_chip_mm
from millcalc.mechanics.engagement import engagement_angle_rad
from millcalc.mechanics.forces import power_of_force_w, turn_loads
from millcalc.tables import load_material

WIDTHS_MM = (0.3, 0.7, 1.1, 1.5)


def over_the_turn(
    material: str, diameter: float, flutes: int, chip: float, width: float, depth: float
) -> np.ndarray:
    """Tangential force with the least, nominal and greatest coefficients, mean of a turn [N]."""
    arc = float(engagement_angle_rad(width, diameter))
    thickest = float(max_chip_mm(chip, width, diameter))
    sets = edge_sets(load_material(material), 0.2 * thickest, thickest)
    return np.array(
        [float(turn_loads(s, diameter, flutes, 0.0, chip, arc, depth).tangential_n) for s in sets]
    )


def in_the_cut(material: str, diameter: float, chip: float, width: float, depth: float) -> np.ndarray:
    """The same, mean of the time that one tooth is in the cut [N]."""
    arc = float(engagement_angle_rad(width, diameter))
    return over_the_turn(material, diameter, 1, chip, width, depth) * 2.0 * np.pi / arc


def measured_n_mm(slope: float, intercept: float, width: float) -> float:
    return slope * float(mean_chip_mm(2000.0 / 3000.0, width, 80.0)) + intercept


@pytest.mark.parametrize("width", WIDTHS_MM)
def test_force_in_mdf(width: float) -> None:
    """[G] Table 3: 31.44 h + 3.36 N/mm, over the positions of the disk 25.81 to 35.58 and 2.96 to 3.83."""
    least, nominal, greatest = in_the_cut("mdf", 80.0, 2000.0 / 3000.0, width, 1.0)
    assert nominal == pytest.approx(measured_n_mm(31.44, 3.36, width), rel=0.01)
    assert least < measured_n_mm(25.81, 2.96, width) < measured_n_mm(35.58, 3.83, width) < greatest


@pytest.mark.parametrize("width", WIDTHS_MM)
def test_force_in_ptfe(width: float) -> None:
    """[G] Table 2: 20.33 h + 2.71 N/mm; the row is an estimate from the yield strength, and its spread holds it."""
    least, nominal, greatest = in_the_cut("ptfe", 80.0, 2000.0 / 3000.0, width, 1.0)
    measured = measured_n_mm(20.33, 2.71, width)
    assert least < measured < greatest
    assert nominal == pytest.approx(measured, rel=0.25)


@pytest.mark.parametrize("width", WIDTHS_MM)
def test_force_in_beech_along_and_across_the_grain(width: float) -> None:
    """[G] Table 4, beech veneer lumber: 11.73 h + 3.70 along and 32.29 h + 7.66 N/mm across the grain.

    The nominal force lies below both, as oak's power asks ([D], below); the greatest is the one across the grain.
    """
    least, nominal, greatest = in_the_cut("hardwood-dense", 80.0, 2000.0 / 3000.0, width, 1.0)
    along, across = measured_n_mm(11.73, 3.70, width), measured_n_mm(32.29, 7.66, width)
    assert least < nominal < along < across
    assert greatest == pytest.approx(across, rel=0.01)


@pytest.mark.parametrize("width", WIDTHS_MM)
@pytest.mark.parametrize(
    "material", ["balsa", "softwood", "plywood-softwood", "hardwood-medium", "plywood-birch", "bamboo"]
)
def test_greatest_force_in_woods_is_beech_across_the_grain_by_density(material: str, width: float) -> None:
    """[G] Table 4 across the grain, times the wood's density over 696 kg/m3, at most beech's own.

    That force goes with density is common practice; [C] calls density alone a rough and imperfect estimate. So the
    line bounds the greatest force only, and the nominal one, from which advice starts, lies below it.
    """
    least, nominal, greatest = in_the_cut(material, 80.0, 2000.0 / 3000.0, width, 1.0)
    share = min(load_material(material).density_kg_m3.value / 696.0, 1.0)
    across = share * measured_n_mm(32.29, 7.66, width)
    assert 0.998 * across <= greatest < 1.02 * across
    assert least < nominal < across


@pytest.mark.parametrize("chip", [0.02, 0.05, 0.1, 0.2])
def test_force_rises_from_softwood_over_plywood_to_hardwood(chip: float) -> None:
    """Common practice, no source: the harder the wood, the greater the force, whichever end of the range is taken."""
    names = ("balsa", "softwood", "plywood-softwood", "plywood-birch", "hardwood-dense")
    forces = np.array([in_the_cut(name, 6.0, chip, 6.0, 1.0) for name in names])
    assert (np.diff(forces, axis=0) >= -1e-9).all()


def test_specific_force_of_particle_board() -> None:
    """[P]: 32.0 and 37.6 N/mm2 lie in the spread, and the nominal force is their middle within 2 %."""
    chip = float(mean_chip_mm(1.5, 2.0, 165.0))
    least, nominal, greatest = in_the_cut("particle-board", 165.0, 1.5, 2.0, 17.0) / (17.0 * chip)
    assert least < 32.0 < 37.6 < greatest
    assert nominal == pytest.approx((32.0 + 37.6) / 2, rel=0.02)


@pytest.mark.parametrize(
    ("feed_m_min", "width", "chip", "watts", "share"),
    [
        (4.0, 2.0, 0.0216, 303.0, 0.89),
        (10.0, 3.0, 0.0661, 517.0, 1.45),
        (16.0, 2.0, 0.0863, 588.0, 1.25),
        (16.0, 4.5, 0.1295, 713.0, 2.06),
    ],
)
def test_power_in_oak(feed_m_min: float, width: float, chip: float, watts: float, share: float) -> None:
    """[D] equation 3 at the ends and in the middle of its range, watts to three digits.

    At the thinnest chip the power is met; at thick ones the row, which must hold for any direction of the grain, asks
    for up to twice what was measured along it: the safe side. `share` is pinned, ours over the measured one.
    """
    fz = feed_m_min * 1000.0 / 5860.0 / 4.0
    assert fz * (width / 125.0) ** 0.5 == pytest.approx(chip, abs=6e-5)
    assert pytest.approx(watts, rel=2e-3) == 1890.7 * chip**0.477
    force = over_the_turn("hardwood-dense", 125.0, 4, fz, width, 30.0)
    power = np.asarray(power_of_force_w(force, np.pi * 125.0 * 5860.0 / 1000.0))
    assert power[0] < 1.2 * watts and power[2] > watts
    assert power[1] / watts == pytest.approx(share, abs=0.02)


def test_order_of_panels_and_woods_around_the_measured_ones() -> None:
    """[G], [P]: estimates stand in order about what was measured: HDF over MDF, medium hardwood not below a board."""
    force = {name: in_the_cut(name, 6.0, 0.1, 1.2, 1.0)[1] for name in
             ("softwood", "particle-board", "hardwood-medium", "hardwood-dense", "mdf", "hdf")}  # fmt: skip
    assert force["softwood"] < force["particle-board"] <= force["hardwood-medium"] < force["hardwood-dense"]
    assert force["mdf"] < force["hdf"]
