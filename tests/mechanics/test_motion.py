"""Acceleration-limited motion against plain time stepping, and the corner formulas against vectors."""

from __future__ import annotations

import math

import pytest

from millcalc.mechanics.motion import (
    arc_feed_limit_mm_min,
    reachable_feed_mm_min,
)


@pytest.mark.parametrize(
    ("length", "feeds"),
    [
        (0.5, (424.0, 735.0, 1200.0)),
        (1.0, (600.0, 1039.0, 1697.0)),
        (2.0, (849.0, 1470.0, 2400.0)),
        (5.0, (1342.0, 2324.0, 3795.0)),
        (10.0, (1897.0, 3286.0, 5367.0)),
    ],
)
def test_reachable_feed(length: float, feeds: tuple[float, ...]) -> None:
    """Worked by hand for 100, 300 and 800 mm/s2; the same numbers limit an arc of that radius."""
    for acceleration, feed in zip((100.0, 300.0, 800.0), feeds, strict=True):
        assert reachable_feed_mm_min(length, acceleration) == pytest.approx(feed, abs=0.6)
        assert arc_feed_limit_mm_min(length, acceleration) == pytest.approx(feed, abs=0.6)


def _stepped_time(length: float, feed: float, rate: float, start: float, end: float) -> float:
    """The move in small steps: faster while it can still slow down in time."""
    place, speed, time, step = 0.0, start / 60.0, 0.0, 2e-5
    while place < length:
        left = length - place
        can = math.sqrt((end / 60.0) ** 2 + 2.0 * rate * left)
        speed = min(speed + rate * step, feed / 60.0, max(can, 1e-3))
        place += speed * step
        time += step
    return time
