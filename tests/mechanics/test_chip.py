"""Chip thickness against the trochoid a tooth really follows, and the shares of run-out."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from millcalc.mechanics.chip import (
    arc_max_chip_mm,
    feed_for_max_chip_mm,
    feed_for_mean_chip_mm,
    max_chip_mm,
    mean_chip_mm,
    thinning_factor,
)
from millcalc.mechanics.engagement import entry_exit_rad
from millcalc.mechanics.runout import runout_chips_mm, tooth_radii_mm, tooth_shares_mm


@pytest.mark.parametrize("width", [0.3, 0.6, 1.5, 3.0, 4.5, 6.0])
@pytest.mark.parametrize("climb", [True, False])
def test_mean_and_max_over_the_arc(width: float, climb: bool) -> None:
    """Both are the mean and maximum of fz sin(phi) over the arc, integrated by SciPy."""
    entry, leave = entry_exit_rad(width, 6.0, climb)
    mean = quad(lambda p: 0.05 * np.sin(p), entry, leave)[0] / (leave - entry)
    assert mean_chip_mm(0.05, width, 6.0) == pytest.approx(mean)
    angles = np.linspace(entry, leave, 20_001)
    assert max_chip_mm(0.05, width, 6.0) == pytest.approx(0.05 * np.sin(angles).max(), rel=1e-7)
    assert arc_max_chip_mm(0.05, entry, leave) == pytest.approx(max_chip_mm(0.05, width, 6.0))


@pytest.mark.parametrize("width", [0.6, 3.0])
def test_circular_path_against_the_trochoid(width: float) -> None:
    """The centre moves while a tooth turns; for fz = D/120 the thickest chip differs by less than 2 %."""
    feed, radius = 0.05, 3.0
    _, leave = entry_exit_rad(width, 6.0, climb=False)
    old = np.linspace(-0.2, np.pi, 40_000)
    path_x = radius * np.sin(old) + feed * old / (2.0 * np.pi)
    path_y = radius * np.cos(old)
    angles = np.linspace(0.05, leave, 200)
    thick = []
    for phi in angles:
        centre = feed + feed * phi / (2.0 * np.pi)
        far = np.array([centre + radius * np.sin(phi), radius * np.cos(phi)])
        ray = np.array([np.sin(phi), np.cos(phi)])
        relative = np.stack([path_x - centre, path_y])
        across = ray[0] * relative[1] - ray[1] * relative[0]
        near = np.argmin(np.abs(across) + (relative[0] * ray[0] + relative[1] * ray[1] < 0) * 1e9)
        reach = relative[:, near] @ ray
        thick.append((far - [centre, 0.0]) @ ray - reach)
    assert max(thick) == pytest.approx(max_chip_mm(feed, width, 6.0), rel=0.02)


def test_inverses() -> None:
    """The feed that is asked for gives the chip that was asked for."""
    for width in (0.2, 1.0, 3.0, 6.0):
        feed = feed_for_max_chip_mm(0.02, width, 6.0)
        assert max_chip_mm(feed, width, 6.0) == pytest.approx(0.02)
        assert feed / 0.02 == pytest.approx(thinning_factor(width, 6.0))
        assert mean_chip_mm(feed_for_mean_chip_mm(0.02, width, 6.0), width, 6.0) == pytest.approx(0.02)


def test_two_teeth_under_run_out() -> None:
    """One tooth takes fz + e, the other fz - e, until one takes all (e is the indicator reading)."""
    assert runout_chips_mm(0.03, 0.01, 2) == pytest.approx((0.02, 0.04))
    assert runout_chips_mm(0.03, 0.03, 2) == pytest.approx((0.0, 0.06))
    assert runout_chips_mm(0.03, 0.30, 2) == pytest.approx((0.0, 0.06))


def test_one_tooth_does_not_care() -> None:
    """A single tooth takes the feed of the turn whatever the run-out."""
    assert runout_chips_mm(0.03, 0.2, 1) == (0.03, 0.03)


@pytest.mark.parametrize("flutes", [2, 3, 4, 6])
@pytest.mark.parametrize("runout", [0.0, 0.005, 0.02, 0.2])
def test_shares_add_up_to_the_turn(flutes: int, runout: float) -> None:
    """Whatever the run-out, the teeth together take the feed of the turn."""
    for phase in (0.0, 0.3, 1.0):
        shares = tooth_shares_mm(0.03, tooth_radii_mm(runout, flutes, phase))
        assert shares.min() >= 0.0
        assert shares.sum() == pytest.approx(0.03 * flutes)


def test_shares_by_cutting_turn_after_turn() -> None:
    """Teeth that advance step by step and cut what stands in front of them, in plain code."""
    feed, radii = 0.02, tooth_radii_mm(0.05, 4, 0.4)
    surface, advance, chips = -1e9, 0.0, [0.0] * 4
    for cut in range(400):
        tooth = cut % 4
        advance += feed
        front = advance + radii[tooth]
        chips[tooth] = max(front - surface, 0.0)
        surface = max(surface, front)
    assert tooth_shares_mm(feed, radii) == pytest.approx(np.array(chips), abs=1e-9)


def test_run_out_arrays() -> None:
    """Arrays broadcast."""
    least, most = runout_chips_mm(np.array([0.02, 0.03]), np.array([[0.0], [0.01]]), 2)
    assert least == pytest.approx(np.array([[0.02, 0.03], [0.01, 0.02]]))
    assert most == pytest.approx(np.array([[0.02, 0.03], [0.03, 0.04]]))
