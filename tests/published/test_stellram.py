"""Stellram, milling catalogue, page 87: feed compensation for inclined edges and narrow cuts."""

from __future__ import annotations

import pytest

from millcalc.mechanics.chip import feed_for_mean_chip_sqrt_mm, mean_chip_mm
from millcalc.mechanics.chip_forms import lead_angle_feed_mm


def test_inclined_edge() -> None:
    """Page 87: a chip of 0.08 mm on a 42 deg edge needs 0.12 mm a tooth (0.08 / 0.669)."""
    assert lead_angle_feed_mm(0.08, 42.0) == pytest.approx(0.12, abs=0.001)


def test_straight_edge_needs_no_compensation() -> None:
    """Page 87: at 90 deg the feed per tooth is the chip."""
    assert lead_angle_feed_mm(0.08, 90.0) == pytest.approx(0.08)


@pytest.mark.parametrize("share", [0.05, 0.1, 0.2, 0.3])
def test_square_root_rule(share: float) -> None:
    """Page 87: fz = hm sqrt(D/ae) below half the diameter; the exact mean of that feed is hm within 6 %."""
    feed = feed_for_mean_chip_sqrt_mm(0.08, share * 12.0, 12.0)
    assert mean_chip_mm(feed, share * 12.0, 12.0) == pytest.approx(0.08, rel=0.06)
