"""Kernels over the path of a motion: points on lines and arcs, number of straight steps, lowest tip.

``cols``: the motion table's columns in part coordinates plus the shape row of each motion (negative: not simulated).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import ARC_CCW, ARC_CW
from millcalc.kernels import inner_kernel, kernel

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


@inner_kernel
def is_arc(kind: int) -> bool:
    # whether a motion kind is an arc
    return bool(kind in (ARC_CW, ARC_CCW))


@inner_kernel
def arc_axes(plane: int) -> tuple[int, int, int]:
    # first and second axis of an arc's plane and the axis it turns about
    if plane == 18:
        return 2, 0, 1
    if plane == 19:
        return 1, 2, 0
    return 0, 1, 2


@inner_kernel
def arc_radius(cols: Columns, motion: int) -> float:
    # distance of the arc's start from its centre
    first, second, _ = arc_axes(cols.plane[motion])
    one = cols.start[motion, first] - cols.centre[motion, first]
    two = cols.start[motion, second] - cols.centre[motion, second]
    return math.sqrt(one * one + two * two)


@inner_kernel
def end_radius(cols: Columns, motion: int) -> float:
    # distance of the arc's end from its centre
    first, second, _ = arc_axes(cols.plane[motion])
    one = cols.end[motion, first] - cols.centre[motion, first]
    two = cols.end[motion, second] - cols.centre[motion, second]
    return math.sqrt(one * one + two * two)


@inner_kernel
def arc_steps(cols: Columns, motion: int, cell: float, window: float) -> int:
    # number of chords an arc is walked in: near enough to the arc, and no longer than twice the window
    radius, sweep = arc_radius(cols, motion), abs(cols.sweep[motion])
    share = min(CHORD_SHARE * cell / max(radius, 1e-12), 1.0)
    chord = 2.0 * math.acos(1.0 - share)
    return int(max(1, math.ceil(sweep / chord), int(sweep * radius / window)))


@inner_kernel
def arc_point(cols: Columns, motion: int, share: float, place: NDArray[np.float64]) -> None:
    # place on an arc at a share of its sweep, in part coordinates; the axis it turns about runs evenly
    first, second, axis = arc_axes(cols.plane[motion])
    one, two = cols.centre[motion, first], cols.centre[motion, second]
    a, b = cols.start[motion, first] - one, cols.start[motion, second] - two
    c, d = cols.end[motion, first] - one, cols.end[motion, second] - two
    begin, stop = math.sqrt(a * a + b * b), math.sqrt(c * c + d * d)
    radius = begin + share * (stop - begin)
    angle = math.atan2(b, a) + share * cols.sweep[motion]
    place[first] = one + radius * math.cos(angle)
    place[second] = two + radius * math.sin(angle)
    place[axis] = cols.start[motion, axis] + share * (cols.end[motion, axis] - cols.start[motion, axis])


@inner_kernel
def lowest_of_arc(cols: Columns, motion: int) -> float:
    # a height the tip does not go below on an arc in an upright plane
    return float(cols.centre[motion, 2] - arc_radius(cols, motion))


@kernel
def reached(cols: Columns, top: float) -> tuple[float, float, float, float]:
    # least and greatest x, least and greatest y of the simulated motions that may dip below a height; least > greatest
    # when there are none. An arc counts with its whole circle.
    low_x, high_x, low_y, high_y = 1e300, -1e300, 1e300, -1e300
    for motion in range(len(cols.shape)):
        if cols.shape[motion] < 0:
            continue
        low_z = min(cols.start[motion, 2], cols.end[motion, 2])
        around, x, y = 0.0, cols.start[motion, 0], cols.start[motion, 1]
        if is_arc(cols.kind[motion]):
            around = arc_radius(cols, motion)
            if cols.plane[motion] != 17:
                low_z = min(low_z, cols.centre[motion, 2] - around)
            if cols.plane[motion] != 19:
                x = cols.centre[motion, 0]
            if cols.plane[motion] != 18:
                y = cols.centre[motion, 1]
        if low_z < top:
            low_x = min(low_x, min(x - around, cols.end[motion, 0]))
            high_x = max(high_x, max(x + around, cols.end[motion, 0]))
            low_y = min(low_y, min(y - around, cols.end[motion, 1]))
            high_y = max(high_y, max(y + around, cols.end[motion, 1]))
    return low_x, high_x, low_y, high_y
