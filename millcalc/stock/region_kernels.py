"""Kernels for regions of a mask: numbering what touches, and the distance of each cell to the nearest empty one.

``mask`` bool (rows, columns); ``labels`` int32, ``boxes`` int64 (regions + 1, 4) and ``squared`` int64 of its shape are
filled in place.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import kernel

FAR = 1 << 28  # cells; farther than any grid is wide, and its square still fits


@kernel
def number_regions(mask: NDArray[np.bool_], labels: NDArray[np.int32], waiting: NDArray[np.int64]) -> int:
    # numbers regions of cells that share an edge or a corner, in the order of their first cells; gives their count
    # waiting int64 (cells,): room for the cells of one region
    rows, columns = mask.shape
    count = 0
    for row in range(rows):
        for column in range(columns):
            if not mask[row, column] or labels[row, column] != 0:
                continue
            count += 1
            labels[row, column] = count
            waiting[0] = row * columns + column
            left = 1
            while left > 0:
                left -= 1
                here_row, here_column = waiting[left] // columns, waiting[left] % columns
                for r in range(max(here_row - 1, 0), min(here_row + 2, rows)):
                    for c in range(max(here_column - 1, 0), min(here_column + 2, columns)):
                        if mask[r, c] and labels[r, c] == 0:
                            labels[r, c] = count
                            waiting[left] = r * columns + c
                            left += 1
    return count


@kernel
def bound_regions(labels: NDArray[np.int32], boxes: NDArray[np.int64]) -> None:
    # first and last row, first and last column of each region; boxes begin as (FAR, -1, FAR, -1)
    for row in range(labels.shape[0]):
        for column in range(labels.shape[1]):
            if labels[row, column] > 0:
                box = boxes[labels[row, column]]
                box[0], box[1] = min(box[0], row), max(box[1], row)
                box[2], box[3] = min(box[2], column), max(box[3], column)


@kernel
def distance_squared(mask: NDArray[np.bool_], squared: NDArray[np.int64], most: int) -> None:
    # exact squared distance to the nearest empty cell: along the columns, then the lower envelope of parabolas; what is
    # farther than most cells away may come out too far, up to FAR squared
    # Source: P. F. Felzenszwalb, D. P. Huttenlocher, Theory of Computing 8 (2012) 415 (from memory)
    rows, columns = mask.shape
    steps = np.empty(columns, np.int64)
    for column in range(columns):
        steps[column] = FAR
    for row in range(rows):
        for column in range(columns):
            steps[column] = min(steps[column] + 1, FAR) if mask[row, column] else 0
            squared[row, column] = steps[column]
    for column in range(columns):
        steps[column] = FAR
    for row in range(rows - 1, -1, -1):
        for column in range(columns):
            steps[column] = min(steps[column] + 1, FAR) if mask[row, column] else 0
            squared[row, column] = min(squared[row, column], steps[column])
    along = np.empty(columns, np.int64)
    at, begins = np.empty(columns, np.int64), np.empty(columns, np.int64)
    for row in range(rows):
        last = -1
        for column in range(columns):
            steps[column], along[column] = squared[row, column], squared[row, column] ** 2
        for column in range(columns):
            if steps[column] > most:
                continue  # nothing empty so near above or below
            if (
                along[column] == 0
                and 0 < column < columns - 1
                and along[column - 1] == along[column + 1] == 0
            ):
                continue  # among empty cells: nearest to nothing but itself
            begin = 0
            while last >= 0:
                # the first column at which this parabola is not above the one before it
                other = at[last]
                begin = (along[column] + column**2 - along[other] - other**2) // (2 * (column - other)) + 1
                if begin > begins[last]:
                    break
                last -= 1
            if last < 0:
                begin = 0
            if begin < columns:
                last += 1
                at[last], begins[last] = column, begin
        for column in range(columns - 1, -1, -1):
            if last < 0:
                squared[row, column] = along[column] if along[column] == 0 else FAR**2
                continue
            while begins[last] > column:
                last -= 1
            if along[column] > 0:
                squared[row, column] = along[at[last]] + (column - at[last]) ** 2
