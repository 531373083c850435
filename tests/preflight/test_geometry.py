"""Distances between motions and keep-outs, held against Shapely on random cases.

Source: Shapely (GEOS) computes distances between polylines, points and polygons independently of us.
Tolerance: lines 1e-9 mm (both are closed forms); arcs 2e-4 mm (Shapely sees 20,000 chords, whose sagitta on
a radius of 30 mm and five turns is r (1 - cos(sweep / 40000)) < 1e-5 mm, plus the z clip at chord ends).
"""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import LineString, MultiPoint, Point, box

from millcalc.gcode.motions import ARC_CCW, LINE
from millcalc.preflight.geometry import (
    gap_to_box,
    gap_to_cylinder,
    motion_bounds_mm,
    places_mm,
    point_on_motion,
)
from tests.helpers.tables import arc_move, table

CHORDS = 20_000


def sampled(move, level):
    """Many points of an arc, by rotating its start about the centre, and which of them are below a level."""
    share = np.linspace(0, 1, CHORDS + 1)
    first, second, normal = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}[move["plane"]]
    start, centre, sweep = move["from"], move["centre"], move["sweep"]
    turned = (start[first] - centre[first] + 1j * (start[second] - centre[second])) * np.exp(
        1j * sweep * share
    )
    points = np.empty((len(share), 3))
    points[:, first], points[:, second] = centre[first] + turned.real, centre[second] + turned.imag
    points[:, normal] = start[normal] + share * (move["to"][normal] - start[normal])
    return points, points[:, 2] < level


def line_below(start, end, level):
    start, end = np.asarray(start, float), np.asarray(end, float)
    if min(start[2], end[2]) >= level:
        return None
    if (start[2] < level) != (end[2] < level):
        t = (level - start[2]) / (end[2] - start[2])
        cut = start + t * (end - start)
        start, end = (start, cut) if start[2] < level else (cut, end)
    if np.allclose(start[:2], end[:2]):
        return Point(start[:2])
    return LineString([start[:2], end[:2]])


def test_lines_against_shapely():
    rng = np.random.default_rng(7)
    for _ in range(300):
        start, end = rng.uniform(-20, 20, 3), rng.uniform(-20, 20, 3)
        if rng.random() < 0.2:
            end[:2] = start[:2]
        level = rng.uniform(-22, 22)
        motions = table([{"kind": LINE, "from": start, "to": end}])
        shape = line_below(start, end, level)
        x, y = rng.uniform(-20, 20, 2)
        x1, y1 = x + rng.uniform(0.1, 15), y + rng.uniform(0.1, 15)
        round_gap = gap_to_cylinder(
            motions, x_mm=x, y_mm=y, radius_mm=2.5, top_mm=level, body_radius_mm=1.5
        ).gap_mm[0]
        box_gap = gap_to_box(motions, sides_mm=(x, x1, y, y1), top_mm=level, body_radius_mm=1.5).gap_mm[0]
        if shape is None:
            assert np.isinf(round_gap) and np.isinf(box_gap)
            continue
        assert round_gap == pytest.approx(shape.distance(Point(x, y)) - 4.0, abs=1e-5)
        assert box_gap == pytest.approx(shape.distance(box(x, y, x1, y1)) - 1.5, abs=1e-5)


@pytest.mark.parametrize("plane", [17, 18, 19])
def test_arcs_against_shapely(plane):
    rng = np.random.default_rng(plane)
    for _ in range(25):
        start, centre = rng.uniform(-15, 15, 3), rng.uniform(-15, 15, 3)
        sweep = rng.choice([-1, 1]) * rng.choice([rng.uniform(0.05, 6.28), 2 * np.pi, rng.uniform(6.3, 20)])
        move = arc_move(start, centre, sweep, rise=rng.uniform(-8, 8), plane=plane)
        motions = table([move])
        level = rng.uniform(-25, 25)
        points, below = sampled(move, level)
        x, y = rng.uniform(-20, 20, 2)
        x1, y1 = x + rng.uniform(0.1, 15), y + rng.uniform(0.1, 15)
        kwargs = {"top_mm": level, "body_radius_mm": 0.0, "reach_mm": 1000.0}
        round_gap = gap_to_cylinder(motions, x_mm=x, y_mm=y, radius_mm=0.0, **kwargs)
        box_gap = gap_to_box(motions, sides_mm=(x, x1, y, y1), **kwargs)
        if not below.any():
            assert np.isinf(round_gap.gap_mm[0]) or points[:, 2].min() < level + 2e-3
            continue
        cloud = MultiPoint(points[below][:, :2])
        slack = 2e-3 + 20 * 20.0 / CHORDS  # one chord's length where the clip falls between two points
        exact = cloud.distance(Point(x, y))
        # never farther than the truth; nearer only by the stated chord error and the sampling
        assert round_gap.gap_mm[0] <= exact + 1e-6
        assert round_gap.gap_mm[0] >= exact - slack
        exact = cloud.distance(box(x, y, x1, y1))
        assert box_gap.gap_mm[0] <= exact + 1e-6
        assert box_gap.gap_mm[0] >= exact - slack
        # the place it names is at that distance
        where = point_on_motion(motions, 0, float(round_gap.place[0]))
        assert np.hypot(where[0] - x, where[1] - y) == pytest.approx(round_gap.gap_mm[0], abs=3e-3)


