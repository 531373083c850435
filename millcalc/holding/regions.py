"""The pieces that are left when the program has ended, and which of them keep the stock's rim."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.left import Heightfield

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Regions:
    """Pieces over the cells of the finished stock.

    field: The finished stock.
    piece: Index of the piece of each cell, largest first; -1 where it is cut through or too small to count
      [-].
    rim: Cells joined to the stock's edge by material thicker than a tab.
    cells: Cells of each piece [-].
    boxes: First and last row and column of each piece, the last ones exclusive [-].
    at_edge: Whether the piece keeps a part of the stock's edge.
    slivers: Pieces too small to tell from the cell size [-].
    """

    field: Heightfield
    piece: NDArray[np.int32]
    rim: NDArray[np.bool_]
    cells: NDArray[np.int64]
    boxes: NDArray[np.int64]
    at_edge: NDArray[np.bool_]
    slivers: int

    def look_up(self, places_mm: Floats) -> tuple[NDArray[np.int32], NDArray[np.bool_]]:
        """Piece and rim at places; -1 and False beside the stock.

        places_mm: Places [mm].
        Returns: Index of the piece [-], and whether it is the rim there.
        """
        field = self.field
        column = np.floor((places_mm[:, 0] - field.x0_mm) / field.cell_mm + 0.5).astype(np.int64)
        row = np.floor((places_mm[:, 1] - field.y0_mm) / field.cell_mm + 0.5).astype(np.int64)
        ny, nx = self.piece.shape
        # half a cell of rounding at the far edges belongs to the stock
        near = (column >= -1) & (column <= nx) & (row >= -1) & (row <= ny)
        row, column = np.clip(row, 0, ny - 1), np.clip(column, 0, nx - 1)
        return (
            np.where(near, self.piece[row, column], -1).astype(np.int32),
            np.asarray(near & self.rim[row, column]),
        )

    def under_head(self, x_mm: float, y_mm: float, radius_mm: float) -> int:
        """Piece that a head presses on; its middle counts first, for a screw may stand beside the stock.

        x_mm, y_mm: Axis of the head [mm].
        radius_mm: Its radius [mm].
        Returns: Index of the piece; -1 where the head lies on nothing [-].
        """
        angles = np.arange(16) * (np.pi / 8)
        ring = np.column_stack([np.cos(angles), np.sin(angles)])
        offsets = np.vstack([[0.0, 0.0], 0.5 * radius_mm * ring, 0.9 * radius_mm * ring])
        places = offsets + np.array([x_mm, y_mm])
        found, _ = self.look_up(places)
        met = found[found >= 0]
        return int(met[0]) if len(met) else -1

    def area_mm2(self, index: int) -> float:
        """Plan area of a piece [mm2]."""
        return float(self.cells[index]) * self.field.cell_mm**2

    def box_mm(self, index: int) -> tuple[float, float, float, float]:
        """x_min, x_max, y_min, y_max of a piece [mm]."""
        first, last, left, right = (int(v) for v in self.boxes[index])
        cell, x0, y0 = self.field.cell_mm, self.field.x0_mm, self.field.y0_mm
        return (
            x0 + (left - 0.5) * cell,
            x0 + (right - 0.5) * cell,
            y0 + (first - 0.5) * cell,
            y0 + (last - 0.5) * cell,
        )

    def some_places(self, index: int, most: int) -> Floats:
        """Places spread over a piece, at most so many.

        index: The piece [-].
        most: Number of places [-].
        Returns: Centres of cells in it [mm].
        """
        first, last, left, right = (int(v) for v in self.boxes[index])
        step = max(1, int(np.sqrt((last - first) * (right - left) / most)))
        inside = np.zeros((0, 2), np.int64)
        while step >= 1:
            block = self.piece[first:last:step, left:right:step] == index
            inside = np.argwhere(block) * step + (first, left)
            if len(inside) or step == 1:
                break
            step //= 2
        inside = inside[:: max(1, len(inside) // most)]
        return np.column_stack(
            [
                self.field.x0_mm + inside[:, 1] * self.field.cell_mm,
                self.field.y0_mm + inside[:, 0] * self.field.cell_mm,
            ]
        )


def edge_values(grid: NDArray[np.int32]) -> NDArray[np.int32]:
    """Numbers that stand at the rim of a grid.

    grid: One number a cell [-].
    Returns: Each once, rising [-].
    """
    return np.unique(np.concatenate([grid[0], grid[-1], grid[:, 0], grid[:, -1]]))
