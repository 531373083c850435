"""Milling force model for aviation aluminum alloy, Chinese Journal of Mechanical Engineering (2021), table 5.

doi 10.1186/s10033-021-00536-9. The table gives linear-edge coefficients; the mean slot forces of those
coefficients are checked against the definition of the model, integrated over the turn by SciPy.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from millcalc.mechanics.linear_edge import (
    EdgeCoefficients,
    mean_forces_n,
    specific_energy_n_mm2,
    tooth_forces_n,
)
from millcalc.mechanics.turn import turn_forces

TABLE_5 = {  # Ktc, Krc, Kac [N/mm2], Kte, Kre, Kae [N/mm]; a missing axial value is 0
    "6082-T6": EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8),
    "7075-T6": EdgeCoefficients(767.0, 168.8, 222.0, 27.7, 26.6, 0.7),
    "6061-T6": EdgeCoefficients(243.8, 113.5, 0.0, 7.53, 7.83, 0.0),
    "7075-T6, second study": EdgeCoefficients(600.5, 181.0, 0.0, 17.9, 20.4, 0.0),
    "7075, HSS": EdgeCoefficients(951.4, 262.6, 323.0, 11.1, 11.3, 1.1),
}


def _mean_by_definition(
    k: EdgeCoefficients, flutes: int, depth: float, feed: float, entry: float, leave: float
) -> tuple[float, float, float]:
    def tangential(phi: float) -> float:
        return k.ktc_n_mm2 * feed * np.sin(phi) + k.kte_n_mm

    def radial(phi: float) -> float:
        return k.krc_n_mm2 * feed * np.sin(phi) + k.kre_n_mm

    def axial(phi: float) -> float:
        return k.kac_n_mm2 * feed * np.sin(phi) + k.kae_n_mm

    share = flutes * depth / (2.0 * np.pi)
    x = quad(lambda p: -tangential(p) * np.cos(p) - radial(p) * np.sin(p), entry, leave)[0]
    y = quad(lambda p: tangential(p) * np.sin(p) - radial(p) * np.cos(p), entry, leave)[0]
    z = quad(axial, entry, leave)[0]
    return share * x, share * y, share * z


@pytest.mark.parametrize("alloy", TABLE_5)
@pytest.mark.parametrize(("entry", "leave"), [(0.0, np.pi), (0.0, np.pi / 3.0), (2.0 * np.pi / 3.0, np.pi)])
def test_mean_forces_of_table_5(alloy: str, entry: float, leave: float) -> None:
    """Table 5: slot, conventional and climb cut to 60 deg, two teeth, 1 mm deep, 0.03 mm a tooth."""
    expected = _mean_by_definition(TABLE_5[alloy], 2, 1.0, 0.03, entry, leave)
    assert mean_forces_n(TABLE_5[alloy], 2, 1.0, 0.03, entry, leave) == pytest.approx(expected, abs=1e-9)
    turn = turn_forces(TABLE_5[alloy], 6.0, 2, 1.0, 0.03, entry, leave, 30.0)
    found = (turn.mean_x_n, turn.mean_y_n, turn.mean_axial_n)
    assert found == pytest.approx(expected, rel=2e-3, abs=2e-3)


def test_slot_forces_of_6082() -> None:
    """Table 5, 6082-T6: -7.85 N along, 17.74 N across, 8.01 N up for each millimetre (worked by hand)."""
    forces = mean_forces_n(TABLE_5["6082-T6"], 2, 1.0, 0.03, 0.0, np.pi)
    assert forces == pytest.approx((-7.85, 17.74, 8.01), abs=0.005)


@pytest.mark.parametrize(
    ("alloy", "per_mm"),
    [("6061-T6", 21.0), ("6082-T6", 41.0), ("7075-T6, second study", 50.0), ("7075-T6", 67.0)],
)
def test_resultant_at_a_chip_of_0_04(alloy: str, per_mm: float) -> None:
    """Table 5: in-plane force of a tooth for each millimetre of depth at 0.04 mm, rounded to 1 N."""
    tangential, radial, _ = tooth_forces_n(TABLE_5[alloy], 1.0, 0.04)
    assert np.hypot(tangential, radial) == pytest.approx(per_mm, abs=0.55)


@pytest.mark.parametrize(("chip", "kc"), [(0.019, 1315.0), (0.05, 891.0), (0.10, 761.0)])
def test_specific_energy_of_6082(chip: float, kc: float) -> None:
    """Table 5, 6082-T6: Ktc + Kte/h, worked by hand; the edge makes half of it at 0.02 mm."""
    assert specific_energy_n_mm2(TABLE_5["6082-T6"], chip) == pytest.approx(kc, abs=1.0)


def test_spread_of_one_family() -> None:
    """Table 5: 6xxx and 7075 differ by a factor of three for the same tooth, which reports must not hide."""
    forces = [np.hypot(*tooth_forces_n(k, 1.0, 0.04)[:2]) for k in TABLE_5.values()]
    assert 3.0 < max(forces) / min(forces) < 3.4
