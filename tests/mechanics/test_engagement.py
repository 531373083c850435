"""Engagement angles against areas cut out with Shapely, and the limits of every effective diameter."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, box
from shapely.affinity import translate

from millcalc.mechanics.engagement import (
    ball_effective_diameter_mm,
    bull_effective_diameter_mm,
    corner_engagement_rad,
    engagement_angle_rad,
    entry_exit_rad,
    inside_arc_engagement_rad,
    inside_arc_removal_ratio,
    outside_arc_engagement_rad,
    tapered_ball_effective_diameter_mm,
    vee_effective_diameter_mm,
)

FACETS = 720  # segments in a quarter of a circle: 0.002 rad or better
RADIUS = 3.0


def _touching_angle(stock: Polygon, x: float, y: float) -> float:
    """Angle of the cutter's front half edge that lies in the stock, by cutting its outline."""
    edge = Point(x, y).buffer(RADIUS * 1.0005, quad_segs=FACETS).exterior
    return float(edge.intersection(stock).length / (RADIUS * 1.0005))


@pytest.mark.parametrize("width", [0.3, 0.6, 1.5, 3.0, 5.0])
def test_straight_wall(width: float) -> None:
    """A cutter halfway along a wall: stock ahead, everything behind already cut."""
    wall = box(-20.0, RADIUS - width, 20.0, 30.0)
    swept = LineString([(-20.0, 0.0), (0.0, 0.0)]).buffer(RADIUS, quad_segs=FACETS)
    angle = _touching_angle(wall.difference(swept), 0.0, 0.0)
    assert engagement_angle_rad(width, 2.0 * RADIUS) == pytest.approx(angle, abs=0.06)


@pytest.mark.parametrize("path", [1.0, 3.0, 10.0, 50.0])
@pytest.mark.parametrize("width", [0.6, 1.5])
def test_inside_arc(path: float, width: float) -> None:
    """A cutter that runs along the inside of a round wall, after a third of a turn up to where it stands."""
    pocket = Point(0.0, 0.0).buffer(path + RADIUS - width, quad_segs=FACETS)
    ring = Point(0.0, 0.0).buffer(path + RADIUS + 5.0, quad_segs=FACETS).difference(pocket)
    turns = np.linspace(-np.pi * 0.6, 0.0, 2000)
    run = LineString(np.column_stack([path * np.cos(turns), path * np.sin(turns)]))
    left = ring.difference(run.buffer(RADIUS, quad_segs=FACETS))
    angle = _touching_angle(left, path, 0.0)
    assert inside_arc_engagement_rad(width, path, RADIUS) == pytest.approx(angle, abs=0.08)


@pytest.mark.parametrize("path", [5.0, 20.0])
def test_outside_arc(path: float) -> None:
    """A cutter that runs around a boss with an even allowance."""
    width = 0.6
    boss = Point(0.0, 0.0).buffer(path - RADIUS + width, quad_segs=FACETS)
    turns = np.linspace(-np.pi * 0.6, 0.0, 2000)
    run = LineString(np.column_stack([path * np.cos(turns), path * np.sin(turns)]))
    left = boss.difference(run.buffer(RADIUS, quad_segs=FACETS))
    angle = _touching_angle(left, path, 0.0)
    assert outside_arc_engagement_rad(width, path, RADIUS) == pytest.approx(angle, abs=0.08)
    assert outside_arc_engagement_rad(width, path, RADIUS) < engagement_angle_rad(width, 2.0 * RADIUS)


@pytest.mark.parametrize("width", [0.3, 0.6, 1.5])
def test_square_corner(width: float) -> None:
    """A cutter that arrives in a corner: the allowance on both walls, the pass before left it rounded."""
    room = box(-60.0, -60.0, -width, -width).buffer(RADIUS, quad_segs=FACETS)
    stock = box(-60.0, -60.0, 30.0, 30.0).difference(room)
    run = LineString([(-60.0, 0.0), (0.0, 0.0)]).buffer(RADIUS, quad_segs=FACETS)
    angle = _touching_angle(stock.difference(run), 0.0, 0.0)
    assert corner_engagement_rad(width, 2.0 * RADIUS) == pytest.approx(angle, abs=0.08)


@pytest.mark.parametrize("path", [1.0, 3.0, 10.0])
def test_removal_ratio(path: float) -> None:
    """More is removed on an inside arc for the same feed of the centre: by the area of the ring."""
    width = 0.6
    outer = Point(0.0, 0.0).buffer(path + RADIUS, quad_segs=FACETS).area
    inner = Point(0.0, 0.0).buffer(path + RADIUS - width, quad_segs=FACETS).area
    per_travel = (outer - inner) / (2.0 * np.pi * path)
    assert inside_arc_removal_ratio(width, path, RADIUS) == pytest.approx(per_travel / width, rel=1e-4)


