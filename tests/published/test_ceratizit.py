"""Ceratizit, electronic catalogue 2026, page 802: feed per tooth that gives a mean chip of 0.16 mm.

The table uses fz = hm sqrt(D/ae); printed to two places.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.chip import feed_for_mean_chip_mm, feed_for_mean_chip_sqrt_mm

ROWS = [(0.2, 0.36), (0.3, 0.29), (0.4, 0.25), (0.75, 0.18), (1.0, 0.16)]


@pytest.mark.parametrize(("share", "feed"), ROWS)
def test_feed_for_mean_chip(share: float, feed: float) -> None:
    """Page 802: fz over ae/D for hm = 0.16 mm; 0.75 gives 0.1848, printed 0.18."""
    assert feed_for_mean_chip_sqrt_mm(0.16, share * 20.0, 20.0) == pytest.approx(feed, abs=0.0055)


def test_approximation_holds_for_narrow_cuts() -> None:
    """Page 802 against the exact mean over the arc: close at ae/D = 0.2, 36 % low in a slot, as we state."""
    narrow = feed_for_mean_chip_mm(0.16, 4.0, 20.0)
    slot = feed_for_mean_chip_mm(0.16, 20.0, 20.0)
    assert narrow == pytest.approx(0.36, rel=0.04)
    assert 0.16 / slot == pytest.approx(1.0 - 0.36, abs=0.005)
