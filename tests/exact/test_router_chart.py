"""A router-bit maker's chip-load chart for solid wood, version 5, undated, PDF, address not kept: its worked relation.

Speed, flutes and feed, in inches.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.kinematics import feed_mm_min, feed_per_tooth_mm

INCH_MM = 25.4


def test_feed() -> None:
    """Chart: 18 000 rev/min, 2 flutes, 0.005 in a tooth give 180 in/min."""
    assert feed_mm_min(0.005 * INCH_MM, 2, 18_000.0) / INCH_MM == pytest.approx(180.0)


def test_chip_load() -> None:
    """Chart: chip load = feed / (speed x flutes)."""
    assert feed_per_tooth_mm(180.0 * INCH_MM, 2, 18_000.0) / INCH_MM == pytest.approx(0.005)
