"""Kienzle's curve, its cap and range, the straight line fitted to it, and the unit-power form."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.mechanics.kienzle import (
    cutting_power_w,
    is_extrapolated,
    mean_tangential_n,
    rake_factor,
    specific_force_n_mm2,
    teeth_in_cut,
    tooth_tangential_n,
    torque_nm,
)
from millcalc.mechanics.kinematics import cutting_speed_m_min, feed_mm_min
from millcalc.mechanics.linear_edge import EdgeCoefficients, edge_from_kienzle, specific_energy_n_mm2
from millcalc.mechanics.unit_power import unit_power_feed_factor, unit_power_w


def test_aluminium_slot() -> None:
    """6 mm single flute, 18 000 rev/min, 0.03 mm, 1 mm deep in cured aluminium, worked by hand."""
    kc = specific_force_n_mm2(800.0, 0.25, 0.0191)
    feed = feed_mm_min(0.03, 1, 18_000.0)
    power = cutting_power_w(kc, 1.0, 6.0, feed)
    assert kc == pytest.approx(2152.0, abs=1.0)
    assert power == pytest.approx(116.0, abs=0.5)
    assert torque_nm(power, 18_000.0) == pytest.approx(0.0616, abs=2e-4)
    force = mean_tangential_n(kc, 1.0, 6.0, 0.03, 1, 6.0)
    assert force == pytest.approx(20.5, abs=0.1)
    assert force * cutting_speed_m_min(18_000.0, 6.0) / 60.0 == pytest.approx(power)
    peak = tooth_tangential_n(specific_force_n_mm2(800.0, 0.25, 0.03), 1.0, 0.03)
    assert peak == pytest.approx(57.7, abs=0.05)


def test_board_slot() -> None:
    """6 mm two-flute, 16 000 rev/min, 0.1 mm, 6 mm deep in fibre board at kc 35, worked by hand."""
    feed = feed_mm_min(0.1, 2, 16_000.0)
    assert feed == pytest.approx(3200.0)
    assert cutting_power_w(35.0, 6.0, 6.0, feed) == pytest.approx(67.2, abs=0.05)
    assert mean_tangential_n(35.0, 6.0, 6.0, 0.1, 2, 6.0) == pytest.approx(13.4, abs=0.05)


def test_cap() -> None:
    """Below the cap the specific force is held, above it nothing changes."""
    held = specific_force_n_mm2(20.0, 0.3, np.array([0.001, 0.02, 0.1]), 0.02)
    free = specific_force_n_mm2(20.0, 0.3, np.array([0.001, 0.02, 0.1]))
    assert held[0] == held[1] == pytest.approx(free[1])
    assert held[2] == pytest.approx(free[2])
    assert free[0] > 2.0 * held[0]


def test_range_of_the_fits() -> None:
    """Below 0.05 mm and above 1 mm the curve is extrapolated, and says so."""
    assert is_extrapolated(0.049) is True
    assert is_extrapolated(0.05) is False
    assert is_extrapolated(1.0) is False
    assert is_extrapolated(np.array([0.01, 0.1, 1.1])).tolist() == [True, False, True]


def test_thin_chips_are_the_high_side() -> None:
    """In aluminium Kienzle lies 1.5 to 1.9 times above published milling coefficients at router chips."""
    milling = EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8)
    for chip in (0.02, 0.03, 0.05):
        ratio = specific_force_n_mm2(800.0, 0.25, chip) / specific_energy_n_mm2(milling, chip)
        assert 1.5 < ratio < 1.95


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


def test_rake() -> None:
    """1.5 % for each degree, both ways; far off the reference the rule is refused."""
    assert rake_factor(6.0, 6.0) == 1.0
    assert rake_factor(-6.7) == pytest.approx(1.1, abs=1e-3)
    with pytest.raises(ValueError, match="rake_deg minus reference_rake_deg"):
        rake_factor(45.0)


def test_unit_power() -> None:
    """Factors multiply, the efficiency divides; the feed factor is the table's, and has an end."""
    assert unit_power_w(0.9, 6000.0, 1.25, 1.1, 0.8) == pytest.approx(0.9 * 1.25 * 1.1 * 100.0 / 0.8)
    assert unit_power_feed_factor(np.array([0.02, 0.05, 0.30])).tolist() == [1.70, 1.40, 1.00]
    assert unit_power_feed_factor(0.085) == pytest.approx((1.30 + 1.25) / 2.0)
    with pytest.raises(ValueError, match=r"from 0\.02 to 0\.5"):
        unit_power_feed_factor(0.01)


def test_teeth_in_cut() -> None:
    """Four teeth over a quarter turn are one tooth on average."""
    assert teeth_in_cut(4, np.pi / 2.0) == pytest.approx(1.0)
