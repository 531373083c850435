"""The search misses no place: against the finest grid tried in full, and a strip narrower than the coarse grid."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.holding.clearance import Clearance
from millcalc.holding.find_regions import find_regions
from millcalc.holding.places import find_places, lattice
from millcalc.holding.room import inside_room
from millcalc.holding.spread import farthest_mm, spread, thin
from tests.holding.cases import context, plate, program, rectangle, ring


def search(text: str, job=None):
    ctx = context(text, job, cell_mm=0.5)
    clearance = Clearance(ctx, 2.8, 1.0)
    regions = find_regions(ctx.removal.final, 6.0)
    stock = ctx.setup.stock
    places = find_places(clearance, regions, stock, 4.0, lambda at: np.full(len(at), np.inf), 0.5)
    return clearance, stock, places


@pytest.mark.parametrize("seed", range(3))
def test_against_every_place(seed: int) -> None:
    """Each clear place of the finest grid is found, or lies in a coarse cell whose middle is clear by far."""
    rng = np.random.default_rng(seed)
    parts = [ring(*rng.uniform(30, 80, 2), rng.uniform(5, 20), 2.0) for _ in range(4)]
    clearance, stock, places = search(program(*parts, rectangle(100, 20, 140, 90, 2.0)))
    fine = places.finest_mm
    every = lattice((stock.x_min, stock.x_max, stock.y_min, stock.y_max), fine)
    room = np.minimum(clearance.discs(every, 4.0).spare_mm, inside_room(every, stock, 4.0))
    clear = every[room >= 0.0]
    found = {(round(x / fine), round(y / fine)) for x, y in places.at_mm}
    assert found <= {(round(x / fine), round(y / fine)) for x, y in clear}
    assert len(found) == len(places.at_mm)  # none twice
    missed = np.array([p for p in clear if (round(p[0] / fine), round(p[1] / fine)) not in found]).reshape(
        -1, 2
    )
    middle = np.floor((np.round(missed / fine) + 2) / 4) * 4 * fine
    there = np.minimum(clearance.discs(middle, 4.0).spare_mm, inside_room(middle, stock, 4.0))
    assert (there > np.sqrt(0.5) * 4 * fine).all()
    assert len(clear) > len(found) > 100


def test_narrow_strip_is_found() -> None:
    """Two grooves leave a strip: edges at 60 and 71, head of 4 and margin of 1 leave 1 mm of places between."""
    line = [f"G0 X{x} Y-10\nG1 Z-2 F100\nG1 Y120 F600\nG0 Z20" for x in (57.3, 74.3)]
    _, _, places = search(program(line), plate(stock={"size_x": "300 mm", "size_y": "110 mm",
                                                      "thickness": "6 mm"}))  # fmt: skip
    strip = places.at_mm[(places.at_mm[:, 0] > 61) & (places.at_mm[:, 0] < 71)]
    assert len(strip) and (np.abs(strip[:, 0] - 65.8) <= 0.5 + 1e-9).all()


def test_small_piece_is_searched_at_the_finest_step() -> None:
    """A piece that holds a head with 0.5 mm to spare, on a sheet whose grid is 12 mm coarse."""
    job = plate(stock={"size_x": "700 mm", "size_y": "500 mm", "thickness": "6 mm"})
    _, _, places = search(program(rectangle(300.3, 200.3, 317.3, 217.3, 6.3)), job)
    inside = places.at_mm[(np.abs(places.at_mm - 308.8).max(axis=1) < 5) | (places.piece == 1)]
    assert places.finest_mm > 0.5 and len(inside) and (places.piece == 1).any()


def test_spread_of_four_on_a_square() -> None:
    """Four screws for the rim of a square, from places all round: no point is farther than a half side's share."""
    side = np.linspace(0, 100, 21)
    rim = np.vstack([np.column_stack([side, side * 0]), np.column_stack([side, side * 0 + 100]),
                     np.column_stack([side * 0, side]), np.column_stack([side * 0 + 100, side])])  # fmt: skip
    chosen = spread(rim, np.full(len(rim), 9.0), rim, np.zeros((0, 2)), 4, 10.0)
    assert len(chosen) == 4
    # best possible: 50 (corners or middles of the sides)
    assert farthest_mm(rim, rim[chosen]) <= 60.0
    assert farthest_mm(rim, rim[:0]) is None
    # places nearer than asked are never taken together
    close = spread(rim[:3], np.full(3, 9.0), rim, np.zeros((0, 2)), 3, 8.0)
    assert len(close) == 2


def test_thin_keeps_the_roomiest() -> None:
    rng = np.random.default_rng(1)
    at, spare = rng.uniform(0, 100, (5000, 2)), rng.uniform(0, 5, 5000)
    kept = thin(at, spare, 100)
    assert 30 <= len(kept) <= 100 and spare[kept].mean() > 4.0
    assert len(np.unique(kept)) == len(kept)


def test_cells_cover_the_stock_to_its_edge() -> None:
    """719 mm wide: the last place is 714, 4 mm of head and 1 mm from the edge, though coarse middles end at 708."""
    job = plate(stock={"size_x": "719 mm", "size_y": "500 mm", "thickness": "6 mm"})
    _, _, places = search(program(["G0 X50 Y50", "G1 X60 F600"]), job)
    assert places.finest_mm == 3.0
    assert places.at_mm.max(axis=0).tolist() == [714.0, 495.0]
    assert places.at_mm.min(axis=0).tolist() == [6.0, 6.0]
