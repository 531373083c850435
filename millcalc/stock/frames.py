"""The stock at chosen moments of the program, coarsely: for pictures, not for judging."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import MotionTable
from millcalc.stock.frame_points import Pieces, piece_columns
from millcalc.stock.grid import OUTSIDE, BoxLike, Region, make_grid
from millcalc.stock.removal_kernels import Field
from millcalc.stock.shapes import CutterShape
from millcalc.stock.tools import shape_index, shape_rows
from millcalc.stock.walker import Walk

TOP_LEVEL = 255


@dataclass(frozen=True)
class Frames:
    """Heights of the stock at moments of the program, on a coarse grid along the axes.

    x0_mm, y0_mm: Centre of cell [0, 0] [mm].
    cell_mm: Cell size [mm].
    floor_mm, top_mm: Heights of level 0 (cut through) and level 255 (uncut) [mm].
    levels: Height of every cell, linear between floor and top; the first frame is the uncut stock [-].
    """

    x0_mm: float
    y0_mm: float
    cell_mm: float
    floor_mm: float
    top_mm: float
    levels: NDArray[np.uint8]


def heights_over_time(
    motions: MotionTable,
    stock: BoxLike,
    shapes: Mapping[int, CutterShape],
    pieces: Pieces,
    ends: NDArray[np.int64],
    *,
    assume_tool: int | None = None,
    most_cells: int = 40_000,
) -> Frames:
    """Cut the stock coarsely and keep its heights after chosen pieces.

    motions: The program's motions.
    stock: The uncut stock in part coordinates [mm].
    shapes: Cutters by tool number.
    pieces: The motions in program order, cut at the moments of interest.
    ends: Number of pieces that are done at each moment, rising [-].
    assume_tool: Tool number to take where the program names none.
    most_cells: Greatest number of cells [-].
    Returns: k + 1 frames: the uncut stock, then one for each moment.

    Note: The same kernels as the simulation proper, on cells as large as the picture shows; a wall is then
      wrong by up to half a cell. Motions the simulation cannot place are left out here too.
    """
    box = Region(stock.x_min, stock.x_max, stock.y_min, stock.y_max)
    cell = math.sqrt(box.area_mm2 / most_cells)
    columns, rows = (
        max(1, math.ceil((high - low) / cell))
        for low, high in ((box.x_min, box.x_max), (box.y_min, box.y_max))
    )
    # a little wider than the stock, so that every cell of the picture lies on it
    wide = Region(box.x_min - 2 * cell, box.x_max + 2 * cell, box.y_min - 2 * cell, box.y_max + 2 * cell)
    grid = make_grid(wide, stock, cell)
    height, through = grid.uncut()
    field = Field(height, through, grid.geometry())
    way = bare_walk(motions, shapes, pieces, field, cell, assume_tool)
    x0 = box.x_min + (box.x_max - box.x_min - (columns - 1) * cell) / 2
    y0 = box.y_min + (box.y_max - box.y_min - (rows - 1) * cell) / 2
    xs, ys = np.meshgrid(x0 + cell * np.arange(columns), y0 + cell * np.arange(rows))
    at_row, at_column = grid.cells_at(xs, ys)
    np.clip(at_row, 0, grid.rows - 1, out=at_row)
    np.clip(at_column, 0, grid.columns - 1, out=at_column)
    levels = np.full((len(ends) + 1, rows, columns), TOP_LEVEL, np.uint8)
    for frame, end in enumerate(ends, 1):
        way.to(int(end))
        levels[frame] = _levels(height[at_row, at_column], stock.z_min, stock.z_max)
    np.minimum.accumulate(levels, axis=0, out=levels)
    return Frames(x0, y0, cell, stock.z_min, stock.z_max, levels)


def bare_walk(
    motions: MotionTable,
    shapes: Mapping[int, CutterShape],
    pieces: Pieces,
    field: Field,
    cell_mm: float,
    assume_tool: int | None,
) -> Walk:
    """A walk over pieces of motions with cutters that cut over their whole length and have no nut above.

    motions: The program's motions.
    shapes: Cutters by tool number.
    pieces: The pieces, in the order they are cut.
    field: The stock; it is cut in place.
    cell_mm: Size of its cells [mm].
    assume_tool: Tool number to take where the program names none.
    Returns: The walk, before its first piece.
    """
    numbers = sorted(shapes)
    index, _ = shape_index(motions, numbers, assume_tool)
    bare = {n: replace(s, flute_length_mm=math.inf, nut_radius_mm=0.0) for n, s in shapes.items()}
    return Walk(piece_columns(motions, pieces, index), field, shape_rows(bare, numbers, cell_mm), 1)


def _levels(height: NDArray[np.float32], floor_mm: float, top_mm: float) -> NDArray[np.uint8]:
    """Heights as levels, from the bed to the stock's top."""
    share = (np.where(height > OUTSIDE, height, top_mm) - floor_mm) / (top_mm - floor_mm)
    return np.rint(np.clip(share, 0.0, 1.0) * TOP_LEVEL).astype(np.uint8)
