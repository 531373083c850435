"""Which cutter each motion runs with, and the cutters as the kernels read them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import DWELL, MotionTable
from millcalc.stock.path_kernels import STANDS_STILL, UNKNOWN_SHAPE
from millcalc.stock.result import NOT_A_MOVE, POSITION_UNKNOWN, RAN, TOOL_UNKNOWN
from millcalc.stock.shape_kernels import SHAPE_COLUMNS, WINDOW
from millcalc.stock.shapes import CutterShape
from millcalc.stock.tuning import REMOVAL_WINDOW_CELLS, REMOVAL_WINDOW_PER_DIAMETER


def shape_index(
    motions: MotionTable, numbers: Sequence[int], assume_tool: int | None
) -> tuple[NDArray[np.int32], NDArray[np.uint8]]:
    """Which cutter each motion runs with.

    motions: The motions, n of them.
    numbers: Tool numbers of the cutters, in the order of their rows [-].
    assume_tool: Tool number to take where the program names none.
    Returns: index: Row of the cutter, or why there is none, (n,) [-]. reason: The same as `Removal` tells it [-].
    """
    tools = motions.tool
    if assume_tool is not None:
        tools = np.where(tools < 0, np.int32(assume_tool), tools)
    index = np.full(len(motions), UNKNOWN_SHAPE, dtype=np.int32)
    reason = np.full(len(motions), TOOL_UNKNOWN, dtype=np.uint8)
    for place, number in enumerate(numbers):
        rows = tools == number
        index[rows], reason[rows] = place, RAN
    finite = np.isfinite(sum(motions.start_mm[:, axis] + motions.end_mm[:, axis] for axis in range(3)))
    arcs = motions.is_arc
    if arcs.any():
        centres = motions.centre_mm
        in_plane = np.ones(len(motions), dtype=bool)
        for plane, axes in ((17, (0, 1)), (18, (0, 2)), (19, (1, 2))):
            rows = arcs & (motions.plane == plane)
            in_plane[rows] = np.isfinite(centres[np.ix_(rows, axes)]).all(axis=1)
        finite &= in_plane & (np.isfinite(motions.sweep_rad) | ~arcs)
    index[~finite], reason[~finite] = UNKNOWN_SHAPE, POSITION_UNKNOWN
    still = motions.kind == DWELL
    index[still], reason[still] = STANDS_STILL, NOT_A_MOVE
    return index, reason


def shape_rows(
    shapes: Mapping[int, CutterShape], numbers: Sequence[int], cell_mm: float
) -> NDArray[np.float64]:
    """Cutters as the kernels read them.

    shapes: Cutters by tool number.
    numbers: Tool numbers in the order of the rows [-].
    cell_mm: Cell size [mm].
    Returns: One row a cutter, and the window of travel over which it is watched.
    """
    rows = np.zeros((max(len(numbers), 1), SHAPE_COLUMNS))
    for place, number in enumerate(numbers):
        shape = shapes[number]
        rows[place] = shape.row()
        rows[place, WINDOW] = max(
            REMOVAL_WINDOW_PER_DIAMETER * shape.diameter_mm, REMOVAL_WINDOW_CELLS * cell_mm
        )
    return rows
