"""Where along one motion something happens: first contact with what still stands, or the release of a piece.

The motions before it are cut again, around the motion only, then the motion itself in small steps.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import cache
from heapq import heappop, heappush

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import MotionTable
from millcalc.stock.frame_points import Pieces
from millcalc.stock.frames import bare_walk
from millcalc.stock.grid import OUTSIDE, BoxLike, Grid, Region, make_grid
from millcalc.stock.removal_kernels import Field
from millcalc.stock.shapes import CutterShape
from millcalc.stock.tuning import CONTACT_CELLS, CONTACT_STEP_MM, CONTACT_STEPS

Floats = NDArray[np.float64]
STRAY_SHARE = 0.01  # of the most a step takes; less is a stray cell beside a wall that was cut before
RELEASED_SHARE = 0.02  # a piece is released where its connected material shrinks by this share at least


def first_contact_share(
    motions: MotionTable,
    stock: BoxLike,
    shapes: Mapping[int, CutterShape],
    row: int,
    assume_tool: int | None = None,
) -> float | None:
    """Share of a motion at which its cutter first takes material that still stands then.

    motions: The program's motions, tip coordinates.
    stock: The uncut stock [mm].
    shapes: Cutters by tool number.
    row: The motion [-].
    assume_tool: Tool number to take where the program names none.
    Returns: 0 at its start, 1 at its end [-]; None where it takes nothing.
    """
    ends = np.vstack([motions.start_mm[row], motions.end_mm[row]])
    if not np.isfinite(ends).all():
        return None
    reach = max(shape.radius_mm for shape in shapes.values()) + 0.5
    if motions.is_arc[row]:
        reach += 2 * float(np.nanmax(np.abs(motions.start_mm[row] - motions.centre_mm[row])))
    low, high = ends.min(axis=0) - reach, ends.max(axis=0) + reach
    region = Region(
        max(low[0], stock.x_min),
        min(high[0], stock.x_max),
        max(low[1], stock.y_min),
        min(high[1], stock.y_max),
    )
    if region.x_max <= region.x_min or region.y_max <= region.y_min:
        return None
    _, volumes, shares = _stepped(motions, stock, shapes, row, region, assume_tool, None)
    touched = np.flatnonzero(volumes > max(1e-6, STRAY_SHARE * float(volumes.max(initial=0.0))))
    return float(shares[touched[0]]) if len(touched) else None


def release_share(
    motions: MotionTable,
    stock: BoxLike,
    shapes: Mapping[int, CutterShape],
    row: int,
    place_mm: tuple[float, float, float],
    assume_tool: int | None = None,
) -> float:
    """Share of a motion at which a piece comes free of the rest.

    motions: The program's motions, tip coordinates.
    stock: The uncut stock [mm].
    shapes: Cutters by tool number.
    row: The motion that frees it [-].
    place_mm: A place inside the piece [mm].
    assume_tool: Tool number to take where the program names none.
    Returns: 0 to 1 [-]; 1 where the coarse cells do not show it.
    """
    lasting: list[NDArray[np.int16]] = []  # at how many looks each cell still stood: it only ever goes

    def look(grid: Grid, height: NDArray[np.float32]) -> None:
        standing = (height > grid.floor_mm + 1e-3) & (height > OUTSIDE)
        if not lasting:
            lasting.append(np.zeros(standing.shape, np.int16))
        lasting[0] += standing

    region = Region(stock.x_min, stock.x_max, stock.y_min, stock.y_max)
    grid, _, shares = _stepped(motions, stock, shapes, row, region, assume_tool, look)
    at_row, at_column = grid.cells_at(np.array([place_mm[0]]), np.array([place_mm[1]]))
    step = greatest_fall(lasting[0], (int(at_row[0]), int(at_column[0])), len(shares))
    return float(shares[step]) if step is not None and step < len(shares) else 1.0


def greatest_fall(lasting: NDArray[np.int16], place: tuple[int, int], steps: int) -> int | None:
    """The look before which the material joined to a place has shrunk most.

    lasting: At how many of the looks 0 to `steps` each cell stood [-], shape (rows, columns).
    place: Row and column of the place [-].
    steps: Number of steps between the looks [-].
    Returns: The look, the first of equals; None where it never shrinks by more than a little at once.

    Note: Spans of looks are halved, the one that falls most first: no step inside a span falls more than the span.
    """
    from scipy import ndimage

    @cache
    def size(look: int) -> int:
        labels, _ = ndimage.label(lasting > look)
        mine = labels[place]
        return int(np.count_nonzero(labels == mine)) if mine else 0

    spans = [(size(steps) - size(0), 0, steps)]
    while True:
        rise, low, high = heappop(spans)
        if -rise <= RELEASED_SHARE * size(0):
            return None
        if high - low == 1:
            return high
        middle = (low + high) // 2
        for begin, end in ((low, middle), (middle, high)):
            heappush(spans, (size(end) - size(begin), begin, end))


def _stepped(
    motions: MotionTable,
    stock: BoxLike,
    shapes: Mapping[int, CutterShape],
    row: int,
    region: Region,
    assume_tool: int | None,
    look: Callable[[Grid, NDArray[np.float32]], None] | None,
) -> tuple[Grid, Floats, Floats]:
    """Cut everything before a motion, then the motion in steps.

    Returns: the grid, the volume of each step [mm3], the share at which each begins [-]; `look` is called before
      the first step and after each.
    """
    cell = max(math.sqrt(region.area_mm2 / CONTACT_CELLS), 0.02)
    grid = make_grid(region, stock, cell)
    height, through = grid.uncut()
    field = Field(height, through, grid.geometry())
    length = float(np.nan_to_num(motions.length_mm[row], nan=0.0))
    most = CONTACT_STEPS if look is None else CONTACT_STEPS // 8
    steps = int(np.clip(math.ceil(length / CONTACT_STEP_MM), 8, most))
    before = np.arange(row, dtype=np.int64)
    edges = np.linspace(0.0, 1.0, steps + 1)
    pieces = Pieces(
        np.concatenate([before, np.full(steps, row, np.int64)]),
        np.concatenate([np.zeros(row), edges[:-1]]),
        np.concatenate([np.ones(row), edges[1:]]),
    )
    way = bare_walk(motions, shapes, pieces, field, cell, assume_tool)
    way.to(row)
    if look is None:
        way.to(row + steps)
    else:
        look(grid, height)
        for step in range(row, row + steps):
            way.to(step + 1)
            look(grid, height)
    return grid, way.out.volume[row:], edges[:-1]
