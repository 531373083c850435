"""Engagement angles against areas cut out with Shapely, and the limits of every effective diameter."""

from __future__ import annotations

import pytest
from shapely import LineString, Point, Polygon, box

from millcalc.mechanics.engagement import (
    bull_effective_diameter_mm,
    corner_engagement_rad,
    engagement_angle_rad,
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


@pytest.mark.parametrize("width", [0.3, 0.6, 1.5])
def test_square_corner(width: float) -> None:
    """A cutter that arrives in a corner: the allowance on both walls, the pass before left it rounded."""
    room = box(-60.0, -60.0, -width, -width).buffer(RADIUS, quad_segs=FACETS)
    stock = box(-60.0, -60.0, 30.0, 30.0).difference(room)
    run = LineString([(-60.0, 0.0), (0.0, 0.0)]).buffer(RADIUS, quad_segs=FACETS)
    angle = _touching_angle(stock.difference(run), 0.0, 0.0)
    assert corner_engagement_rad(width, 2.0 * RADIUS) == pytest.approx(angle, abs=0.08)


def _half_width(profile: Polygon, depth: float) -> float:
    """Widest reach of a profile (axis along y, tip at 0) within a depth, by cutting it."""
    return float(profile.intersection(box(0.0, 0.0, 100.0, depth)).bounds[2])


def test_sharp_corner_cuts_at_full_diameter() -> None:
    """No corner radius: the diameter from the first hundredth on."""
    assert bull_effective_diameter_mm(0.01, 0.0, 6.0) == pytest.approx(6.0)
