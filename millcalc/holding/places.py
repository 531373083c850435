"""Places where a screw can stand: a coarse grid over the stock, refined where the room begins and ends."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from millcalc.holding import tuning
from millcalc.holding.clearance import Clearance
from millcalc.holding.regions import Regions
from millcalc.holding.room import Floats, Places, inside_room
from millcalc.job.setup import Box

DIAGONAL = math.sqrt(0.5)  # half a cell's diagonal, in cells
REFINE = 4  # finer cells along a coarse one


def find_places(
    clearance: Clearance,
    regions: Regions,
    stock: Box,
    radius_mm: float,
    beside: Callable[[Floats], Floats],
    step_mm: float,
) -> Places:
    """Find where a head can stand.

    clearance: Distances of the program up to the head's top.
    regions: The pieces that are left.
    stock: The stock.
    radius_mm: Radius of the head [mm].
    beside: Room beside clamps and kept screws at places (m, 2) [mm].
    step_mm: Places are whole multiples of this [mm].
    Returns: Coarse places, and finer ones where room begins or ends.

    Note: Room changes by at most a millimetre for each millimetre of way, so a coarse cell whose middle
      lacks more than half its diagonal holds no place at all and is not looked at again. A piece in which
      nothing was found is searched once more at the finest step.
    """
    area = max((stock.x_max - stock.x_min) * (stock.y_max - stock.y_min), 1e-9)
    coarse = math.sqrt(area / tuning.SCREWS_COARSE_PLACES)
    fine = step_mm * max(1, math.ceil(coarse / REFINE / step_mm - 1e-9))
    coarse = REFINE * fine

    def room(places: Floats) -> tuple[Floats, Floats]:
        spare = clearance.discs(places, radius_mm).spare_mm
        return spare, np.minimum(inside_room(places, stock, radius_mm), beside(places))

    half = coarse / 2  # so that the cells cover the stock to its edge
    grid = lattice((stock.x_min - half, stock.x_max + half, stock.y_min - half, stock.y_max + half), coarse)
    spare, other = room(grid)
    worst = np.minimum(spare, other)
    edge = np.abs(worst) <= DIAGONAL * coarse
    around = (np.arange(REFINE) - REFINE // 2) * fine
    offsets = np.stack(np.meshgrid(around, around), axis=-1).reshape(-1, 2)
    offsets = offsets[np.any(offsets != 0, axis=1)]
    finer = (grid[edge][:, None, :] + offsets[None]).reshape(-1, 2)
    finer_spare, finer_other = room(finer)
    at = np.vstack([grid, finer])
    spare, other = np.concatenate([spare, finer_spare]), np.concatenate([other, finer_other])
    good = np.minimum(spare, other) >= 0.0
    at, spare = at[good], spare[good]
    piece, rim = regions.look_up(at)
    for index in range(len(regions.cells)):
        if fine <= step_mm or (piece == index).any() or index > 200:
            continue
        low_x, high_x, low_y, high_y = regions.box_mm(index)
        if min(high_x - low_x, high_y - low_y) < 2 * radius_mm or max(high_x - low_x, high_y - low_y) > 100.0:
            continue
        more = lattice((low_x, high_x, low_y, high_y), step_mm)
        more_spare, more_other = room(more)
        more_good = np.minimum(more_spare, more_other) >= 0.0
        at, spare = np.vstack([at, more[more_good]]), np.concatenate([spare, more_spare[more_good]])
        piece, rim = regions.look_up(at)
    return Places(at, spare, piece, rim, fine)


def lattice(box_mm: tuple[float, float, float, float], step_mm: float) -> Floats:
    """Whole multiples of a step inside a rectangle.

    box_mm: x_min, x_max, y_min, y_max [mm].
    step_mm: Step [mm].
    Returns: The places [mm].

    >>> lattice((-1.0, 2.5, 0.0, 0.9), 1.0).tolist()
    [[-1.0, 0.0], [0.0, 0.0], [1.0, 0.0], [2.0, 0.0]]
    """
    low_x, high_x, low_y, high_y = box_mm
    x = np.arange(math.ceil(low_x / step_mm - 1e-9), math.floor(high_x / step_mm + 1e-9) + 1) * step_mm
    y = np.arange(math.ceil(low_y / step_mm - 1e-9), math.floor(high_y / step_mm + 1e-9) + 1) * step_mm
    return np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
