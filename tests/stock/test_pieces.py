"""Loose pieces: which, when, how large; and the search against scipy.ndimage.label after every motion."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import ndimage

from millcalc.stock.cutter_shapes import flat
from millcalc.stock.grid import NEVER, Region, make_grid
from millcalc.stock.holds import Hold, hold_disc, holds_of
from millcalc.stock.pieces import HELD_BY_EDGE, HELD_BY_JOB, HELD_BY_NOTHING_MET, find_loose
from tests.stock.paths import Box, arc_move, cut, run

PLATE = Box(100.0, 60.0, -3.0)
CONTOUR = [(20.0, 15.0), (60.0, 15.0), (60.0, 45.0), (20.0, 45.0), (20.0, 15.0)]
CORNER, MIDDLE = hold_disc(5, 5, 3), hold_disc(40, 30, 3)


def test_contour_frees_the_part() -> None:
    removal = run(cut(CONTOUR, -3.2), flat(3.0), PLATE)
    assert removal.held_by == HELD_BY_EDGE
    (piece,) = removal.loose
    assert (piece.motion, piece.line) == (5, 6)  # the last side of the contour
    assert piece.area_mm2 == pytest.approx(37 * 27, rel=0.01)
    assert piece.size_mm == pytest.approx((37, 27), abs=0.3)
    assert not piece.small
    x, y, z = piece.place_mm
    assert 21.5 < x < 58.5 and 16.5 < y < 43.5 and z == 0


def test_screws_decide_which_piece_is_loose() -> None:
    moves = cut(CONTOUR, -3.2)
    part = run(moves, flat(3.0), PLATE, holds=[CORNER])
    assert part.held_by == HELD_BY_JOB and part.loose[0].area_mm2 == pytest.approx(999, rel=0.01)
    frame = run(moves, flat(3.0), PLATE, holds=[MIDDLE])
    assert frame.loose[0].area_mm2 == pytest.approx(6000 - 43 * 33 + (4 - math.pi) * 2.25, rel=0.01)
    assert frame.loose[0].size_mm == (100, 60)
    both = run(moves, flat(3.0), PLATE, holds=[CORNER, MIDDLE])
    assert both.loose == () and both.held_by == HELD_BY_JOB


def test_screw_off_the_stock_holds_nothing() -> None:
    removal = run(cut(CONTOUR, -3.2), flat(3.0), PLATE, holds=[hold_disc(300, 300, 3)])
    assert removal.held_by == HELD_BY_NOTHING_MET and len(removal.loose) == 1


def test_tabs_keep_the_part() -> None:
    moves = cut([(40.0, 15.0), (20.0, 15.0), (20.0, 45.0), (60.0, 45.0), (60.0, 15.0), (46.0, 15.0)], -3.2)
    moves += cut([(38.0, 15.0), (48.0, 15.0)], -2.0)  # leaves a tab 3 mm wide, 1 mm thick
    assert run(moves, flat(3.0), PLATE).loose == ()
    freed = run(moves + cut([(38.0, 15.0), (48.0, 15.0)], -3.1), flat(3.0), PLATE)
    assert [piece.motion for piece in freed.loose] == [len(moves) + 2]


def test_onion_skin_holds() -> None:
    assert run(cut(CONTOUR, -2.9), flat(3.0), PLATE).loose == ()


def test_slug_of_a_round_hole() -> None:
    start = (54.0, 30.0, -3.2)
    moves = [{"kind": 0, "to": (54, 30, 5)}, {"to": start}, arc_move(start, (50.0, 30.0, -3.2), -2 * math.pi)]
    removal = run(moves, flat(3.0), PLATE, holds=[CORNER])
    (piece,) = removal.loose
    assert piece.motion == 2
    assert piece.area_mm2 == pytest.approx(math.pi * 2.5**2, rel=0.02)
    assert not piece.small
    tight = (52.2, 30.0, -3.2)
    moves = [
        {"kind": 0, "to": (52.2, 30, 5)},
        {"to": tight},
        arc_move(tight, (50.0, 30.0, -3.2), -2 * math.pi),
    ]
    assert run(moves, flat(3.0), PLATE, holds=[CORNER]).loose[0].small


def test_plate_cut_in_two_beside_the_grid() -> None:
    """A cut across the whole plate: the half without the screw comes free, its area reaching beyond the cells."""
    moves = cut([(50.0, -3.0), (50.0, 63.0)], -3.2)
    removal = run(moves, flat(4.0), PLATE, holds=[CORNER])
    (piece,) = removal.loose
    assert piece.motion == 2 and piece.place_mm[0] > 52
    other = run(moves, flat(4.0), PLATE, holds=[hold_disc(95, 30, 3)])
    assert other.loose[0].place_mm[0] < 48


def test_pieces_in_order_and_of_two_levels() -> None:
    """A ring round a slug: the slug comes free first, then the ring."""

    def circle(radius: float) -> list[dict[str, object]]:
        start = (50 + radius, 30.0, -3.2)
        return [
            {"kind": 0, "to": (50 + radius, 30, 5)}, {"to": start},
            arc_move(start, (50.0, 30.0, -3.2), 2 * math.pi), {"kind": 0, "to": (50 + radius, 30, 5)},
        ]  # fmt: skip

    removal = run(circle(6.0) + circle(14.0), flat(3.0), PLATE, holds=[CORNER])
    assert [piece.motion for piece in removal.loose] == [2, 6]
    assert removal.loose[0].area_mm2 == pytest.approx(math.pi * 4.5**2, rel=0.02)
    assert removal.loose[1].area_mm2 == pytest.approx(math.pi * (12.5**2 - 7.5**2), rel=0.02)


def test_holds_of_a_set_up() -> None:
    from types import SimpleNamespace as Row

    screws = [
        Row(x_mm=5, y_mm=6, head_radius_mm=4.0, shank_radius_mm=2.0, holds=True),
        Row(x_mm=9, y_mm=9, head_radius_mm=4.0, shank_radius_mm=2.0, holds=False),
    ]
    clamps = [(Row(holds=True), Row(x_min=0, x_max=10, y_min=20, y_max=26)), (Row(holds=False), None)]
    screw, clamp = holds_of(screws, clamps)  # type: ignore[arg-type]
    assert (screw.x_mm, screw.half_x_mm, screw.round) == (5, 5.0, True)
    assert (clamp.x_mm, clamp.half_x_mm, clamp.half_y_mm, clamp.round) == (5, 5, 3, False)
    assert holds_of(None, None) == ()
    assert Hold(0, 0, 2, 1).covers(np.array([1.9, 0.0]), np.array([0.9, 1.1])).tolist() == [True, False]
    x, y = (
        np.array([10.0, 10.0, -10.0, 12.5]),
        np.array([22.9, 23.1, 20.0, 17.9]),
    )  # the last at hypot(2.5, 2.1) = 3.3
    assert hold_disc(10, 20, 3).covers(x, y).tolist() == [True, False, False, False]
    assert Hold(10, 20, 3, 3).covers(x, y).tolist() == [True, False, False, True]


@pytest.mark.parametrize("seed", range(12))
def test_against_labels_after_every_motion(seed: int) -> None:
    """Random cut-through times: what comes free, and when, as scipy.ndimage.label finds it motion by motion."""
    rng = np.random.default_rng(seed)
    grid = make_grid(Region(0.0, 18.0, 0.0, 14.0), Box(18.0, 14.0, -1.0), 1.0)
    _, through = grid.uncut()
    stock = through == NEVER
    motions = 14
    for motion in range(motions):  # random strokes across the plate
        row, column = rng.integers(0, grid.rows), rng.integers(0, grid.columns)
        stroke = np.zeros_like(stock)
        if rng.random() < 0.5:
            stroke[row, :] = True
        else:
            stroke[:, column] = True
        stroke &= rng.random(stock.shape) < 0.93
        through[stroke & stock & (through == NEVER)] = motion
    rows, columns = np.nonzero(through == NEVER)
    x, y = grid.centres_mm(rows[:1], columns[:1])[0]
    hold = hold_disc(float(x), float(y), 0.4)
    held = (int(rows[0]), int(columns[0]))
    pieces, slivers, held_by = find_loose(
        grid, through, np.zeros(through.shape, np.float32), [hold], np.arange(motions, dtype=np.int32), 0.1
    )
    assert held_by == HELD_BY_JOB
    expected: list[tuple[int, int]] = []
    before = stock
    for motion in range(motions):
        after = stock & (through > motion)
        labels_before, _ = ndimage.label(before)
        labels_after, count = ndimage.label(after)
        for label in range(1, count + 1):
            cells = labels_after == label
            was_held = (labels_before[cells] == labels_before[held]).any()
            if was_held and labels_after[held] != label:
                expected.append((motion, int(cells.sum())))
        before = after
    least = 9
    found = sorted((piece.motion, round(piece.area_mm2)) for piece in pieces)
    assert found == sorted(event for event in expected if event[1] >= least)
    assert slivers == sum(event[1] < least for event in expected)
