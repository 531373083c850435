"""Heights over time on coarse cells, and points on motions, worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from millcalc.job.setup import Box
from millcalc.stock import frames
from millcalc.stock.cutter_shapes import flat
from millcalc.stock.frame_points import Pieces, points_of
from millcalc.stock.frames import heights_over_time
from millcalc.stock.grid import Region, make_grid
from millcalc.stock.held import hold_edge
from millcalc.stock.webs import _Plan
from tests.helpers.tables import arc_move, table


def test_a_point_of_a_spiral_has_its_share_of_the_radius() -> None:
    """From 2 mm at 0 degrees to 4 mm at 90: half way 3 mm at 45, a quarter of the way 2.5 mm at 22.5."""
    spiral = arc_move((2, 0, 0), (0, 0, 0), math.pi / 2) | {"to": (0.0, 4.0, -1.0)}
    found = points_of(table([spiral]), np.zeros(4, np.int64), np.array([0.0, 0.25, 0.5, 1.0]))
    by_hand = [(r * math.cos(a), r * math.sin(a), z) for r, a, z in (
        (2.0, 0.0, 0.0), (2.5, math.pi / 8, -0.25), (3.0, math.pi / 4, -0.5), (4.0, math.pi / 2, -1.0),
    )]  # fmt: skip
    assert found == pytest.approx(np.array(by_hand))


def test_half_of_a_quarter_circle_that_stands_upright() -> None:
    """RS-274 planes: G18 turns from Z to X, G19 from Y to Z; 2 mm round (1, 2, 3), half way at 45 degrees."""
    in_xz = arc_move((1, 2, 5), (1, 2, 3), math.pi / 2, plane=18)
    in_yz = arc_move((1, 4, 3), (1, 2, 3), math.pi / 2, plane=19)
    found = points_of(table([in_xz, in_yz]), np.arange(2), np.array([0.5, 0.5]))
    side = math.sqrt(2.0)
    assert found == pytest.approx(np.array([(1 + side, 2, 3 + side), (1, 2 + side, 3 + side)]))


def test_frames_cover_the_stock_wherever_it_lies() -> None:
    """60 by 40 mm in 600 cells are 30 by 20 of 2 mm; a groove of 4 mm half deep along y = 30 in the middle row."""
    stock = Box(-20.0, 40.0, 10.0, 50.0, -6.0, 0.0)
    groove = table([{"to": (60, 30, -3), "from": (-40, 30, -3)}])
    whole = Pieces(np.zeros(1, np.int64), np.zeros(1), np.ones(1))
    found = heights_over_time(groove, stock, {1: flat(4.0)}, whole, np.array([1]), most_cells=600)
    assert (found.x0_mm, found.y0_mm, found.cell_mm) == pytest.approx((-19.0, 11.0, 2.0))
    before, after = found.levels.astype(int)
    assert before.shape == (20, 30) and (before == 255).all()
    assert set(np.unique(after)) == {128, 255}
    cut = (after == 128).sum(axis=1)
    assert cut[9] >= 29 and cut[10] >= 29 and cut.sum() <= 60  # a cell at an end may fall to the next row


def test_stock_beyond_the_grid_holds_what_it_touches() -> None:
    """Four cells and three parts beyond the grid: parts 0 and 2 touch cells, and part 2 is joined to cell 3."""
    parent = np.array([0, 1, 2, 3, 4, 5, 3], np.int32)
    held = np.zeros(7, np.uint8)
    outer = np.array([[0, -1], [-1, 2]], np.int8)
    hold_edge(None, np.zeros((2, 2), np.int32), parent, np.ones(7, np.int32), held, outer)  # type: ignore[arg-type]
    assert held.tolist() == [0, 0, 0, 1, 1, 0, 1]


@pytest.mark.parametrize(("stride", "cell_mm"), [(1, 0.5), (3, 1.5)])
def test_a_plan_of_webs_takes_every_so_many_cells(stride: int, cell_mm: float) -> None:
    grid = make_grid(Region(2.0, 22.0, 4.0, 24.0), Box(2.0, 22.0, 4.0, 24.0, -6.0, 0.0), 0.5)
    plan = _Plan(
        grid, np.full((9, 9), -2.0, np.float32), np.ones((9, 9), bool), np.zeros((9, 9), bool), stride, 3, 6
    )
    assert plan.cell_mm == pytest.approx(cell_mm)
    first, across, along = (np.array(plan.place_mm(cell)) for cell in ((0, 0), (0, 2), (1, 0)))
    assert np.linalg.norm(across - first) == pytest.approx(2 * cell_mm)
    assert np.linalg.norm(along - first) == pytest.approx(cell_mm) and first[2] == -2.0


@pytest.mark.parametrize(("way", "cells"), [
    (((-19, 0, -3), (-19, 60, -3)), (slice(None), 0)), (((39, 0, -3), (39, 60, -3)), (slice(None), 29)),
    (((-40, 11, -3), (60, 11, -3)), (0, slice(None))), (((-40, 49, -3), (60, 49, -3)), (19, slice(None))),
])  # fmt: skip
def test_a_groove_along_an_edge_is_on_the_picture(
    way: tuple[tuple[float, float, float], tuple[float, float, float]], cells: tuple[slice | int, slice | int]
) -> None:
    stock = Box(-20.0, 40.0, 10.0, 50.0, -6.0, 0.0)
    groove = table([{"from": way[0], "to": way[1]}])
    whole = Pieces(np.zeros(1, np.int64), np.zeros(1), np.ones(1))
    after = heights_over_time(groove, stock, {1: flat(4.0)}, whole, np.array([1]), most_cells=600).levels[1]
    assert (after[cells] == 128).mean() > 0.9 and (after == 128).sum() <= 2 * after[cells].size


def test_heights_are_told_in_255_levels() -> None:
    """Whole, half, a hundredth (2.55) and a two-hundredth (1.3) of 6 mm, the bed, and beyond both."""
    shares = np.array([[1.0, 0.502, 0.01, 0.005, 0.0, -0.5, 1.5]], dtype=np.float32)
    assert frames._levels(shares * 6 - 6, -6.0, 0.0).tolist() == [[255, 128, 3, 1, 0, 0, 255]]
