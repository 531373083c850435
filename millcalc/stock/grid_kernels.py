"""Kernels that fill the turned grid before the first motion and straighten it after the last.

``geo`` float64 (GEOMETRY_COLUMNS,), see removal_kernels.py.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import kernel
from millcalc.stock.removal_kernels import CELL, COS, SIN, TOP, X0, Y0


@kernel
def fill_stock(
    height: NDArray[np.float32],
    through: NDArray[np.int32],
    geo: NDArray[np.float64],
    box: NDArray[np.float64],
    never: int,
) -> None:
    # cells whose centre lies in the box (x and y: least, greatest) become uncut stock, in place
    rows, columns = height.shape
    along_x, along_y = geo[COS] * geo[CELL], geo[SIN] * geo[CELL]
    for row in range(rows):
        x0, y0 = geo[X0] - along_y * row, geo[Y0] + along_x * row
        for column in range(columns):
            x, y = x0 + along_x * column, y0 + along_y * column
            if box[0] <= x < box[1] and box[2] <= y < box[3]:
                height[row, column] = geo[TOP]
                through[row, column] = never


@kernel
def straighten_into(
    out: NDArray[np.float32],
    height: NDArray[np.float32],
    geo: NDArray[np.float64],
    x0: float,
    y0: float,
    cell: float,
    outside: float,
) -> None:
    # each cell of out, on a grid along the axes from (x0, y0), from the nearest turned cell that is stock, in place
    rows, columns = height.shape
    cos, sin = geo[COS] / geo[CELL], geo[SIN] / geo[CELL]
    for j in range(out.shape[0]):
        dy = y0 + j * cell - geo[Y0]
        for i in range(out.shape[1]):
            dx = x0 + i * cell - geo[X0]
            row = math.floor(cos * dy - sin * dx + 0.5)
            column = math.floor(cos * dx + sin * dy + 0.5)
            if 0 <= row < rows and 0 <= column < columns and height[row, column] > outside:
                out[j, i] = height[row, column]
