"""Regions of a mask, distances in it and their growth, as SciPy's ``ndimage`` gives them (tests compare the two).

Importing SciPy's takes a small check longer than simulating its cut.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.region_kernels import FAR, bound_regions, distance_squared, number_regions

Mask = NDArray[np.bool_]


def label(mask: Mask) -> tuple[NDArray[np.int32], int]:
    """Number the regions of a mask; cells that share an edge or a corner belong together.

    mask: Cells, of two axes.
    Returns: Number of each cell's region, 0 outside, in the order of their first cells; how many there are [-].
    """
    labels = np.zeros(mask.shape, np.int32)
    return labels, int(number_regions(np.ascontiguousarray(mask), labels, np.empty(mask.size, np.int64)))


def boxes(labels: NDArray[np.int32], count: int) -> list[tuple[slice, slice]]:
    """The rows and columns that each region reaches over.

    labels: Numbers of the regions, 1 to count.
    count: How many there are [-].
    Returns: In the order of the numbers.
    """
    found = np.tile(np.array([FAR, -1, FAR, -1], np.int64), (count + 1, 1))
    bound_regions(np.ascontiguousarray(labels), found)
    return [(slice(int(a), int(b) + 1), slice(int(c), int(d) + 1)) for a, b, c, d in found[1:]]


def distance(mask: Mask) -> NDArray[np.float64]:
    """Distance of each cell to the nearest one outside the mask, centre to centre.

    mask: Cells, of two axes; not all of them set.
    Returns: Distances, 0 outside the mask [cells].
    """
    return np.sqrt(_squared(mask, FAR), dtype=np.float64)


def within(mask: Mask, radius: float) -> tuple[NDArray[np.int64], int]:
    """Squared distances as :func:`distance` gives them, exact up to a radius and beyond it for what lies farther.

    mask: Cells, of two axes.
    radius: How far is looked [cells].
    Returns: Squared distances; and up to which of them the distance is at most the radius [cells2].
    """
    most = math.floor(radius**2)
    most += int(math.sqrt(most + 1) <= radius) - int(
        math.sqrt(most) > radius
    )  # as if the roots were compared
    return _squared(mask, math.ceil(radius)), most


def _squared(mask: Mask, most: int) -> NDArray[np.int64]:
    squared = np.empty(mask.shape, np.int64)
    distance_squared(np.ascontiguousarray(mask), squared, most)
    return squared


def grown(mask: Mask, cells: int) -> Mask:
    """A mask grown by some cells in all eight directions, no further than its array.

    mask: Cells, of two axes.
    cells: By how many [-].
    Returns: The larger mask.
    """
    wide = mask.copy()
    for step in range(1, cells + 1):
        wide[step:] |= mask[:-step]
        wide[:-step] |= mask[step:]
    result = wide.copy()
    for step in range(1, cells + 1):
        result[:, step:] |= wide[:, :-step]
        result[:, :-step] |= wide[:, step:]
    return result
