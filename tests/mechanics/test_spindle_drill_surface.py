"""Spindle power over speed, dial marks, drilling, entries, surface marks and edge life."""

from __future__ import annotations

import math

import numpy as np
import pytest

from millcalc.mechanics.drilling import (
    deep_hole_factors,
    drill_chip_mm,
    drill_thrust_n,
    drill_torque_nm,
    handbook_drill_load,
    peck_count,
)
from millcalc.mechanics.entries import (
    helix_angle_deg,
    helix_centre_feed_mm_min,
    helix_pitch_mm,
    outside_centre_feed_mm_min,
    post_diameter_mm,
    ramp_length_mm,
    vertical_feed_mm_min,
)
from millcalc.mechanics.kienzle import specific_force_n_mm2, torque_nm
from millcalc.mechanics.life import chip_temperature_rise_k, life_ratio, taylor_life_min, taylor_speed_m_min
from millcalc.mechanics.spindle import nearest_dial, power_at_speed_w, torque_at_speed_nm
from millcalc.mechanics.surface import (
    feed_mark_mm,
    mark_pitch_mm,
    scallop_mm,
    stepover_for_scallop_mm,
    tilt_step_mm,
    vee_scallop_mm,
)

POINTS = ([8000.0, 16_000.0, 24_000.0], [200.0, 600.0, 800.0])


def test_power_over_speed() -> None:
    """Linear between points, constant torque below the first, constant power above the last."""
    assert power_at_speed_w(np.array([16_000.0, 12_000.0, 20_000.0]), *POINTS).tolist() == [
        600.0,
        400.0,
        700.0,
    ]
    assert power_at_speed_w(4000.0, *POINTS) == pytest.approx(100.0)
    assert torque_at_speed_nm(4000.0, *POINTS) == pytest.approx(torque_at_speed_nm(8000.0, *POINTS))
    assert power_at_speed_w(30_000.0, *POINTS) == pytest.approx(800.0)
    assert power_at_speed_w(12_000.0, [24_000.0], [800.0]) == pytest.approx(400.0)
    assert torque_at_speed_nm(16_000.0, *POINTS) == pytest.approx(torque_nm(600.0, 16_000.0))


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


def test_dial() -> None:
    """Nearest by ratio, slower on a tie, never above the limit, in any order."""
    dial = [22_000.0, 10_000.0, 13_000.0, 17_500.0]
    assert nearest_dial(17_000.0, dial) == 3
    assert nearest_dial(1.0, dial) == 1
    assert nearest_dial(99_999.0, dial) == 0
    assert nearest_dial(20_000.0, [40_000.0, 10_000.0]) == 1
    assert nearest_dial(17_000.0, dial, highest_rpm=17_499.0) == 2
    with pytest.raises(ValueError, match="no mark at or below"):
        nearest_dial(17_000.0, dial, highest_rpm=9000.0)
    with pytest.raises(ValueError, match="at least one"):
        nearest_dial(17_000.0, [])


def test_drill() -> None:
    """Torque is the lips' force on a quarter of the diameter; thrust doubles with an even chisel share."""
    kc, feed, size = 1500.0, 0.1, 5.0
    lip_force = kc * (feed / 2.0) * (size / 2.0)
    assert drill_torque_nm(kc, feed, size) == pytest.approx(2.0 * lip_force * size / 4.0 / 1000.0)
    split = drill_thrust_n(kc, feed, size, chisel_share=0.0)
    assert split == pytest.approx(0.5 * 2.0 * lip_force * math.sin(math.radians(59.0)))
    assert drill_thrust_n(kc, feed, size) == pytest.approx(2.0 * split)
    assert drill_chip_mm(0.1, 2, 180.0) == pytest.approx(0.05)


@pytest.mark.parametrize("diameter", [3.0, 5.0, 8.0])
def test_two_ways_of_drilling_agree(diameter: float) -> None:
    """The specific-force way and the handbook's, in aluminium, within a factor of 1.8 for torque and thrust."""
    feed = 0.02 * diameter
    kc = specific_force_n_mm2(800.0, 0.25, drill_chip_mm(feed, 2, 118.0))
    thrust, torque = handbook_drill_load(7000.0, feed, diameter)
    assert 1.0 / 1.8 < drill_torque_nm(kc, feed, diameter) / torque < 1.8
    assert 1.0 / 1.8 < drill_thrust_n(kc, feed, diameter) / thrust < 1.8


