"""Loose pieces: when material is no longer joined to what holds the stock, and which piece it is."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.grid import NEVER, NOT_STOCK, Grid
from millcalc.stock.held import hold_edge, holding
from millcalc.stock.holds import Hold
from millcalc.stock.left import LoosePiece
from millcalc.stock.pieces_kernels import OUTER, add_back, flood, join_remaining
from millcalc.stock.tuning import REMOVAL_PIECES_KEPT, REMOVAL_SLIVER_CELLS, REMOVAL_SLIVER_PER_DIAMETER

HELD_BY_JOB = "the screws and clamps of the job"
HELD_BY_EDGE = "assumed: the largest piece that keeps the stock's edge, because no screw or clamp is known"
HELD_BY_NOTHING_MET = (
    "assumed: the largest piece that keeps the stock's edge, because no screw or clamp meets the stock"
)


def find_loose(
    grid: Grid,
    through: NDArray[np.int32],
    height: NDArray[np.float32],
    holds: Sequence[Hold],
    lines: NDArray[np.int32],
    diameter_mm: float,
) -> tuple[tuple[LoosePiece, ...], int, str]:
    """Find the pieces that come free and the motion in which each one does.

    grid: The cells.
    through: Motion that cut each cell through; NEVER, or NOT_STOCK [-].
    height: Heights at the end [mm].
    holds: What holds the stock.
    lines: Source line of each motion [-].
    diameter_mm: Diameter of the largest cutter, decides what is a small piece [mm].
    Returns: The pieces in the order in which they come free, the number of slivers left out, and what was
      taken to hold the stock.

    Note: Material is joined where cells share an edge. The field is followed backwards from the last
      motion, adding the cells each motion cut through: one pass with a union-find forest instead of a
      search after every motion.
    """
    held_cells, outer, outer_held = holding(grid, through, holds)
    met = bool(held_cells.any() or outer_held.any())
    held_by = HELD_BY_JOB if met else (HELD_BY_NOTHING_MET if holds else HELD_BY_EDGE)
    cut = np.flatnonzero((through.ravel() != NEVER) & (through.ravel() != NOT_STOCK))
    if not len(cut):
        return (), 0, held_by
    cells = through.size
    parent = np.arange(cells + OUTER, dtype=np.int32)
    size = np.ones(cells + OUTER, dtype=np.int32)
    size[cells:] = 0
    held = np.concatenate([held_cells.astype(np.uint8), outer_held.astype(np.uint8)])
    join_remaining(through, int(NEVER), outer, parent, size, held)
    if not met:
        hold_edge(grid, through, parent, size, held, outer)
    order = cut[np.argsort(-through.ravel()[cut].astype(np.int64), kind="stable")]
    events = np.zeros((50_000, 3), dtype=np.int64)
    stamp = np.full(cells + OUTER, -1, dtype=np.int32)
    count = add_back(through, order, outer, parent, size, held, stamp, events)
    listed = events[: min(count, len(events))]
    least = max(REMOVAL_SLIVER_CELLS, (REMOVAL_SLIVER_PER_DIAMETER * diameter_mm / grid.cell_mm) ** 2)
    real = listed[listed[:, 2] >= least]
    slivers = count - len(real)
    # the largest are described when there are too many; then in program order
    real = real[np.argsort(-real[:, 2], kind="stable")][:REMOVAL_PIECES_KEPT]
    real = real[np.argsort(real[:, 0], kind="stable")]
    pieces = tuple(_describe(grid, through, height, outer, lines, row, diameter_mm) for row in real)
    return pieces, slivers, held_by


def _describe(
    grid: Grid,
    through: NDArray[np.int32],
    height: NDArray[np.float32],
    outer: NDArray[np.int8],
    lines: NDArray[np.int32],
    event: NDArray[np.int64],
    diameter_mm: float,
) -> LoosePiece:
    motion, seed, count = (int(value) for value in event)
    found = np.zeros(count + 1, dtype=np.int64)
    total = flood(through, motion, seed, found, np.zeros(through.size, dtype=np.uint8))
    cells = found[:total]
    rows, columns = np.divmod(cells, grid.columns)
    place = grid.centres_mm(rows, columns)
    across, along = (np.ascontiguousarray(one) for one in place.T)
    inside = int(np.argmin(np.hypot(across - across.mean(), along - along.mean())))
    # the grid is turned: along a wall the outermost centres lie next to it, so half a cell more would be too much
    low, high = np.array([across.min(), along.min()]), np.array([across.max(), along.max()])
    area = total * grid.cell_mm**2
    if (outer[cells] >= 0).any():  # the stock beyond the grid comes free with it
        stock = grid.stock
        low, high = np.array([stock.x_min, stock.y_min]), np.array([stock.x_max, stock.y_max])
        area += stock.area_mm2 - grid.region.area_mm2
    extent = high - low
    x, y = (float(value) for value in place[inside])
    z = float(height.ravel()[cells[inside]])
    return LoosePiece(
        motion=motion,
        line=int(lines[motion]),
        place_mm=(x, y, z),
        area_mm2=float(area),
        size_mm=(float(extent[0]), float(extent[1])),
        small=bool(extent.min() <= diameter_mm),
    )
