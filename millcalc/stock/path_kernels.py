"""Kernels over the path of a motion: points on lines and arcs, number of straight steps, lowest tip.

``cols``: the motion table's columns in part coordinates plus the shape row of each motion (negative: not simulated).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import ARC_CCW, ARC_CW
from millcalc.kernels import kernel

CHORD_SHARE = 0.05  # an arc's chord may lie this share of a cell off it: a tenth of the cell's own rounding
UNKNOWN_SHAPE, STANDS_STILL = -1, -2  # shape rows of motions that are not simulated


class Columns(NamedTuple):
    """What the walk needs of the motion table."""

    kind: NDArray[np.uint8]
    start: NDArray[np.float64]
    end: NDArray[np.float64]
    centre: NDArray[np.float64]
    sweep: NDArray[np.float64]
    plane: NDArray[np.uint8]
    shape: NDArray[np.int32]


@kernel
def steps_of(cols: Columns, motion: int, cell: float, window: float) -> int:
    # number of straight steps a motion is walked in
    if cols.kind[motion] != ARC_CW and cols.kind[motion] != ARC_CCW:
        dx = cols.end[motion, 0] - cols.start[motion, 0]
        dy = cols.end[motion, 1] - cols.start[motion, 1]
        return max(1, int(math.sqrt(dx * dx + dy * dy) / window))
    radius = arc_radius(cols, motion)
    sweep = abs(cols.sweep[motion])
    share = min(CHORD_SHARE * cell / max(radius, 1e-12), 1.0)
    chord = 2.0 * math.acos(1.0 - share)
    return int(max(1, math.ceil(sweep / chord), int(sweep * radius / window)))


@kernel
def arc_axes(plane: int) -> tuple[int, int, int]:
    # first and second axis of an arc's plane and the axis it turns about
    if plane == 18:
        return 2, 0, 1
    if plane == 19:
        return 1, 2, 0
    return 0, 1, 2


@kernel
def arc_radius(cols: Columns, motion: int) -> float:
    # distance of the arc's start from its centre
    first, second, _ = arc_axes(cols.plane[motion])
    one = cols.start[motion, first] - cols.centre[motion, first]
    two = cols.start[motion, second] - cols.centre[motion, second]
    return math.sqrt(one * one + two * two)


@kernel
def point_at(cols: Columns, motion: int, share: float, place: NDArray[np.float64]) -> None:
    # place on the motion at a share of its path, in part coordinates
    if share >= 1.0:
        for axis in range(3):
            place[axis] = cols.end[motion, axis]
        return
    for axis in range(3):
        place[axis] = cols.start[motion, axis] + share * (cols.end[motion, axis] - cols.start[motion, axis])
    if cols.kind[motion] != ARC_CW and cols.kind[motion] != ARC_CCW:
        return
    first, second, _ = arc_axes(cols.plane[motion])
    one, two = cols.centre[motion, first], cols.centre[motion, second]
    a, b = cols.start[motion, first] - one, cols.start[motion, second] - two
    c, d = cols.end[motion, first] - one, cols.end[motion, second] - two
    begin, stop = math.sqrt(a * a + b * b), math.sqrt(c * c + d * d)
    radius = begin + share * (stop - begin)
    angle = math.atan2(b, a) + share * cols.sweep[motion]
    place[first] = one + radius * math.cos(angle)
    place[second] = two + radius * math.sin(angle)


@kernel
def lowest_tip(cols: Columns, motion: int) -> float:
    # a height the tip does not go below during the motion
    low = min(cols.start[motion, 2], cols.end[motion, 2])
    if (cols.kind[motion] == ARC_CW or cols.kind[motion] == ARC_CCW) and cols.plane[motion] != 17:
        low = min(low, cols.centre[motion, 2] - arc_radius(cols, motion))
    return float(low)