def test_deep_holes() -> None:
    """Two diameters need no reduction; off the table is refused."""
    assert deep_hole_factors(6.0, 3.0) == (1.0, 1.0)
    speed, feed = deep_hole_factors(np.array([15.0, 24.0]), 3.0)
    assert speed.tolist() == [0.7, 0.6]
    assert feed.tolist() == [0.8, 0.8]
    with pytest.raises(ValueError, match="from 0 to 8"):
        deep_hole_factors(30.0, 3.0)
    assert peck_count(9.0, 3.0, first_diameters=1.0, next_diameters=0.5) == 5


def test_entries() -> None:
    """Worked by hand: 10 mm hole with a 6 mm cutter at 3 deg; the path length closes the triangle."""
    pitch = helix_pitch_mm(10.0, 6.0, 3.0)
    assert pitch == pytest.approx(0.66, abs=0.005)
    assert helix_angle_deg(10.0, 6.0, pitch) == pytest.approx(3.0)
    assert ramp_length_mm(pitch, 3.0) == pytest.approx(math.pi * 4.0)
    assert vertical_feed_mm_min(600.0, 90.0) == pytest.approx(600.0)
    assert helix_centre_feed_mm_min(500.0, 10.0, 6.0) == pytest.approx(200.0)
    assert outside_centre_feed_mm_min(500.0, 10.0, 6.0) == pytest.approx(800.0)
    assert post_diameter_mm(np.array([11.9, 12.0, 13.0]), 6.0).tolist() == [0.0, 0.0, 1.0]
    for function in (helix_pitch_mm, helix_angle_deg):
        with pytest.raises(ValueError, match="hole_diameter_mm must be greater"):
            function(6.0, 6.0, 3.0)


def test_scallops_by_intersecting_circles() -> None:
    """The ridge is where two circles a stepover apart meet; exact for tiny steps where the plain form cancels."""
    for step in (0.1, 1.0, 4.0, 6.0):
        assert scallop_mm(step, 6.0) == pytest.approx(3.0 - math.sqrt(9.0 - step**2 / 4.0))
        assert stepover_for_scallop_mm(scallop_mm(step, 6.0), 6.0) == pytest.approx(step)
    assert scallop_mm(1e-6, 6.0) == pytest.approx(1e-12 / 24.0, rel=1e-9)
    with pytest.raises(ValueError, match="stepover_mm must be at most diameter_mm"):
        scallop_mm(6.1, 6.0)


def test_marks() -> None:
    """Waves of one tooth in two; run-out above their depth leaves one tooth's marks only."""
    assert feed_mark_mm(0.2, 6.0) == pytest.approx(scallop_mm(0.2, 6.0), rel=1e-3)
    depth_alone = 0.2**2 / (4.0 * 6.0)
    assert mark_pitch_mm(0.1, 2, 0.99 * depth_alone, 6.0) == pytest.approx(0.1)
    assert mark_pitch_mm(0.1, 2, 1.01 * depth_alone, 6.0) == pytest.approx(0.2)
    assert vee_scallop_mm(0.5, 0.6, 90.0) == 0.0
    assert tilt_step_mm(20.0, 0.5) == pytest.approx(0.01)


def test_life_and_heat() -> None:
    """Life and speed are inverse; heat grows with the third root of speed."""
    speed = taylor_speed_m_min(30.0, 400.0, 0.25)
    assert taylor_life_min(speed, 400.0, 0.25) == pytest.approx(30.0)
    assert life_ratio(2.0, 0.25) == pytest.approx(1.0 / 16.0)
    base = chip_temperature_rise_k(1000.0, 100.0, 0.05, 2.4e-3, 70.0)
    assert chip_temperature_rise_k(1000.0, 800.0, 0.05, 2.4e-3, 70.0) == pytest.approx(2.0 * base)
