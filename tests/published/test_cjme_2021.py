"""Milling force model for aviation aluminum alloy, Chinese Journal of Mechanical Engineering (2021), table 5.

doi 10.1186/s10033-021-00536-9. The table gives linear-edge coefficients that were fitted to measured mean forces, so
that the mean forces of those coefficients, integrated over the turn by SciPy, are the measured ones. The function that
runs must give them.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from millcalc.mechanics.forces import turn_loads
from millcalc.mechanics.linear_edge import EdgeCoefficients

TABLE_5 = {  # Ktc, Krc, Kac [N/mm2], Kte, Kre, Kae [N/mm]; a missing axial value is 0
    "6082-T6": EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8),
    "7075-T6": EdgeCoefficients(767.0, 168.8, 222.0, 27.7, 26.6, 0.7),
    "6061-T6": EdgeCoefficients(243.8, 113.5, 0.0, 7.53, 7.83, 0.0),
    "7075-T6, second study": EdgeCoefficients(600.5, 181.0, 0.0, 17.9, 20.4, 0.0),
    "7075, HSS": EdgeCoefficients(951.4, 262.6, 323.0, 11.1, 11.3, 1.1),
}


@pytest.mark.parametrize("alloy", TABLE_5)
@pytest.mark.parametrize("arc", [np.pi, np.pi / 3.0, 0.4])
@pytest.mark.parametrize("flutes", [1, 2, 3])
def test_mean_forces_of_table_5(alloy: str, arc: float, flutes: int) -> None:
    """Table 5: slot and climb cuts, 1.7 mm deep, 0.03 mm a tooth, helix 30 deg; quadrature of the definition."""
    k, depth, feed = TABLE_5[alloy], 1.7, 0.03
    share = flutes * depth / (2.0 * np.pi)

    def tangential(phi: float) -> float:
        return k.ktc_n_mm2 * feed * np.sin(phi) + k.kte_n_mm

    def radial(phi: float) -> float:
        return k.krc_n_mm2 * feed * np.sin(phi) + k.kre_n_mm

    low = np.pi - arc
    x = share * quad(lambda p: -tangential(p) * np.cos(p) - radial(p) * np.sin(p), low, np.pi)[0]
    y = share * quad(lambda p: tangential(p) * np.sin(p) - radial(p) * np.cos(p), low, np.pi)[0]
    found = turn_loads(k, 6.0, flutes, 30.0, feed, arc, depth)
    assert float(found.mean_n) == pytest.approx(np.hypot(x, y), rel=1e-9)
    assert float(found.tangential_n) == pytest.approx(share * quad(tangential, low, np.pi)[0], rel=1e-9)


@pytest.mark.parametrize(
    ("alloy", "per_mm"),
    [("6061-T6", 21.0), ("6082-T6", 41.0), ("7075-T6, second study", 50.0), ("7075-T6", 67.0)],
)
def test_resultant_at_a_chip_of_0_04(alloy: str, per_mm: float) -> None:
    """Table 5: in-plane force of a straight tooth for each millimetre of depth at 0.04 mm, rounded to 1 N."""
    found = turn_loads(TABLE_5[alloy], 6.0, 1, 0.0, 0.04, np.pi, 1.0)
    assert float(found.peak_n) == pytest.approx(per_mm, abs=0.55)
