"""Kernels of the search for loose pieces: joined material, found backwards in time.

``parent`` int32 (cells + OUTER,), a forest over flat cell indices and the parts of the stock beyond the grid; ``held``
uint8 and ``size`` int32 of the same length, valid at the roots; all changed in place. Neighbours share an edge.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import inner_kernel, kernel

OUTER = 2  # parts of the stock beyond the grid: at most two, left and right or front and back


@kernel
def root_of(parent: NDArray[np.int32], cell: int) -> int:
    # representative of a cell's component; halves the path on the way
    while parent[cell] != cell:
        parent[cell] = parent[parent[cell]]
        cell = parent[cell]
    return cell


@inner_kernel
def unite(
    parent: NDArray[np.int32], size: NDArray[np.int32], held: NDArray[np.uint8], one: int, two: int
) -> None:
    # join two components; the larger one's root stays
    one, two = root_of(parent, one), root_of(parent, two)
    if one == two:
        return
    if size[one] < size[two]:
        one, two = two, one
    parent[two] = one
    size[one] += size[two]
    held[one] = max(held[one], held[two])


@kernel
def join_remaining(
    through: NDArray[np.int32],
    never: int,
    outer: NDArray[np.int8],
    parent: NDArray[np.int32],
    size: NDArray[np.int32],
    held: NDArray[np.uint8],
) -> None:
    # join all cells that are never cut through; outer int8 (cells,): the part beyond the grid a cell touches, or -1
    rows, columns = through.shape
    for row in range(rows):
        for column in range(columns):
            if through[row, column] != never:
                continue
            cell = row * columns + column
            if outer[cell] >= 0:
                unite(parent, size, held, cell, rows * columns + int(outer[cell]))
            if column > 0 and through[row, column - 1] == never:
                unite(parent, size, held, cell, cell - 1)
            if row > 0 and through[row - 1, column] == never:
                unite(parent, size, held, cell, cell - columns)


@inner_kernel
def neighbours_of(cell: int, rows: int, columns: int, out: NDArray[np.int64]) -> int:
    # flat indices of the neighbours within the grid; returns how many
    row, column = cell // columns, cell % columns
    count = 0
    if column > 0:
        out[count] = cell - 1
        count += 1
    if column < columns - 1:
        out[count] = cell + 1
        count += 1
    if row > 0:
        out[count] = cell - columns
        count += 1
    if row < rows - 1:
        out[count] = cell + columns
        count += 1
    return count


@kernel
def add_back(
    through: NDArray[np.int32],
    order: NDArray[np.int64],
    outer: NDArray[np.int8],
    parent: NDArray[np.int32],
    size: NDArray[np.int32],
    held: NDArray[np.uint8],
    stamp: NDArray[np.int32],
    events: NDArray[np.int64],
) -> int:
    # order: cells cut through, latest motion first. A component that is not held after a motion but is once the cells
    # this motion took are put back came free in it. events int64 (k, 3): motion, a cell of the piece, its cells;
    # returns how many there were, which may be more than fit.
    rows, columns = through.shape
    flat = through.reshape(rows * columns)
    largest, run = 1, 0
    for place in range(len(order)):
        run = run + 1 if place > 0 and flat[order[place]] == flat[order[place - 1]] else 1
        largest = max(largest, run)
    near, waiting = np.empty(4, np.int64), np.empty(largest * 8 + 1, np.int64)
    found = 0
    begin = 0
    while begin < len(order):
        motion = flat[order[begin]]
        end = begin
        queued = 0
        while end < len(order) and flat[order[end]] == motion:
            count = neighbours_of(order[end], rows, columns, near)
            for index in range(count):
                if flat[near[index]] > motion:
                    root = root_of(parent, near[index])
                    if held[root] == 0 and stamp[root] != motion:
                        stamp[root] = motion
                        waiting[queued] = root
                        queued += 1
            end += 1
        for place in range(queued):
            waiting[queued + place] = size[waiting[place]]
        for place in range(begin, end):
            cell = order[place]
            if outer[cell] >= 0:
                unite(parent, size, held, cell, rows * columns + int(outer[cell]))
            count = neighbours_of(cell, rows, columns, near)
            for index in range(count):
                other = near[index]
                if flat[other] > motion or (flat[other] == motion and other < cell):
                    unite(parent, size, held, cell, other)
        for place in range(queued):
            if held[root_of(parent, waiting[place])] > 0:
                if found < len(events):
                    events[found, 0], events[found, 1] = motion, waiting[place]
                    events[found, 2] = waiting[queued + place]
                found += 1
        begin = end
    return found


@kernel
def flood(
    through: NDArray[np.int32],
    motion: int,
    seed: int,
    found: NDArray[np.int64],
    seen: NDArray[np.uint8],
) -> int:
    # flat indices of the cells joined to the seed that outlast the motion, into found; returns how many. seen uint8
    # (cells,) is set for them, in place.
    rows, columns = through.shape
    flat = through.reshape(rows * columns)
    near = np.empty(4, np.int64)
    found[0] = seed
    seen[seed] = 1
    count, next_one = 1, 0
    while next_one < count:
        around = neighbours_of(found[next_one], rows, columns, near)
        for index in range(around):
            cell = near[index]
            if flat[cell] > motion and seen[cell] == 0:
                seen[cell] = 1
                found[count] = cell
                count += 1
        next_one += 1
    return count
