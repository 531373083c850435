"""Kernels that walk the motions in program order and cut each straight step.

``cols`` and ``out``: see path_kernels.py and engagement_kernels.py. ``win`` and ``bins``: the state carried from
step to step and from call to call, see removal_kernels.py; changed in place.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import kernel
from millcalc.stock.engagement_kernels import (
    Output,
    clear_ring,
    close_window,
    plunge,
)
from millcalc.stock.path_kernels import (
    UNKNOWN_SHAPE,
    Columns,
    lowest_tip,
    point_at,
    steps_of,
)
from millcalc.stock.removal_kernels import (
    AX,
    AY,
    AZ,
    BX,
    BY,
    BZ,
    CELL,
    COS,
    COVERED,
    ENGAGED,
    FIRST,
    LAST_SHAPE,
    LAST_UX,
    LAST_UY,
    LAST_X,
    LAST_Y,
    LAST_Z,
    LENGTH,
    SEGMENT_COLUMNS,
    SIN,
    TOP,
    TRAVEL,
    UX,
    UY,
    X0,
    Y0,
    Field,
    cut_any,
    cut_flat,
    tallest_in_ring,
)
from millcalc.stock.shape_kernels import (
    FLAT,
    FLUTE,
    NUT_RADIUS,
    RADIUS,
    SHANK_RADIUS,
    STICKOUT,
    WINDOW,
)

TURN_COS = math.cos(math.radians(20.0))  # a sharper turn begins a new window
NEAR_SHANK_MM = 0.025  # a shank thinner than the cutter by more than this radius does not rub
RING_CELLS = 0.75  # the wall beside a shank is looked for this many cells outside it


@kernel
def touch(
    field: Field, shape: NDArray[np.float64], seg: NDArray[np.float64], out: Output, motion: int
) -> None:
    # depth by which shank and collet nut overlap stock at the end of the step
    top, cell = field.geo[TOP], field.geo[CELL]
    radius = shape[RADIUS]
    shank = seg[BZ] + shape[FLUTE]
    if shank < top and shape[SHANK_RADIUS] > radius - NEAR_SHANK_MM:
        outer = max(shape[SHANK_RADIUS], radius) + RING_CELLS * cell
        over = tallest_in_ring(field, seg[BX], seg[BY], radius, outer, 1) - shank
        out.shank[motion] = max(out.shank[motion], over)
    nut = seg[BZ] + shape[STICKOUT]
    if nut < top and shape[NUT_RADIUS] > 0.0:
        over = tallest_in_ring(field, seg[BX], seg[BY], 0.0, shape[NUT_RADIUS], 2) - nut
        out.holder[motion] = max(out.holder[motion], over)


@kernel
def cut_step(
    field: Field,
    shape: NDArray[np.float64],
    seg: NDArray[np.float64],
    win: NDArray[np.float64],
    bins: NDArray[np.uint8],
    out: Output,
    motion: int,
    place: NDArray[np.float64],
) -> None:
    # one straight step: seg holds its ends in grid coordinates, place its end in part coordinates
    geo = field.geo
    length, drop = seg[LENGTH], seg[BZ] - seg[AZ]
    steep = abs(drop) > length
    turns = win[LAST_UX] * seg[UX] + win[LAST_UY] * seg[UY] < TURN_COS
    if steep or (turns and win[TRAVEL] > 0.5 * shape[WINDOW]):
        close_window(geo, shape, win, bins, out, motion, place)
    if win[FIRST] < 0.0:
        win[FIRST] = motion
    if shape[FLAT] >= shape[RADIUS] and drop == 0.0 and length > 0.0:
        removed, deepest = cut_flat(field, shape[RADIUS], seg, motion, win, bins)
    elif length == 0.0 and drop >= 0.0 and seg[COVERED] > 0.0:
        removed, deepest = 0.0, 0.0
    else:
        if length == 0.0:
            seg[BZ] = min(seg[AZ], seg[BZ])
        removed, deepest = cut_any(field, shape, seg, motion, win, bins)
        seg[BZ] = seg[AZ] + drop
    out.volume[motion] += removed * geo[CELL] ** 2
    out.depth[motion] = max(out.depth[motion], deepest)
    if steep:
        plunge(geo, shape, win, bins, out, motion, place)
    else:
        win[TRAVEL] += length
        win[LAST_UX], win[LAST_UY] = seg[UX], seg[UY]
        if win[TRAVEL] > 0.999 * shape[WINDOW]:
            close_window(geo, shape, win, bins, out, motion, place)
    touch(field, shape, seg, out, motion)


@kernel
def walk(
    cols: Columns,
    field: Field,
    shapes: NDArray[np.float64],
    out: Output,
    win: NDArray[np.float64],
    bins: NDArray[np.uint8],
    first: int,
    last: int,
) -> None:
    # motions first .. last - 1 in order; shapes float64 (k, SHAPE_COLUMNS)
    geo = field.geo
    cos, sin, top = geo[COS], geo[SIN], geo[TOP]
    seg, place = np.zeros(SEGMENT_COLUMNS), np.zeros(3)
    for motion in range(first, last):
        if cols.shape[motion] < 0:
            if cols.shape[motion] == UNKNOWN_SHAPE:
                win[LAST_SHAPE] = -1.0
            continue
        shape = shapes[cols.shape[motion]]
        point_at(cols, motion, 0.0, place)
        dx, dy = place[0] - geo[X0], place[1] - geo[Y0]
        seg[BX], seg[BY], seg[BZ] = cos * dx + sin * dy, cos * dy - sin * dx, place[2]
        same = (
            win[LAST_SHAPE] == cols.shape[motion]
            and abs(seg[BX] - win[LAST_X]) < 1e-9
            and abs(seg[BY] - win[LAST_Y]) < 1e-9
            and abs(seg[BZ] - win[LAST_Z]) < 1e-9
        )
        air = lowest_tip(cols, motion) >= top
        if not same or air:
            if win[LAST_SHAPE] >= 0.0:
                close_window(geo, shapes[int(win[LAST_SHAPE])], win, bins, out, motion - 1, place)
            clear_ring(win)
        seg[COVERED] = 1.0 if same else 0.0
        out.engaged_start[motion] = win[ENGAGED]
        steps = 1 if air else steps_of(cols, motion, geo[CELL], shape[WINDOW])
        for step in range(1, steps + 1):
            seg[AX], seg[AY], seg[AZ] = seg[BX], seg[BY], seg[BZ]
            point_at(cols, motion, step / steps, place)
            dx, dy = place[0] - geo[X0], place[1] - geo[Y0]
            seg[BX], seg[BY], seg[BZ] = cos * dx + sin * dy, cos * dy - sin * dx, place[2]
            if air:
                continue
            one, two = seg[BX] - seg[AX], seg[BY] - seg[AY]
            seg[LENGTH] = math.sqrt(one * one + two * two)
            seg[UX], seg[UY] = 1.0, 0.0
            if seg[LENGTH] > 1e-9:
                seg[UX], seg[UY] = one / seg[LENGTH], two / seg[LENGTH]
            else:
                seg[LENGTH] = 0.0
                if seg[COVERED] > 0.0 and seg[AZ] == seg[BZ]:
                    continue
            cut_step(field, shape, seg, win, bins, out, motion, place)
            seg[COVERED] = 1.0
        win[LAST_X], win[LAST_Y], win[LAST_Z] = seg[BX], seg[BY], seg[BZ]
        win[LAST_SHAPE] = cols.shape[motion]


@kernel
def finish(
    field: Field,
    shapes: NDArray[np.float64],
    out: Output,
    win: NDArray[np.float64],
    bins: NDArray[np.uint8],
    motions: int,
) -> None:
    # close the window that is still open after the last motion
    if win[LAST_SHAPE] >= 0.0 and motions > 0:
        place = np.zeros(3)
        geo = field.geo
        place[0] = geo[X0] + geo[COS] * win[LAST_X] - geo[SIN] * win[LAST_Y]
        place[1] = geo[Y0] + geo[SIN] * win[LAST_X] + geo[COS] * win[LAST_Y]
        place[2] = win[LAST_Z]
        close_window(geo, shapes[int(win[LAST_SHAPE])], win, bins, out, motions - 1, place)
