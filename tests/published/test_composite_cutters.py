"""A cutter maker's leaflet on tools for composites, undated, page 4: chart in inches.

Address: https://docs.steelcam.org/sgs/katalog-pcr-series-frezy-dlya-obrabotki-plastika-page4

The chart uses 3.82 for 12/pi, 0.01 % off, and rounds the feed up to a tenth of an inch.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.kinematics import feed_mm_min, spindle_speed_rpm

FOOT_M, INCH_MM = 0.3048, 25.4


def test_speed_of_an_eighth_inch_cutter() -> None:
    """Page 4: 400 ft/min on 1/8 in is 12 224 rev/min."""
    assert spindle_speed_rpm(400.0 * FOOT_M, INCH_MM / 8.0) == pytest.approx(12_224.0, rel=2e-4)


def test_feed_of_an_eighth_inch_cutter() -> None:
    """Page 4: 0.0024 in a turn at 12 224 rev/min is 29.4 in/min."""
    assert feed_mm_min(0.0024 * INCH_MM, 1, 12_224.0) / INCH_MM == pytest.approx(29.4, abs=0.1)
