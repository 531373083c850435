"""Plain twins of the removal kernels: the slow, obvious way, on small random cases."""

from __future__ import annotations

import itertools
import math
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from millcalc.stock.cutter_shapes import ball, flat, tapered_ball, vee
from millcalc.stock.engagement_kernels import GAP_BINS, GAP_SPACINGS, SNAP_SPACINGS, engagement, reset_window
from millcalc.stock.pieces_kernels import flood, neighbours_of, root_of, unite
from millcalc.stock.removal_kernels import (
    AREA,
    BINS,
    CELL,
    DEPTH,
    FLOOR,
    GEOMETRY_COLUMNS,
    LEAST,
    MOST,
    RIM_CELLS,
    SEGMENT_COLUMNS,
    SIDE_SHARE,
    THROUGH,
    TRAVEL,
    VOLUME,
    WINDOW_COLUMNS,
    Field,
    cut_any,
    cut_flat,
    prepare,
    row_span,
    tallest_in_ring,
)
from millcalc.stock.shape_kernels import lowest_offset_mm, profile_height_mm
from millcalc.stock.shapes import CutterShape
from tests.helpers.inner import from_python

cut_any_now = from_python(cut_any)
cut_flat_now = from_python(cut_flat)
prepare_now = from_python(prepare)
row_span_now = from_python(row_span)
tallest_in_ring_now = from_python(tallest_in_ring)
lowest_offset_mm_now = from_python(lowest_offset_mm)
unite_now = from_python(unite)
neighbours_of_now = from_python(neighbours_of)
engagement_now = from_python(engagement)

