"""Spindle power over speed, dial marks, drilling, entries, surface marks and edge life."""

from __future__ import annotations

import math

import pytest

from millcalc.mechanics.drilling import (
    deep_hole_factors,
    drill_chip_mm,
    drill_thrust_n,
    drill_torque_nm,
)
from millcalc.mechanics.spindle import power_at_speed_w

POINTS = ([8000.0, 16_000.0, 24_000.0], [200.0, 600.0, 800.0])


@pytest.mark.parametrize(
    ("points", "text"),
    [
        (([], []), "at least 1"),
        (([8000.0, 6000.0], [1.0, 2.0]), "must rise"),
        (([8000.0], [1.0, 2.0]), "same length"),
        (([8000.0, 9000.0], [1.0, -2.0]), "power_points_w"),
        (([0.0], [1.0]), "rpm_points"),
    ],
)
def test_power_points(points: tuple[list[float], list[float]], text: str) -> None:
    """Lists that are no curve are refused."""
    with pytest.raises(ValueError, match=text):
        power_at_speed_w(8000.0, *points)


def test_drill() -> None:
    """Torque is the lips' force on a quarter of the diameter; thrust doubles with an even chisel share."""
    kc, feed, size = 1500.0, 0.1, 5.0
    lip_force = kc * (feed / 2.0) * (size / 2.0)
    assert drill_torque_nm(kc, feed, size) == pytest.approx(2.0 * lip_force * size / 4.0 / 1000.0)
    split = drill_thrust_n(kc, feed, size, chisel_share=0.0)
    assert split == pytest.approx(0.5 * 2.0 * lip_force * math.sin(math.radians(59.0)))
    assert drill_thrust_n(kc, feed, size) == pytest.approx(2.0 * split)
    assert drill_chip_mm(0.1, 2, 180.0) == pytest.approx(0.05)


@pytest.mark.parametrize(
    ("diameters", "speed", "feed"),
    [
        (1, 1.0, 1.0),
        (2, 1.0, 1.0),
        (2.5, 0.95, 0.95),
        (3, 0.9, 0.9),
        (4, 0.8, 0.9),
        (5, 0.7, 0.8),
        (6, 0.65, 0.8),
        (8, 0.6, 0.8),
    ],
)
def test_deep_hole_table(diameters: float, speed: float, feed: float) -> None:
    """The rows of the table, whatever the drill; Machinery's Handbook and ASM tables for deep holes, from memory."""
    for diameter in (1.0, 6.0):
        assert deep_hole_factors(diameters * diameter, diameter) == pytest.approx((speed, feed))