def test_unlimited_arc_is_exact():
    """Without a z clip the distance of a full circle from a point is |d - r|, exactly."""
    motions = table([arc_move((5, 0, -1), (0, 0, -1), 2 * np.pi)])
    gap = gap_to_cylinder(motions, x_mm=12, y_mm=5, radius_mm=0, top_mm=0, body_radius_mm=0).gap_mm[0]
    assert gap == pytest.approx(13 - 5, abs=1e-12)


def test_arc_away_from_the_circle_point():
    """A quarter from (5, 0) to (0, 5): the point (-9, 0) is nearest to the end, at sqrt(81 + 25)."""
    motions = table([arc_move((5, 0, -1), (0, 0, -1), np.pi / 2)])
    gap = gap_to_cylinder(motions, x_mm=-9, y_mm=0, radius_mm=0, top_mm=0, body_radius_mm=0).gap_mm[0]
    assert gap == pytest.approx(np.hypot(9, 5), abs=1e-12)


def test_helix_counts_only_below_the_top():
    """One turn of a helix from z 1 down to z -1: only the second half turn is below z 0."""
    motions = table([arc_move((5, 0, 1), (0, 0, 0), 2 * np.pi, rise=-2)])
    upper = gap_to_cylinder(motions, x_mm=0, y_mm=5, radius_mm=0, top_mm=0, body_radius_mm=0)
    lower = gap_to_cylinder(motions, x_mm=0, y_mm=-5, radius_mm=0, top_mm=0, body_radius_mm=0)
    assert lower.gap_mm[0] == pytest.approx(0.0, abs=1e-9)
    assert lower.place[0] == pytest.approx(0.75)
    assert upper.gap_mm[0] == pytest.approx(np.hypot(5, 5), abs=1e-5)  # ends of the lower half: (-5,0), (5,0)


def test_holder_above_the_tip():
    """A nut 20 mm above the tip reaches a 3 mm head only when the tip is below -17."""
    motions = table([{"to": (10, 0, -16)}, {"to": (10, 0, -18)}], start=(0, 0, -16))
    gaps = gap_to_cylinder(
        motions, x_mm=10, y_mm=0, radius_mm=4, top_mm=3, body_radius_mm=10, body_above_tip_mm=20
    ).gap_mm
    assert np.isinf(gaps[0]) and gaps[1] == pytest.approx(-14)


def test_unknown_coordinate_is_counted_not_passed():
    motions = table([{"from": (np.nan, 0, -1), "to": (5, 0, -1)}])
    gap = gap_to_cylinder(motions, x_mm=0, y_mm=0, radius_mm=1, top_mm=0, body_radius_mm=1)
    assert gap.unknown == 1 and gap.least is None


def test_unknown_body_is_left_out():
    motions = table([{"to": (5, 0, -1)}], start=(0, 0, -1))
    gap = gap_to_cylinder(motions, x_mm=0, y_mm=0, radius_mm=1, top_mm=0, body_radius_mm=np.array([np.nan]))
    assert np.isinf(gap.gap_mm[0])


def test_touching_the_top_is_not_below_it():
    motions = table([{"to": (5, 0, 0)}], start=(-5, 0, 0))
    assert np.isinf(
        gap_to_cylinder(motions, x_mm=0, y_mm=0, radius_mm=1, top_mm=0, body_radius_mm=1).gap_mm[0]
    )


def test_bounds_reach_the_true_extremes():
    """A half circle over the top from (5, 0) to (-5, 0) reaches y = 5 though both ends are at 0."""
    motions = table([arc_move((5, 0, 0), (0, 0, 0), np.pi), arc_move((5, 0, 0), (0, 0, 0), -np.pi)])
    low, high = motion_bounds_mm(motions)
    assert high[0] == pytest.approx([5, 5, 0]) and low[0] == pytest.approx([-5, 0, 0])
    assert low[1] == pytest.approx([-5, -5, 0])


def test_bounds_against_samples():
    rng = np.random.default_rng(3)
    for plane in (17, 18, 19):
        for _ in range(10):
            move = arc_move(rng.uniform(-9, 9, 3), rng.uniform(-9, 9, 3), rng.uniform(-9, 9), 1.0, plane)
            motions = table([move])
            points, _ = sampled(move, 0.0)
            low, high = motion_bounds_mm(motions)
            assert low[0] == pytest.approx(points.min(0), abs=1e-3)
            assert high[0] == pytest.approx(points.max(0), abs=1e-3)


@pytest.mark.parametrize(
    ("plane", "to", "middle"),
    [(17, (-5.0, 0.0, 2.0), (0.0, 5.0, 1.0)), (18, (0.0, 2.0, -5.0), (5.0, 1.0, 0.0)),
     (19, (2.0, -5.0, 0.0), (1.0, 0.0, 5.0))],
)  # fmt: skip
def test_places_on_half_a_turn_in_each_plane(plane, to, middle):
    """Half a turn of radius 5 about the origin with 2 along the axis: a quarter turn on, 1 along."""
    start = {17: (5.0, 0.0, 0.0), 18: (0.0, 0.0, 5.0), 19: (0.0, 5.0, 0.0)}[plane]
    move = {
        "kind": ARC_CCW,
        "from": start,
        "to": to,
        "centre": (0.0, 0.0, 0.0),
        "sweep": np.pi,
        "plane": plane,
    }
    found = places_mm(table([move]), np.array([0]), np.array([0.0, 0.5, 1.0]))
    assert found[0] == pytest.approx(np.array([start, middle, to]), abs=1e-12)
