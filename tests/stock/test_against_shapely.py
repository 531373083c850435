"""Random paths against Shapely: removed areas as unions of buffers, engagement as what the rim meets of a polygon.

The outside reference is GEOS through Shapely (LineString.buffer, unary_union, contains_xy).
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, box
from shapely.ops import unary_union

from millcalc.stock.cutter_shapes import flat
from tests.stock.paths import PLATE, Box, cut, run

SEGMENTS = 64  # of a quarter circle: an error of area below 3e-5


def random_path(rng: np.random.Generator, points: int, margin: float = -2.0) -> list[tuple[float, float]]:
    """A polyline over the plate that may leave it by a little."""
    x = rng.uniform(-margin if margin > 0 else margin, 60 - margin, points)
    y = rng.uniform(margin, 50 - margin, points)
    return [(float(a), float(b)) for a, b in zip(x, y, strict=True)]


@pytest.mark.parametrize("block", range(10))
def test_removed_area_of_random_paths(block: int) -> None:
    """220 cases: volume = depth times area of the swept union within the stock, within 1 %."""
    rng = np.random.default_rng(1000 + block)
    stock = Box(60.0, 50.0)
    for _ in range(22):
        diameter, depth = float(rng.choice([2.0, 3.175, 4.0, 6.0])), float(rng.uniform(0.2, 4.0))
        path = random_path(rng, int(rng.integers(2, 6)))
        removal = run(cut(path, -depth), flat(diameter), stock, pieces=False)
        swept = LineString(path).buffer(diameter / 2, quad_segs=SEGMENTS)
        exact = swept.intersection(box(0, 0, 60, 50)).area * depth
        if exact < 5 * diameter * depth:  # hardly in the stock: a share of a small number says nothing
            continue
        assert removal.volume_mm3.sum() == pytest.approx(exact, rel=0.01)
        assert removal.final.volume_mm3 == pytest.approx(60 * 50 * 6 - exact, rel=0.005)


def test_volume_of_each_motion() -> None:
    """Each motion takes what the union grows by, at three depths one after another."""
    rng = np.random.default_rng(5)
    for _ in range(8):
        path = random_path(rng, 6, margin=4.0)
        moves = [move for depth in (0.5, 1.25, 3.0) for move in cut(path, -depth)]
        removal = run(moves, flat(5.0), Box(60.0, 50.0), pieces=False)
        swept = [Point(path[0]).buffer(2.5, quad_segs=SEGMENTS)]
        for one, two in itertools.pairwise(path):
            swept.append(unary_union([swept[-1], LineString([one, two]).buffer(2.5, quad_segs=SEGMENTS)]))
        areas = np.diff([0.0] + [shape.intersection(box(0, 0, 60, 50)).area for shape in swept])
        each = len(moves) // 3
        for level, rise in enumerate((0.5, 0.75, 1.75)):
            got = removal.volume_mm3[level * each + 1 : level * each + 1 + len(areas)]
            assert got == pytest.approx(areas * rise, rel=0.01, abs=0.01 * rise * areas.max())


def lateral_sets(
    material: shapely.Geometry,
    start: np.ndarray,
    direction: np.ndarray,
    length: float,
    radius: float,
    step: float,
) -> np.ndarray:
    """bool (positions, offsets): whether the leading rim at a lateral offset meets material, along the move."""
    offsets = np.linspace(-0.9999, 0.9999, 801) * radius
    ahead = np.sqrt(radius**2 - offsets**2)
    along = np.arange(step, length + 1e-9, step)
    side = np.array([-direction[1], direction[0]])
    points = (
        start
        + along[:, None, None] * direction
        + ahead[None, :, None] * direction
        + offsets[None, :, None] * side
    )
    return np.asarray(shapely.contains_xy(material, points[..., 0], points[..., 1]))


def test_engagement_of_random_moves() -> None:
    """36 random moves over a plate with random cuts: width met by the rim, within 2 % of the diameter.

    The engagement is measured over windows of travel: the result must lie between the greatest width at an instant
    and the greatest width met within two windows.
    """
    rng = np.random.default_rng(77)
    diameter, radius = 6.0, 3.0
    cell = diameter / 96
    window = diameter / 8
    plate = box(PLATE.x_min, PLATE.y_min, PLATE.x_max, PLATE.y_max)
    checked = 0
    for _ in range(36):
        earlier = [rng.uniform((20, 20), (60, 50), (2, 2)) for _ in range(2)]
        move = rng.uniform((20, 20), (60, 50), (2, 2))
        moves = [m for path in [*earlier, move] for m in cut([tuple(p) for p in path], -1.0)]
        removal = run(moves, flat(diameter), cell_mm=cell, pieces=False)
        span = move[1] - move[0]
        length = float(np.hypot(*span))
        if length < diameter:
            continue
        cleared = unary_union(
            [LineString(path).buffer(radius, quad_segs=SEGMENTS) for path in earlier]
            + [Point(move[0]).buffer(radius, quad_segs=SEGMENTS)]
        )
        step = window / 8
        met = lateral_sets(plate.difference(cleared), move[0], span / length, length, radius, step)
        spacing = 2 * 0.9999 * radius / 800
        least = float(met.sum(axis=1).max()) * spacing
        wide = [met[max(0, i - 16) : i + 1].any(axis=0).sum() for i in range(len(met))]
        most = float(max(wide)) * spacing
        got = float(removal.radial_width_mm[len(moves) - 2])
        assert least - 0.02 * diameter <= got <= most + 0.02 * diameter
        checked += 1
    assert checked > 30


def test_engagement_angle_follows_the_width() -> None:
    """The engagement angle of a straight side cut against the rim's arc within the plate, 24 random cases."""
    rng = np.random.default_rng(9)
    diameter, radius = 6.0, 3.0
    for _ in range(24):
        width, angle = float(rng.uniform(0.3, 5.0)), float(rng.uniform(0, 2 * math.pi))
        cos, sin = math.cos(angle), math.sin(angle)
        first = [(50 + u * cos, 40 + u * sin) for u in (-25.0, 25.0)]
        second = [(50 + u * cos + width * sin, 40 + u * sin - width * cos) for u in (-20.0, 20.0)]
        removal = run(
            cut(first, -1.0) + cut(second, -1.0), flat(diameter), cell_mm=diameter / 64, pieces=False
        )
        cleared = LineString(first).buffer(radius, quad_segs=SEGMENTS)
        rim = Point(50 + width * sin, 40 - width * cos).buffer(radius, quad_segs=512).exterior
        leading = [
            (x, y) for x, y in rim.coords if (x - 50 - width * sin) * cos + (y - 40 + width * cos) * sin >= 0
        ]
        inside = [not cleared.contains(Point(p)) for p in leading]
        exact = math.pi * float(np.mean(inside))
        assert removal.engagement_rad[6] == pytest.approx(exact, abs=0.04)
