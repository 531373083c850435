"""The closed chatter minimum against a minimiser, worked cases, and the empty and one-sided cases of the lobes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from millcalc.mechanics.lobes import (
    ChatterCut,
    chatter_depths_mm,
    conservative_limit_mm,
    limit_at_speed_mm,
    lobes,
)
from millcalc.mechanics.modes import VibrationMode
from millcalc.mechanics.stability import best_speeds_rpm


def test_mode_without_weight_changes_nothing() -> None:
    """A mode a thousand times stiffer leaves limit and lobes where they were."""
    soft = VibrationMode(922.0, 0.011, 1.34)
    stiff = VibrationMode(3000.0, 0.02, 1340.0)
    one = ChatterCut(600.0, 0.3, 2, 0.0, 2.0, (), (soft,))
    two = ChatterCut(600.0, 0.3, 2, 0.0, 2.0, (), (soft, stiff))
    assert conservative_limit_mm(two) == pytest.approx(conservative_limit_mm(one), rel=0.01)
    speeds = np.array([10_000.0, 21_000.0])
    assert limit_at_speed_mm(two, speeds) == pytest.approx(limit_at_speed_mm(one, speeds), rel=0.02)


def test_limit_scales() -> None:
    """Twice the stiffness, or half the cutting coefficient, doubles the depth."""
    base = ChatterCut(600.0, 0.3, 2, 0.0, math.pi, (VibrationMode(900.0, 0.02, 1.0),))
    stiff = ChatterCut(600.0, 0.3, 2, 0.0, math.pi, (VibrationMode(900.0, 0.02, 2.0),))
    soft = ChatterCut(300.0, 0.3, 2, 0.0, math.pi, (VibrationMode(900.0, 0.02, 1.0),))
    assert conservative_limit_mm(stiff) == pytest.approx(2.0 * conservative_limit_mm(base))
    assert conservative_limit_mm(soft) == pytest.approx(2.0 * conservative_limit_mm(base))
    assert limit_at_speed_mm(stiff, 12_345.0) == pytest.approx(2.0 * limit_at_speed_mm(base, 12_345.0))


def test_no_speed_is_below_the_conservative_limit() -> None:
    """The lobes never dip below it (linear interpolation over frequency leaves 0.5 %), and come close to it."""
    mode = VibrationMode(922.0, 0.011, 1.34)
    cut = ChatterCut(600.0, 0.3, 2, 0.5, 2.5, (mode,), (VibrationMode(700.0, 0.03, 1.0),))
    _, depths = lobes(cut, 3000.0, 30_000.0, 500)
    lowest = conservative_limit_mm(cut)
    assert depths.min() >= 0.995 * lowest
    assert depths.min() <= 1.01 * lowest


def test_lobe_arguments() -> None:
    """Ranges that do not rise and speeds of zero are refused."""
    cut = ChatterCut(600.0, 0.3, 2, 0.5, 2.5, (VibrationMode(922.0, 0.011, 1.34),))
    with pytest.raises(ValueError, match="highest_rpm must not be below lowest_rpm"):
        lobes(cut, 20_000.0, 10_000.0)
    with pytest.raises(ValueError, match="speed_rpm"):
        limit_at_speed_mm(cut, np.array([1000.0, 0.0]))
    with pytest.raises(ValueError, match="highest_rpm must not be below lowest_rpm"):
        best_speeds_rpm(900.0, 1, 20_000.0, 10_000.0)


def test_speeds_in_step() -> None:
    """Whole parts of 60 f / z inside the range, ends included; none when the range holds none."""
    assert best_speeds_rpm(950.0, 1, 14_250.0, 28_500.0).tolist() == [28_500.0, 19_000.0, 14_250.0]
    assert best_speeds_rpm(950.0, 2, 15_000.0, 20_000.0).size == 0
    assert best_speeds_rpm(100.0, 1, 8000.0, 24_000.0).size == 0


def test_each_solution_is_followed_over_the_cut_of_the_square_root() -> None:
    """Two modes whose response turns past the negative axis: neither solution's phase jumps by more than 0.1 rad."""
    cut = ChatterCut(
        600.0, 0.3, 2, 0.5, 2.5, (VibrationMode(922.0, 0.011, 1.34),), (VibrationMode(700.0, 0.03, 1.0),)
    )
    _, phase = chatter_depths_mm(cut, np.linspace(600.0, 1100.0, 2000))
    steps = np.abs(np.angle(np.exp(1j * np.diff(phase, axis=1))))
    assert np.nanmax(steps, axis=1) == pytest.approx([0.014, 0.048], abs=0.002)
