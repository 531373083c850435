"""Acceleration-limited motion against plain time stepping, and the corner formulas against vectors."""

from __future__ import annotations

import math

import numpy as np
import pytest

from millcalc.mechanics.motion import (
    arc_feed_limit_mm_min,
    corner_feed_mm_min,
    direction_limit,
    fillet_radius_mm,
    length_to_reach_mm,
    reachable_feed_mm_min,
    trapezoid_time_s,
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


@pytest.mark.parametrize(
    ("length", "feed", "rate", "start", "end"),
    [
        (10.0, 600.0, 100.0, 0.0, 0.0),
        (0.5, 1800.0, 200.0, 0.0, 0.0),
        (5.0, 1200.0, 300.0, 600.0, 0.0),
        (2.0, 1500.0, 300.0, 300.0, 900.0),
    ],
)
def test_time_of_a_move(length: float, feed: float, rate: float, start: float, end: float) -> None:
    """The closed time against stepping, within half a percent."""
    expected = _stepped_time(length, feed, rate, start, end)
    assert trapezoid_time_s(length, feed, rate, start, end) == pytest.approx(expected, rel=5e-3)


def test_time_edges() -> None:
    """No length takes no time; a move too short for its ends takes the time of one change; bad ends are refused."""
    assert trapezoid_time_s(0.0, 600.0, 100.0) == 0.0
    short = trapezoid_time_s(0.01, 1200.0, 100.0, 1200.0, 0.0)
    assert short == pytest.approx(0.01 / 10.0)
    with pytest.raises(ValueError, match="at most feed_mm_min"):
        trapezoid_time_s(1.0, 600.0, 100.0, 900.0)


def test_length_to_reach() -> None:
    """Up and down take the same length; the feed reached over twice that length from rest agrees."""
    assert length_to_reach_mm(1200.0, 100.0) == pytest.approx(2.0)
    assert length_to_reach_mm(0.0, 100.0, 1200.0) == pytest.approx(2.0)
    assert reachable_feed_mm_min(2.0 * 2.0, 100.0) == pytest.approx(1200.0)


@pytest.mark.parametrize("turn", [5.0, 45.0, 90.0, 135.0, 180.0])
def test_corner_jump(turn: float) -> None:
    """At the corner feed the velocity changes by exactly the step."""
    feed = corner_feed_mm_min(turn, 240.0)
    before = feed * np.array([1.0, 0.0])
    after = feed * np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])
    assert np.linalg.norm(after - before) == pytest.approx(240.0)


def test_straight_on() -> None:
    """No turn, no limit; a reversal has no fillet."""
    assert corner_feed_mm_min(0.0, 240.0) == math.inf
    assert fillet_radius_mm(0.0, 0.05) == math.inf
    assert fillet_radius_mm(180.0, 0.05) == pytest.approx(0.0, abs=1e-15)
    assert corner_feed_mm_min(np.array([0.0, 180.0]), 240.0).tolist() == [math.inf, 120.0]


@pytest.mark.parametrize("turn", [10.0, 60.0, 90.0, 150.0])
def test_fillet(turn: float) -> None:
    """A circle of that radius, tangent to both legs, passes the corner at the tolerance."""
    radius = fillet_radius_mm(turn, 0.05)
    half = math.radians(turn) / 2.0
    centre = radius / math.cos(half)  # distance of the centre from the corner
    assert centre - radius == pytest.approx(0.05)


def test_axes() -> None:
    """The slowest axis of those that move decides; the components then stay within their limits."""
    assert direction_limit(1.0, 0.0, 0.0, 3000.0, 2000.0, 600.0) == pytest.approx(3000.0)
    assert direction_limit(0.0, 0.0, -2.0, 3000.0, 2000.0, 600.0) == pytest.approx(600.0)
    feed = direction_limit(3.0, 4.0, 1.0, 3000.0, 2000.0, 600.0)
    parts = feed * np.array([3.0, 4.0, 1.0]) / math.sqrt(26.0)
    assert (parts <= np.array([3000.0, 2000.0, 600.0]) + 1e-9).all()
    assert (parts / np.array([3000.0, 2000.0, 600.0])).max() == pytest.approx(1.0)
    with pytest.raises(ValueError, match="must not all be 0"):
        direction_limit(0.0, 0.0, 0.0, 1.0, 1.0, 1.0)
