"""The four-dimensional grid, even in the logarithms, by which like cuts are found quickly in a long log.

A cell is D, kc1.1, ap and chip thickness, each rounded down on its own logarithmic step, packed in one
integer. The step of each dimension is 1.5 times its unit of dissimilarity, so every cut nearer than
distance 3 lies at most two cells away in each dimension.
"""

from __future__ import annotations

import math
from itertools import product
from typing import Final

from millcalc.cutlog import tuning

REACH: Final = 2  # cells searched to each side in each dimension [-]
STEP_UNITS: Final = 1.5  # cell width in units of dissimilarity [-]
_SIDE: Final = 256  # cells in each dimension: ln 1e-6 .. ln 1e6 fits with the narrowest step [-]
_UNITS: Final = (
    tuning.SIMILAR_DIAMETER_FACTOR,
    tuning.SIMILAR_FORCE_FACTOR,
    tuning.SIMILAR_DEPTH_FACTOR,
    tuning.SIMILAR_CHIP_FACTOR,
)


def _coordinates(values: tuple[float | None, ...]) -> tuple[int, ...] | None:
    found = []
    for value, factor in zip(values, _UNITS, strict=True):
        if value is None or not value > 0:
            return None
        step = STEP_UNITS * math.log(factor)
        found.append(min(max(math.floor(math.log(value) / step) + _SIDE // 2, 0), _SIDE - 1))
    return tuple(found)


def _pack(coordinates: tuple[int, ...]) -> int:
    packed = 0
    for coordinate in coordinates:
        packed = packed * _SIDE + coordinate
    return packed


def cell_of_values(
    diameter_mm: float | None, kc11_n_mm2: float | None, axial_depth_mm: float | None, chip_mm: float | None
) -> int | None:
    """Cell of a cut.

    diameter_mm: Cutter diameter [mm].
    kc11_n_mm2: Kienzle specific force [N/mm2].
    axial_depth_mm: ap [mm].
    chip_mm: Largest chip thickness [mm].
    Returns: Packed cell; None when one of the values is unknown.
    """
    coordinates = _coordinates((diameter_mm, kc11_n_mm2, axial_depth_mm, chip_mm))
    return None if coordinates is None else _pack(coordinates)


def cells_around(
    diameter_mm: float, kc11_n_mm2: float, axial_depth_mm: float, chip_mm: float
) -> list[tuple[float, int]]:
    """Cells that can hold a cut nearer than ``REACH * STEP_UNITS`` units, the nearest cell first.

    diameter_mm, axial_depth_mm, chip_mm: Cutter diameter, ap and chip thickness [mm].
    kc11_n_mm2: Kienzle specific force [N/mm2].
    Returns: Smallest distance a cut in the cell can have [-], and the packed cell.
    """
    values = (diameter_mm, kc11_n_mm2, axial_depth_mm, chip_mm)
    centre = _coordinates(values)
    if centre is None:
        return []
    ranges = [range(max(c - REACH, 0), min(c + REACH, _SIDE - 1) + 1) for c in centre]
    gaps = [_gaps(value, factor, cells) for value, factor, cells in zip(values, _UNITS, ranges, strict=True)]
    found = [
        (math.sqrt(sum(gap[c] ** 2 for gap, c in zip(gaps, coordinates, strict=True))), _pack(coordinates))
        for coordinates in product(*ranges)
    ]
    return sorted(found)


def _gaps(value: float, factor: float, cells: range) -> dict[int, float]:
    """Smallest distance in one dimension from a value to each cell [units of dissimilarity]."""
    at = math.log(value) / (STEP_UNITS * math.log(factor)) + _SIDE // 2
    return {
        c: STEP_UNITS * max(c - at, at - (c + 1), 0.0) if 0 < c < _SIDE - 1 else 0.0  # outermost: open
        for c in cells
    }
