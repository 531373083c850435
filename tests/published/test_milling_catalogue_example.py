"""A tool maker's milling catalogue, undated, page 78: worked example of speed and feed. Digits compared as printed.

Address: https://docs.steelcam.org/widia/katalog-widia-trohoidalnoe-frezerovanie-page80
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.kinematics import (
    cutting_speed_m_min,
    feed_mm_min,
    feed_per_tooth_mm,
    spindle_speed_rpm,
)


def test_spindle_speed() -> None:
    """Page 78: 200 m/min on 125 mm gives 510 rev/min (rounded up to the ten by the source)."""
    assert spindle_speed_rpm(200.0, 125.0) == pytest.approx(510.0, rel=0.002)


def test_cutting_speed_back() -> None:
    """Page 78: 510 rev/min on 125 mm is 200 m/min."""
    assert cutting_speed_m_min(510.0, 125.0) == pytest.approx(200.0, rel=0.002)


def test_feed() -> None:
    """Page 78: 0.2 mm, 8 teeth, 510 rev/min give 816 mm/min."""
    assert feed_mm_min(0.2, 8, 510.0) == pytest.approx(816.0)


def test_feed_per_tooth_back() -> None:
    """Page 78: 816 mm/min with 8 teeth at 510 rev/min is 0.2 mm a tooth."""
    assert feed_per_tooth_mm(816.0, 8, 510.0) == pytest.approx(0.2)
