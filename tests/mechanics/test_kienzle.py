"""Kienzle's curve, its cap and range, the straight line fitted to it, and the unit-power form."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.mechanics.kienzle import (
    specific_force_n_mm2,
)
from millcalc.mechanics.linear_edge import EdgeCoefficients, edge_from_kienzle


def test_cap() -> None:
    """Below the cap the specific force is held, above it nothing changes."""
    held = specific_force_n_mm2(20.0, 0.3, np.array([0.001, 0.02, 0.1]), 0.02)
    free = specific_force_n_mm2(20.0, 0.3, np.array([0.001, 0.02, 0.1]))
    assert held[0] == held[1] == pytest.approx(free[1])
    assert held[2] == pytest.approx(free[2])
    assert free[0] > 2.0 * held[0]


@pytest.mark.parametrize("mc", [0.0, 0.15, 0.25, 0.4])
@pytest.mark.parametrize("cap", [None, 0.02])
def test_straight_line_follows_the_curve(mc: float, cap: float | None) -> None:
    """Within the range the line is near the curve, and no other line is nearer (NumPy's own fit)."""
    fit = edge_from_kienzle(
        800.0, mc, cap_mm=cap, radial_ratio=0.4, axial_ratio=0.3, chip_low_mm=0.01, chip_high_mm=0.06
    )
    chips = np.linspace(0.01, 0.06, 129)
    force = chips * specific_force_n_mm2(800.0, mc, chips, cap)
    line = fit.ktc_n_mm2 * chips + fit.kte_n_mm
    assert np.abs(line / force - 1.0)[chips >= 0.02].max() < 0.10
    assert (line / force)[0] >= 1.0 - 1e-9  # at the thin end it stays on the high side
    slope, offset = np.polyfit(chips, force, 1)
    assert fit.ktc_n_mm2 == pytest.approx(slope, rel=1e-6)
    assert fit.kte_n_mm == pytest.approx(max(offset, 0.0), abs=1e-6)
    assert fit.krc_n_mm2 == pytest.approx(0.4 * fit.ktc_n_mm2)
    assert fit.kae_n_mm == pytest.approx(0.3 * fit.kte_n_mm)


def test_straight_line_needs_a_range() -> None:
    """An empty range of chips is refused."""
    with pytest.raises(ValueError, match="chip_high_mm must be greater"):
        edge_from_kienzle(800.0, 0.25, radial_ratio=0.4, axial_ratio=0.3, chip_low_mm=0.02, chip_high_mm=0.02)


def test_scaled_coefficients() -> None:
    """A blunt edge multiplies the edge part, a spread the cutting part."""
    base = EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8)
    blunt = base.scaled(edge=3.0)
    assert (blunt.ktc_n_mm2, blunt.kte_n_mm, blunt.kre_n_mm) == (631.0, 39.0, 30.0)
    assert base.scaled(cutting=1.4).krc_n_mm2 == pytest.approx(138.6)
    with pytest.raises(ValueError, match="edge"):
        base.scaled(edge=-1.0)
