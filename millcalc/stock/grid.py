"""The grid of cells: how fine, which part of the stock, and turned against the axes.

A cell is in or out by its centre. On a grid along the axes a wall along X would fall on one row of centres and be
wrong by up to half a cell over its whole length. This grid is turned by ``atan(2 / (1 + sqrt 5))``, 31.7 degrees: the
tangents of the angles it makes with X, Y and the 45 degree lines are then the numbers that fractions approximate worst
(0.618..., 1.618..., 0.236...), so that along such a wall the centres lie at evenly spread distances and the error of
an area falls with the square of the cell (theory: Khinchin, Continued Fractions, theorem on badly approximable
numbers; the use here is our own and is measured by tests/stock/test_convergence.py).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.grid_kernels import fill_stock, straighten_into
from millcalc.stock.left import Heightfield
from millcalc.stock.removal_kernels import (
    CELL,
    COS,
    FLOOR,
    GEOMETRY_COLUMNS,
    SIN,
    THROUGH,
    TOP,
    X0,
    Y0,
)
from millcalc.stock.tuning import (
    REMOVAL_CELLS_PER_DIAMETER,
    REMOVAL_FINAL_CELLS,
    REMOVAL_SKIN_MM,
    REMOVAL_SMALLEST_CELL_MM,
)

TURN_RAD = math.atan(2 / (1 + math.sqrt(5)))
OUTSIDE = np.float32(-1e30)  # height of a cell that is not stock
NEVER = np.int32(2**31 - 1)  # cut-through time of a cell that is still there
NOT_STOCK = np.int32(-1)
BYTES_PER_CELL = 40  # height and cut-through time, and at most the work arrays of the search for loose pieces


class BoxLike(Protocol):
    """An axis-aligned box in part coordinates [mm]."""

    @property
    def x_min(self) -> float: ...
    @property
    def x_max(self) -> float: ...
    @property
    def y_min(self) -> float: ...
    @property
    def y_max(self) -> float: ...
    @property
    def z_min(self) -> float: ...
    @property
    def z_max(self) -> float: ...


@dataclass(frozen=True, slots=True)
class Region:
    """A rectangle in part coordinates [mm]."""

    x_min: float
    x_max: float
    y_min: float
    y_max: float

    @property
    def area_mm2(self) -> float:
        """Area [mm2]."""
        return (self.x_max - self.x_min) * (self.y_max - self.y_min)


@dataclass(frozen=True)
class Grid:
    """Cells over the part of the stock that the program can touch.

    region: That part of the stock.
    stock: The whole stock.
    cell_mm: Distance of cell centres [mm].
    x0_mm, y0_mm: Part coordinates of the centre of cell [0, 0] [mm].
    rows, columns: Cells [-].
    floor_mm, top_mm: Bottom and top of the stock [mm].
    """

    region: Region
    stock: Region
    cell_mm: float
    x0_mm: float
    y0_mm: float
    rows: int
    columns: int
    floor_mm: float
    top_mm: float

    def geometry(self) -> NDArray[np.float64]:
        """The numbers the kernels need.

        Returns: float64 (GEOMETRY_COLUMNS,) [mm].
        """
        numbers = np.zeros(GEOMETRY_COLUMNS)
        numbers[CELL], numbers[FLOOR], numbers[TOP] = self.cell_mm, np.float32(self.floor_mm), self.top_mm
        numbers[COS], numbers[SIN] = math.cos(TURN_RAD), math.sin(TURN_RAD)
        numbers[X0], numbers[Y0] = self.x0_mm, self.y0_mm
        numbers[THROUGH] = self.floor_mm + REMOVAL_SKIN_MM
        return numbers

    def centres_mm(self, row: NDArray[np.int64], column: NDArray[np.int64]) -> NDArray[np.float64]:
        """Part coordinates of cell centres.

        row, column: Indices of cells [-].
        Returns: float64 (..., 2): x and y [mm].
        """
        return np.stack(self.places_mm(row, column), axis=-1)

    def places_mm(
        self, row: NDArray[np.int64], column: NDArray[np.int64]
    ) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Part coordinates of cell centres, x and y apart; rows and columns broadcast.

        row, column: Indices of cells [-].
        Returns: x and y [mm].
        """
        cos, sin = math.cos(TURN_RAD) * self.cell_mm, math.sin(TURN_RAD) * self.cell_mm
        return self.x0_mm + cos * column - sin * row, self.y0_mm + sin * column + cos * row

    def cells_at(
        self, x_mm: NDArray[np.float64], y_mm: NDArray[np.float64]
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Nearest cells of places; they may lie outside the grid.

        x_mm, y_mm: Part coordinates [mm].
        Returns: int64 rows and columns [-].
        """
        cos, sin = math.cos(TURN_RAD) / self.cell_mm, math.sin(TURN_RAD) / self.cell_mm
        dx, dy = x_mm - self.x0_mm, y_mm - self.y0_mm
        return np.rint(cos * dy - sin * dx).astype(np.int64), np.rint(cos * dx + sin * dy).astype(np.int64)

    def uncut(self) -> tuple[NDArray[np.float32], NDArray[np.int32]]:
        """Heights and cut-through times before the first motion.

        Returns: float32 (rows, columns) heights [mm] and int32 (rows, columns) motions [-].
        """
        height = np.full((self.rows, self.columns), OUTSIDE, dtype=np.float32)
        through = np.full((self.rows, self.columns), NOT_STOCK, dtype=np.int32)
        box = self.region
        bounds = np.array([box.x_min, box.x_max, box.y_min, box.y_max])
        fill_stock(height, through, self.geometry(), bounds, int(NEVER))
        return height, through


def choose_cell_mm(
    details_mm: list[float], area_mm2: float, memory_limit_bytes: int, cell_mm: float | None
) -> float:
    """Cell size: from the smallest cutter, no finer than memory allows.

    details_mm: Deciding diameters of the cutters in use [mm].
    area_mm2: Area the grid must cover [mm2].
    memory_limit_bytes: Memory for the grid [byte].
    cell_mm: Cell size asked for; None for the default [mm].
    Returns: Cell size [mm].
    Raises ValueError: If the size asked for is not a positive number.

    >>> choose_cell_mm([6.0, 12.0], 100.0, 10**8, None)
    0.1875
    """
    if cell_mm is not None and not (math.isfinite(cell_mm) and cell_mm > 0):
        raise ValueError(f"cell size {cell_mm} mm; accepted: a positive number of millimetres")
    wanted = cell_mm
    if wanted is None:
        wanted = max(min(details_mm, default=6.0) / REMOVAL_CELLS_PER_DIAMETER, REMOVAL_SMALLEST_CELL_MM)
    # the turned rectangle's bounding box holds up to twice its area
    least = math.sqrt(2.0 * max(area_mm2, 1e-9) * BYTES_PER_CELL / memory_limit_bytes)
    return max(wanted, least)


def make_grid(region: Region, stock: BoxLike, cell_mm: float) -> Grid:
    """Lay the turned grid over a region.

    region: Part of the stock to cover [mm].
    stock: The stock [mm].
    cell_mm: Cell size [mm].
    Returns: The grid, with one cell to spare on each side.
    """
    cos, sin = math.cos(TURN_RAD), math.sin(TURN_RAD)
    corners = [(x, y) for x in (region.x_min, region.x_max) for y in (region.y_min, region.y_max)]
    along = [cos * x + sin * y for x, y in corners]
    aside = [cos * y - sin * x for x, y in corners]
    # on one lattice through the origin, so that the same cut gives the same cells whatever else a program does
    left = (math.floor(min(along) / cell_mm) - 1) * cell_mm
    bottom = (math.floor(min(aside) / cell_mm) - 1) * cell_mm
    return Grid(
        region=region,
        stock=Region(stock.x_min, stock.x_max, stock.y_min, stock.y_max),
        cell_mm=cell_mm,
        x0_mm=cos * left - sin * bottom,
        y0_mm=sin * left + cos * bottom,
        rows=math.ceil((max(aside) - bottom) / cell_mm) + 2,
        columns=math.ceil((max(along) - left) / cell_mm) + 2,
        floor_mm=stock.z_min,
        top_mm=stock.z_max,
    )


def straighten(grid: Grid, height: NDArray[np.float32]) -> Heightfield:
    """The field over the whole stock on a grid along the axes, each cell taken from the nearest turned cell.

    grid: The turned grid.
    height: Heights on it [mm].
    Returns: Cells of the same size, or larger where the whole stock would need more than
      REMOVAL_FINAL_CELLS of them.
    """
    box = grid.stock
    cell = max(grid.cell_mm, math.sqrt(box.area_mm2 / REMOVAL_FINAL_CELLS))
    columns = max(1, round((box.x_max - box.x_min) / cell))
    rows = max(1, round((box.y_max - box.y_min) / cell))
    x0, y0 = box.x_min + cell / 2, box.y_min + cell / 2
    out = np.full((rows, columns), np.float32(grid.top_mm), dtype=np.float32)
    straighten_into(out, height, grid.geometry(), x0, y0, cell, float(OUTSIDE))
    np.maximum(out, np.float32(grid.floor_mm), out=out)
    return Heightfield(x0, y0, cell, out, grid.floor_mm, grid.top_mm)