def test_arcs_tend_to_the_straight_wall() -> None:
    """A path of 100 m radius is a straight wall."""
    straight = engagement_angle_rad(1.5, 6.0)
    assert inside_arc_engagement_rad(1.5, 1e5, 3.0) == pytest.approx(straight, rel=1e-4)
    assert outside_arc_engagement_rad(1.5, 1e5, 3.0) == pytest.approx(straight, rel=1e-4)


def test_buried_cutter() -> None:
    """A corner or hole tighter than the engagement can grow is a slot, not an error."""
    assert corner_engagement_rad(4.0, 6.0) == pytest.approx(np.pi)
    assert inside_arc_engagement_rad(6.0, 0.5, 3.0) == pytest.approx(np.pi)
    with pytest.raises(ValueError, match="larger than cutter_radius_mm"):
        outside_arc_engagement_rad(0.5, 3.0, 3.0)


def test_entry_and_exit() -> None:
    """Conventional cuts begin at 0, climb cuts end at pi, a slot is both."""
    assert entry_exit_rad(1.5, 6.0, climb=False) == pytest.approx((0.0, np.pi / 3.0))
    assert entry_exit_rad(1.5, 6.0, climb=True) == pytest.approx((2.0 * np.pi / 3.0, np.pi))
    assert entry_exit_rad(6.0, 6.0, climb=True) == pytest.approx((0.0, np.pi))
    entry, leave = entry_exit_rad(np.array([1.0, 2.0]), 6.0, climb=False)
    assert entry.shape == leave.shape == (2,)


def _half_width(profile: Polygon, depth: float) -> float:
    """Widest reach of a profile (axis along y, tip at 0) within a depth, by cutting it."""
    return float(profile.intersection(box(0.0, 0.0, 100.0, depth)).bounds[2])


@pytest.mark.parametrize("depth", [0.05, 0.4, 1.0, 2.0, 3.0, 8.0])
def test_effective_diameters_by_profile(depth: float) -> None:
    """Ball, bull-nose, vee and tapered ball against their drawn profiles."""
    ball = translate(Point(0.0, 0.0).buffer(3.0, quad_segs=FACETS), 0.0, 3.0).union(box(-3.0, 3.0, 3.0, 20.0))
    assert ball_effective_diameter_mm(depth, 6.0) == pytest.approx(2.0 * _half_width(ball, depth), abs=1e-3)
    corner = translate(Point(0.0, 0.0).buffer(1.0, quad_segs=FACETS), 2.0, 1.0)
    bull = corner.union(box(0.0, 0.0, 2.0, 20.0)).union(box(0.0, 1.0, 3.0, 20.0))
    assert bull_effective_diameter_mm(depth, 1.0, 6.0) == pytest.approx(
        2.0 * _half_width(bull, depth), abs=1e-3
    )
    reach = 0.1 + 20.0 * np.tan(np.radians(30.0))
    vee = Polygon([(0.0, 0.0), (0.1, 0.0), (reach, 20.0), (0.0, 20.0)]).intersection(box(0.0, 0.0, 3.0, 20.0))
    assert vee_effective_diameter_mm(depth, 0.2, 60.0, 6.0) == pytest.approx(2.0 * _half_width(vee, depth))
    taper = np.radians(5.0)
    touch_y, touch_x = 0.5 * (1.0 - np.sin(taper)), 0.5 * np.cos(taper)
    top = (touch_x + (20.0 - touch_y) * np.tan(taper), 20.0)
    cone = Polygon([(0.0, touch_y), (touch_x, touch_y), top, (0.0, 20.0)])
    tapered = translate(Point(0.0, 0.0).buffer(0.5, quad_segs=FACETS), 0.0, 0.5)
    tapered = tapered.intersection(box(-1.0, 0.0, 1.0, touch_y)).union(cone)
    drawn = 2.0 * _half_width(tapered, depth)
    assert tapered_ball_effective_diameter_mm(depth, 0.5, 10.0, 6.0) == pytest.approx(drawn, abs=1e-3)


def test_sharp_corner_cuts_at_full_diameter() -> None:
    """No corner radius: the diameter from the first hundredth on."""
    assert bull_effective_diameter_mm(0.01, 0.0, 6.0) == pytest.approx(6.0)