SHAPES = [
    flat(6.0),
    ball(5.0),
    flat(6.0, 1.0),
    vee(6.0, 80.0, 0.4),
    tapered_ball(6.0, 0.7, 25.0),
    vee(4.0, 118.0),
]
PLAIN = bool(os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0"))
CASES = 2 if PLAIN else 12


def segment(start: Sequence[float], end: Sequence[float], covered: bool = False) -> NDArray[np.float64]:
    seg = np.zeros(SEGMENT_COLUMNS)
    seg[:3], seg[3:6] = start, end
    span = np.subtract(end, start)[:2]
    length = float(np.hypot(*span))
    seg[6] = length
    seg[7:9] = span / length if length > 0 else (1.0, 0.0)
    seg[9] = float(covered)
    return seg


def field_of(rng: np.random.Generator, rows: int = 50, columns: int = 60, cell: float = 0.31) -> Field:
    geo = np.zeros(GEOMETRY_COLUMNS)
    geo[CELL], geo[FLOOR], geo[THROUGH] = cell, -4.0, -3.98
    height = -rng.integers(0, 3, (rows, columns)).astype(np.float32)
    return Field(height, np.full((rows, columns), 99, np.int32), geo)


def new_window() -> tuple[NDArray[np.float64], NDArray[np.uint8]]:
    win, bins = np.zeros(WINDOW_COLUMNS), np.zeros(BINS + 1, np.uint8)
    reset_window(win, bins)
    return win, bins


def twin_profile(shape: CutterShape, radius: float) -> float:
    if radius <= shape.flat_mm:
        return 0.0
    if shape.corner_mm > 0 and radius <= shape.join_mm:
        return shape.corner_mm - math.sqrt(max(shape.corner_mm**2 - (radius - shape.flat_mm) ** 2, 0.0))
    at_join = 0.0
    if shape.corner_mm > 0:
        at_join = shape.corner_mm - math.sqrt(
            max(shape.corner_mm**2 - (shape.join_mm - shape.flat_mm) ** 2, 0.0)
        )
    return at_join + shape.cone * (radius - shape.join_mm)


def twin_height(shape: CutterShape, seg: NDArray[np.float64], x: float, y: float) -> float:
    """Lowest surface over a place, by trying many positions along the path; infinity beyond the cutter's reach."""
    best = math.inf
    shares = [0.0, 1.0] if seg[6] > 0 else [1.0]
    for _ in range(
        3
    ):  # three passes, each round the best of the one before: the surface is convex over the path
        tried = []
        for share in np.linspace(shares[0], shares[-1], 61):
            tip = seg[:3] + share * (seg[3:6] - seg[:3])
            radius = math.hypot(x - tip[0], y - tip[1])
            over = tip[2] + twin_profile(shape, radius) if radius <= shape.radius_mm else math.inf
            tried.append((over, float(share)))
        best, at = min(tried)
        width = (shares[-1] - shares[0]) / 60
        shares = [max(0.0 if seg[6] > 0 else 1.0, at - width), min(1.0, at + width)]
    return best


@pytest.mark.parametrize("shape", SHAPES)
def test_profile_and_envelope(shape: CutterShape) -> None:
    rng = np.random.default_rng(1)
    row = shape.row()
    for _ in range(10 * CASES):
        radius = float(rng.uniform(0, shape.radius_mm))
        assert profile_height_mm(row, radius) == pytest.approx(twin_profile(shape, radius), abs=1e-12)
        across = float(rng.uniform(0, 0.999 * shape.radius_mm))
        half = math.sqrt(shape.radius_mm**2 - across**2)
        low, high = sorted(rng.uniform(-half, half, 2))
        slope = float(rng.choice([0.0, rng.uniform(-3, 3)]))
        u = lowest_offset_mm_now(row, slope, across, float(low), float(high))
        tries = np.linspace(low, high, 2001)
        least = min(-slope * t + twin_profile(shape, math.hypot(t, across)) for t in tries)
        assert low <= u <= high
        assert -slope * u + twin_profile(shape, math.hypot(u, across)) <= least + 1e-9


def test_row_span() -> None:
    """Bounds of the swept area in a row against a fine walk along the row."""
    rng = np.random.default_rng(2)
    for case in range(10 * CASES):
        start, end = rng.uniform(0, 10, 2), rng.uniform(0, 10, 2)
        if case % 5 == 0:
            end[case % 2] = start[case % 2]  # along an axis
        seg = segment([*start, 0.0], [*end, 0.0])
        radius, y = float(rng.uniform(0.5, 3)), float(rng.uniform(-3, 13))
        prepare_now(seg, radius)
        low, high, a, b = row_span_now(seg, radius, y)
        x = np.linspace(-5, 15, 4001)
        along = np.clip((x - start[0]) * seg[7] + (y - start[1]) * seg[8], 0, seg[6])
        inside = np.hypot(x - start[0] - along * seg[7], y - start[1] - along * seg[8]) <= radius
        assert (low <= high) == bool(inside.any()) or high - low < 0.01
        if inside.any():
            assert x[inside][0] == pytest.approx(low, abs=0.006) and x[inside][-1] == pytest.approx(
                high, abs=0.006
            )
        at_start = np.hypot(x - start[0], y - start[1]) <= radius
        if at_start.any():
            assert x[at_start][0] == pytest.approx(a, abs=0.006) and x[at_start][-1] == pytest.approx(
                b, abs=0.006
            )


@pytest.mark.parametrize("level", [True, False])
@pytest.mark.parametrize("shape", SHAPES)
def test_cut(shape: CutterShape, level: bool) -> None:
    """Every cell of the field, with its lowest surface found by trying; sums and offsets counted one by one."""
    rng = np.random.default_rng(3)
    is_flat = shape.flat_mm >= shape.radius_mm
    for case in range(max(1, CASES // 4)):
        field = field_of(rng)
        cell = float(field.geo[CELL])
        start = [float(rng.uniform(4, 12)), float(rng.uniform(4, 11)), float(-rng.uniform(0.5, 4.5))]
        end = [float(rng.uniform(4, 12)), float(rng.uniform(4, 11)), float(-rng.uniform(0.5, 4.5))]
        if level:
            end[2] = start[2]
        if case == 0 and not level:
            end = [start[0], start[1], start[2] - 1.0]  # straight down
        seg = segment(start, end)
        before = field.height.copy()
        win, bins = new_window()
        if is_flat and level:
            removed, _ = cut_flat_now(field, shape.radius_mm, seg, 7, win, bins, np.zeros((4, 50), np.int32))
        else:
            removed, _ = cut_any_now(field, shape.row(), seg, 7, win, bins)
        total, count = 0.0, 0
        offsets = []
        some = rng.random(before.shape) < 0.04
        for j, i in np.argwhere(np.ones_like(some)):
            x, y = i * cell, j * cell
            along = min(max((x - seg[0]) * seg[7] + (y - seg[1]) * seg[8], 0.0), seg[6])
            away = math.hypot(x - seg[0] - along * seg[7], y - seg[1] - along * seg[8])
            if abs(away - shape.radius_mm) < 1e-9:
                continue
            after = float(field.height[j, i])
            if away > shape.radius_mm:
                assert after == before[j, i] and field.through[j, i] == 99
                continue
            gone = float(before[j, i]) - after
            assert gone >= 0
            if some[j, i]:
                lowest = max(twin_height(shape, seg, x, y), -4.0)
                assert after == pytest.approx(min(float(before[j, i]), lowest), abs=0.012)
                assert after <= lowest + 1e-5
            assert field.through[j, i] == (7 if after <= -3.98 < before[j, i] else 99)
            total += gone
            aside = seg[7] * (y - seg[1]) - seg[8] * (x - seg[0])
            least = 1e-3 if is_flat else max(1e-3, RIM_CELLS * cell)
            in_front = not is_flat or abs(aside) < SIDE_SHARE * shape.radius_mm
            if gone > least and (in_front or away < shape.radius_mm - RIM_CELLS * cell):
                count += 1
                offsets.append(aside)
        assert removed == pytest.approx(total, rel=1e-9, abs=1e-9)
        assert win[VOLUME] == pytest.approx(total) and win[AREA] == count
        if offsets:
            assert win[LEAST] == pytest.approx(min(offsets)) and win[MOST] == pytest.approx(max(offsets))
            classes = {min(max(int((o / shape.radius_mm + 1) / 2 * BINS), 0), BINS) for o in offsets}
            assert len(classes ^ set(np.flatnonzero(bins).tolist())) <= 1  # an offset on a class's edge


@pytest.mark.parametrize("shape", SHAPES)
def test_leaving_out_what_the_start_covered_changes_nothing(shape: CutterShape) -> None:
    rng = np.random.default_rng(4)
    for case in range(CASES):
        points = rng.uniform((4, 4, -4.5), (12, 11, -0.5), (4, 3))
        if case % 2:
            points[:, 2] = points[0, 2]
        fields = [field_of(np.random.default_rng(case)) for _ in range(2)]
        for covered, field in zip((False, True), fields, strict=True):
            for number, (one, two) in enumerate(itertools.pairwise(points)):
                seg = segment(one, two, covered and number > 0)
                if shape.flat_mm >= shape.radius_mm and one[2] == two[2]:
                    cut_flat_now(
                        field, shape.radius_mm, seg, number, *new_window(), np.zeros((4, 50), np.int32)
                    )
                else:
                    cut_any_now(field, shape.row(), seg, number, *new_window())
        assert np.abs(fields[0].height - fields[1].height).max() < 1e-5
        assert np.array_equal(fields[0].through, fields[1].through)


def test_flat_and_general_kernels_agree() -> None:
    rng = np.random.default_rng(5)
    for _ in range(CASES):
        one, two = rng.uniform((4, 4), (12, 11), (2, 2))
        z = float(-rng.uniform(0.5, 4.5))
        seg = segment([*one, z], [*two, z])
        seed = int(rng.integers(1000))
        a, b = field_of(np.random.default_rng(seed)), field_of(np.random.default_rng(seed))
        first, second = new_window(), new_window()
        assert cut_flat_now(a, 3.0, seg, 1, *first, np.zeros((4, 50), np.int32)) == pytest.approx(
            cut_any_now(b, flat(6.0).row(), seg, 1, *second)
        )
        assert np.array_equal(a.height, b.height) and np.array_equal(a.through, b.through)
        assert first[0] == pytest.approx(second[0]) and np.array_equal(first[1], second[1])


def test_tallest_in_ring() -> None:
    rng = np.random.default_rng(6)
    field = field_of(rng)
    for _ in range(5 * CASES):
        x, y = rng.uniform(2, 14, 2)
        inner, outer = sorted(rng.uniform(0, 4, 2))
        rows, columns = np.indices(field.height.shape)
        away = np.hypot(columns * 0.31 - x, rows * 0.31 - y)
        ring = (away >= inner) & (away <= outer)
        exact = float(field.height[ring].max()) if ring.any() else -1e30
        assert tallest_in_ring_now(field, float(x), float(y), float(inner), float(outer), 1) == exact


def twin_engagement(
    offsets: NDArray[np.float64], radius: float, travel: float, cell: float
) -> tuple[float, float]:
    """Width and angle from the sorted offsets themselves: ends drawn to the sides, wide gaps taken out."""
    spacing = cell**2 / travel
    low, high = offsets.min() - spacing / 2, offsets.max() + spacing / 2
    low = -radius if low < SNAP_SPACINGS * spacing - radius else low
    high = radius if high > radius - SNAP_SPACINGS * spacing else high
    width, angle = high - low, math.asin(high / radius) - math.asin(low / radius)
    for one, two in itertools.pairwise(offsets):
        if two - one > max(GAP_BINS * 2 * radius / BINS, GAP_SPACINGS * spacing) + 4 * radius / BINS:
            width -= two - one
            angle -= math.asin(two / radius) - math.asin(one / radius)
    return width, angle


def test_engagement_of_offsets() -> None:
    rng = np.random.default_rng(7)
    radius, cell, travel = 3.0, 0.2, 0.8
    for _ in range(10 * CASES):
        runs = np.sort(rng.uniform(-radius, radius, 2 * int(rng.integers(1, 3))))
        if len(runs) == 4 and runs[2] - runs[1] < 2.2:
            continue
        offsets = np.concatenate([np.arange(a, b, 0.04) for a, b in zip(runs[::2], runs[1::2], strict=True)])
        if not len(offsets):
            continue
        win, bins = new_window()
        win[TRAVEL], win[AREA], win[DEPTH] = travel, len(offsets), 1.0
        win[LEAST], win[MOST] = offsets.min(), offsets.max()
        for offset in offsets:
            bins[min(max(int((offset / radius + 1) / 2 * BINS), 0), BINS - 1)] = 1
        width, angle, _ = engagement_now(flat(2 * radius).row(), win, bins, cell)
        expected = twin_engagement(offsets, radius, travel, cell)
        assert width == pytest.approx(expected[0], abs=2.1 * 2 * radius / BINS)
        assert angle == pytest.approx(expected[1], abs=0.35)


def test_forest_and_flood() -> None:
    rng = np.random.default_rng(8)
    cells = 40
    parent, size = np.arange(cells, dtype=np.int32), np.ones(cells, dtype=np.int32)
    held = np.zeros(cells, dtype=np.uint8)
    held[0] = 1
    groups = [{i} for i in range(cells)]
    for one, two in rng.integers(0, cells, (30, 2)):
        unite_now(parent, size, held, int(one), int(two))
        a = next(group for group in groups if one in group)
        b = next(group for group in groups if two in group)
        if a is not b:
            groups.remove(b)
            a |= b
    for group in groups:
        roots = {int(root_of(parent, cell)) for cell in group}
        assert len(roots) == 1
        root = roots.pop()
        assert size[root] == len(group) and held[root] == (0 in group)
    near = np.zeros(4, np.int64)
    assert sorted(near[: neighbours_of_now(7, 5, 6, near)].tolist()) == [1, 6, 8, 13]
    assert sorted(near[: neighbours_of_now(0, 5, 6, near)].tolist()) == [1, 6]
    through = np.where(rng.random((9, 11)) < 0.6, 5, 1).astype(np.int32)
    seed = int(np.flatnonzero(through.ravel() == 5)[0])
    found, seen = np.zeros(through.size + 1, np.int64), np.zeros(through.size, np.uint8)
    got = set(found[: flood(through, 3, seed, found, seen)].tolist())
    from scipy import ndimage

    labels, _ = ndimage.label(through > 3)
    assert got == set(np.flatnonzero(labels.ravel() == labels.ravel()[seed]).tolist())


@pytest.mark.skipif(PLAIN, reason="this is that run")
def test_kernels_as_plain_python() -> None:
    """A small cut with compiling switched off gives the same numbers as the compiled kernels."""
    program = (
        "from tests.stock.paths import cut, run, arc_move, Box\n"
        "from millcalc.stock.cutter_shapes import ball, flat\n"
        "moves = cut([(4, 4), (12, 5.5), (12, 7)], -1.0) + [arc_move((12, 7, -2), (10, 7, -2), 1.5)]\n"
        "for shape in (flat(3.0), ball(3.0)):\n"
        "    r = run(moves, shape, Box(16.0, 12.0, -1.5), cell_mm=0.3)\n"
        "    print(r.volume_mm3.tolist(), r.engagement_rad.tolist(), r.axial_depth_mm.tolist(), len(r.jumps))\n"
    )
    root = Path(__file__).parents[2]
    out = []
    for value in ("0", "1"):
        environment = {**os.environ, "NUMBA_DISABLE_JIT": value, "PYTHONPATH": str(root)}
        done = subprocess.run(
            [sys.executable, "-c", program],
            cwd=root,
            env=environment,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        out.append(done.stdout)
    numbers = [
        np.array([float(x) for x in text.replace("[", " ").replace("]", " ").replace(",", " ").split()])
        for text in out
    ]
    assert numbers[0] == pytest.approx(numbers[1], rel=1e-5, abs=1e-6)


def test_grid_is_filled_and_straightened() -> None:
    """Cell by cell: in the stock by its centre, and back from the nearest turned cell."""
    from millcalc.stock.grid import NEVER, OUTSIDE, Region, make_grid, straighten
    from tests.stock.paths import Box

    rng = np.random.default_rng(9)
    stock = Box(9.0, 7.0, -2.0)
    grid = make_grid(Region(1.0, 8.0, 0.0, 7.0), stock, 0.4)
    height, through = grid.uncut()
    for row in range(grid.rows):
        for column in range(grid.columns):
            x, y = grid.centres_mm(np.array(row), np.array(column))
            inside = 1.0 <= x < 8.0 and 0.0 <= y < 7.0
            assert height[row, column] == (0.0 if inside else OUTSIDE)
            assert through[row, column] == (NEVER if inside else -1)
    height[height > OUTSIDE] = -rng.random((height > OUTSIDE).sum()).astype(np.float32)
    field = straighten(grid, height)
    rows, columns = field.height_mm.shape
    for j in range(rows):
        for i in range(columns):
            row, column = grid.cells_at(
                np.array(field.x0_mm + i * field.cell_mm), np.array(field.y0_mm + j * field.cell_mm)
            )
            expected = 0.0
            if 0 <= row < grid.rows and 0 <= column < grid.columns and height[row, column] > OUTSIDE:
                expected = float(height[row, column])
            assert field.height_mm[j, i] == np.float32(expected)
