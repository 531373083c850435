"""Properties of the removal simulation over random paths and cutters."""

from __future__ import annotations

import itertools
import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.stock.cutter_shapes import ball, flat, tapered_ball, vee
from millcalc.stock.shapes import CutterShape
from tests.stock.paths import Box, arc_move, cut, run

SHAPES = [flat(3.0), flat(6.0), ball(4.0), flat(5.0, 0.8), vee(6.0, 60.0, 0.2), tapered_ball(6.0, 0.6, 20.0)]
STOCK = Box(30.0, 24.0, -5.0)
numbers = st.floats(-4.0, 34.0, allow_nan=False, width=32)
depths = st.floats(-6.5, 1.0, allow_nan=False, width=32)
points = st.tuples(numbers, numbers, depths)
shapes = st.sampled_from(SHAPES)
quick = settings(deadline=None, max_examples=25, database=None)


def path(places: list[tuple[float, float, float]]) -> list[dict[str, object]]:
    first = places[0]
    moves: list[dict[str, object]] = [{"kind": 0, "to": (first[0], first[1], 5.0)}]
    moves += [{"to": place} for place in places]
    moves.append({"kind": 0, "to": (places[-1][0], places[-1][1], 5.0)})
    return moves


@quick
@given(st.lists(points, min_size=1, max_size=6), shapes)
def test_bounds(places: list[tuple[float, float, float]], shape: CutterShape) -> None:
    """0 <= removed <= stock; depth within the stock; engagement within a turn; a side where something is cut."""
    removal = run(path(places), shape, STOCK, cell_mm=0.4)
    assert (removal.volume_mm3 >= 0).all()
    assert removal.volume_mm3.sum() <= 30 * 24 * 5 * 1.02
    assert (removal.axial_depth_mm >= 0).all() and (removal.axial_depth_mm <= 5.0 + 1e-4).all()
    assert (removal.radial_width_mm <= shape.diameter_mm * (1 + 1e-6)).all()
    assert (removal.engagement_rad >= 0).all() and (removal.engagement_rad <= 2 * math.pi + 1e-5).all()
    engaged = removal.engagement_rad > 0
    assert (removal.volume_mm3[engaged] > 0).all()
    assert (removal.side[engaged] > 0).all() and (removal.side[~engaged] == 0).all()
    assert np.isfinite(removal.peak_place_mm[engaged]).all()
    assert (removal.final.height_mm >= -5).all() and (removal.final.height_mm <= 0).all()
    sound = (removal.section_mm2 >= 0) & (removal.section_mm2 <= shape.diameter_mm * 5.0 * 1.001)
    assert sound.all()


@quick
@given(st.lists(points, min_size=1, max_size=5), shapes)
def test_the_same_path_twice_removes_nothing_the_second_time(
    places: list[tuple[float, float, float]], shape: CutterShape
) -> None:
    moves = path(places)
    removal = run(moves + moves, shape, STOCK, cell_mm=0.4, pieces=False)
    assert removal.volume_mm3[len(moves) :].sum() == 0
    assert removal.axial_depth_mm[len(moves) :].max() == 0


@quick
@given(st.lists(points, min_size=2, max_size=5), shapes)
def test_the_order_of_cuts_does_not_change_what_is_left(
    places: list[tuple[float, float, float]], shape: CutterShape
) -> None:
    there = run(path(places), shape, STOCK, cell_mm=0.4, pieces=False)
    back = run(path(places[::-1]), shape, STOCK, cell_mm=0.4, pieces=False)
    assert (
        np.abs(there.final.height_mm - back.final.height_mm).max() < 0.02
        or np.mean(np.abs(there.final.height_mm - back.final.height_mm) > 0.02) < 0.002
    )
    assert abs(there.volume_mm3.sum() - back.volume_mm3.sum()) <= 0.01 * max(1.0, there.volume_mm3.sum())


@quick
@given(points, st.floats(0.3, 8.0), st.floats(-6.0, 6.0), st.floats(-1.5, 0.0), shapes)
def test_an_arc_stays_within_its_ring(
    start: tuple[float, float, float], radius: float, sweep: float, rise: float, shape: CutterShape
) -> None:
    """Nothing is cut nearer to or farther from the centre than the cutter reaches, full turns or not."""
    centre = (start[0] - radius, start[1], start[2])
    moves = [
        {"kind": 0, "to": (start[0], start[1], 5.0)},
        {"to": start},
        arc_move(start, centre, sweep or 1.0, rise),
    ]
    removal = run(moves, shape, STOCK, cell_mm=0.4, pieces=False)
    field = removal.final
    rows, columns = np.nonzero(field.height_mm < -1e-3)
    x, y = field.x0_mm + field.cell_mm * columns, field.y0_mm + field.cell_mm * rows
    away = np.abs(np.hypot(x - centre[0], y - centre[1]) - radius)
    assert (away <= shape.radius_mm + 0.75 * field.cell_mm).all()


@quick
@given(st.lists(points, min_size=2, max_size=4), st.integers(2, 9))
def test_splitting_a_move_changes_nothing_that_is_left(
    places: list[tuple[float, float, float]], parts: int
) -> None:
    fine = [places[0]]
    for one, two in itertools.pairwise(places):
        fine += [
            tuple(a + (b - a) * k / parts for a, b in zip(one, two, strict=True)) for k in range(1, parts)
        ]  # type: ignore[misc]
        fine.append(two)
    whole = run(path(places), flat(4.0), STOCK, cell_mm=0.4, pieces=False)
    split = run(path(fine), flat(4.0), STOCK, cell_mm=0.4, pieces=False)
    differ = np.abs(whole.final.height_mm - split.final.height_mm) > 1e-4
    assert differ.mean() < 0.001  # a cell exactly on the edge may fall either way
    assert abs(whole.volume_mm3.sum() - split.volume_mm3.sum()) <= 0.005 * max(1.0, whole.volume_mm3.sum())


def test_cut_helper_lifts_between_paths() -> None:
    assert [move["kind"] for move in cut([(1, 1), (2, 2)], -1.0) if "kind" in move] == [0, 0]
