"""Kernels that walk the motions in program order, cut each step and measure engagement over windows of travel.

``cols``: the motion table's columns in part coordinates plus the shape row of each motion (negative: not simulated).
``out``: one entry a motion, changed in place. ``win`` float64 (WINDOW_COLUMNS,) and ``bins`` uint8 (BINS,): the state
carried from step to step and from call to call, see removal_kernels.py.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import kernel
from millcalc.stock.removal_kernels import (
    AREA,
    AX,
    AY,
    AZ,
    BINS,
    BX,
    BY,
    BZ,
    CELL,
    COS,
    COVERED,
    DEPTH,
    ENGAGED,
    FIRST,
    JUMP_OPEN,
    JUMP_ROW,
    JUMPS_LOST,
    LAST_SHAPE,
    LAST_UX,
    LAST_UY,
    LAST_X,
    LAST_Y,
    LAST_Z,
    LEAST,
    LENGTH,
    MOST,
    RING,
    RING_AT,
    RING_LENGTH,
    SEGMENT_COLUMNS,
    SIN,
    TOP,
    TRAVEL,
    UX,
    UY,
    VOLUME,
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
    radius_at_mm,
)

LINE_KIND, CW_KIND, CCW_KIND = 1, 2, 3  # as in gcode.motions; a test holds them equal
CLIMB, CONVENTIONAL, SLOT = 1, 2, 3  # as in stock.result; a test holds them equal
CHORD_SHARE = (
    0.05  # an arc's chord may lie this share of a cell off the arc: a tenth of the cell's own rounding
)
SLOT_RAD = math.radians(150.0)  # from here on both walls are cut
SLOT_BALANCE = 0.5  # both sides of the path engaged at least in this ratio: neither climb nor conventional
JUMP_RAD = math.radians(30.0)  # smallest rise of engagement that is kept as a jump
TURN_COS = math.cos(math.radians(20.0))  # a sharper turn begins a new window
GAP_BINS = (
    12  # empty classes of lateral offset in a row (a fifth of the diameter) that are a gap in the engaged arc
)
GAP_SPACINGS = 4.0  # and at least so many mean spacings
NEAR_SHANK_MM = 0.025  # a shank thinner than the cutter by more than this radius does not rub
RING_CELLS = 0.75  # the wall beside a shank is looked for this many cells outside it


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


class Output(NamedTuple):
    """What the walk writes, one entry a motion; ``jumps`` float64 (k, 6): motion, x, y, z, before, after."""

    depth: NDArray[np.float32]
    width: NDArray[np.float32]
    engaged: NDArray[np.float32]
    engaged_start: NDArray[np.float32]
    side: NDArray[np.uint8]
    volume: NDArray[np.float64]
    place: NDArray[np.float32]
    shank: NDArray[np.float32]
    holder: NDArray[np.float32]
    section: NDArray[np.float32]
    jumps: NDArray[np.float64]


@kernel
def reset_window(win: NDArray[np.float64], bins: NDArray[np.uint8]) -> None:
    # empty the sums of the window, keep the state of the walk
    win[TRAVEL] = 0.0
    win[AREA] = 0.0
    win[VOLUME] = 0.0
    win[DEPTH] = 0.0
    win[LEAST] = 1e300
    win[MOST] = -1e300
    win[FIRST] = -1.0
    for index in range(BINS):
        bins[index] = 0


@kernel
def arc_of(low: float, high: float, reach: float) -> float:
    # angle of the leading rim between two lateral offsets, on a circle of radius reach
    return math.asin(min(max(high / reach, -1.0), 1.0)) - math.asin(min(max(low / reach, -1.0), 1.0))


@kernel
def engagement(
    shape: NDArray[np.float64], win: NDArray[np.float64], bins: NDArray[np.uint8], cell: float
) -> tuple[float, float, int]:
    # Width [mm], angle [rad] and side of what the window removed. Along its travel every lateral offset of the cutter
    # meets the same length of fresh material, so the offsets of removed cells show what is engaged; their mean
    # spacing, cell^2 / travel, corrects the ends.
    if win[AREA] <= 0.0:
        return 0.0, 0.0, 0
    spacing = cell * cell / max(win[TRAVEL], cell)
    radius = shape[RADIUS]
    reach = max(radius_at_mm(shape, win[DEPTH]), 0.5 * cell)
    low, high = win[LEAST] - 0.5 * spacing, win[MOST] + 0.5 * spacing
    if low < spacing - reach:
        low = -reach
    if high > reach - spacing:
        high = reach
    low, high = max(low, -reach), min(high, reach)
    left, right = max(high, 0.0) - max(low, 0.0), min(high, 0.0) - min(low, 0.0)
    width, angle = high - low, arc_of(low, high, reach)
    per_bin = 2.0 * radius / BINS
    shortest = max(GAP_BINS * per_bin, GAP_SPACINGS * spacing)
    first = min(max(int((win[LEAST] + radius) / per_bin), 0), BINS - 1)
    last = min(max(int((win[MOST] + radius) / per_bin), 0), BINS - 1)
    empty = 0
    for index in range(first, last + 1):
        if bins[index] == 0:
            empty += 1
            continue
        if empty * per_bin > shortest:
            begin, stop = (index - empty) * per_bin - radius, index * per_bin - radius
            width -= stop - begin
            angle -= arc_of(begin, stop, reach)
            left -= max(stop, 0.0) - max(begin, 0.0)
            right -= min(stop, 0.0) - min(begin, 0.0)
        empty = 0
    side = CLIMB if right > left else CONVENTIONAL
    if angle >= SLOT_RAD or min(left, right) >= SLOT_BALANCE * max(left, right):
        side = SLOT
    return width, angle, side


@kernel
def keep_peak(out: Output, motion: int, angle: float, side: int, place: NDArray[np.float64]) -> None:
    # note the greatest engagement of a motion and where it was
    if angle > out.engaged[motion]:
        out.engaged[motion] = angle
        out.side[motion] = side
        for axis in range(3):
            out.place[motion, axis] = place[axis]


@kernel
def close_window(
    geo: NDArray[np.float64],
    shape: NDArray[np.float64],
    win: NDArray[np.float64],
    bins: NDArray[np.uint8],
    out: Output,
    motion: int,
    place: NDArray[np.float64],
) -> None:
    # measure the running window and credit it to every motion it spans, then begin a new one
    if win[FIRST] >= 0.0 and win[TRAVEL] > 0.0:
        width, angle, side = engagement(shape, win, bins, geo[CELL])
        section = min(win[VOLUME] * geo[CELL] ** 2 / max(win[TRAVEL], geo[CELL]), width * win[DEPTH])
        if angle > 0.0:
            for row in range(int(win[FIRST]), motion + 1):
                if out.volume[row] > 0.0:
                    keep_peak(out, row, angle, side, place)
                    out.width[row] = max(out.width[row], width)
                    out.section[row] = max(out.section[row], section)
        note_jump(win, out, motion, angle, place)
        win[ENGAGED] = angle
    reset_window(win, bins)


@kernel
def note_jump(
    win: NDArray[np.float64], out: Output, motion: int, angle: float, place: NDArray[np.float64]
) -> None:
    # compare with the least engagement of the last windows; a jump stays open until that has caught up
    least = win[RING]
    for index in range(1, RING_LENGTH):
        least = min(least, win[RING + index])
    if win[JUMP_OPEN] > 0.0:
        row = int(win[JUMP_ROW]) - 1
        if angle > out.jumps[row, 5]:
            out.jumps[row, 5] = angle
        if angle < out.jumps[row, 4] + 0.5 * JUMP_RAD or least > out.jumps[row, 5] - JUMP_RAD:
            win[JUMP_OPEN] = 0.0
    elif angle > least + JUMP_RAD:
        row = int(win[JUMP_ROW])
        if row < len(out.jumps):
            out.jumps[row, 0] = motion
            for axis in range(3):
                out.jumps[row, 1 + axis] = place[axis]
            out.jumps[row, 4], out.jumps[row, 5] = least, angle
            win[JUMP_ROW] += 1.0
            win[JUMP_OPEN] = 1.0
        else:
            win[JUMPS_LOST] += 1.0
    win[RING + int(win[RING_AT])] = angle
    win[RING_AT] = (win[RING_AT] + 1.0) % RING_LENGTH


@kernel
def clear_ring(win: NDArray[np.float64]) -> None:
    # forget the engagement of the last windows: the cutter came out of the material
    for index in range(RING_LENGTH):
        win[RING + index] = 0.0
    win[JUMP_OPEN] = 0.0
    win[ENGAGED] = 0.0


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
def plunge(
    geo: NDArray[np.float64],
    shape: NDArray[np.float64],
    win: NDArray[np.float64],
    bins: NDArray[np.uint8],
    out: Output,
    motion: int,
    place: NDArray[np.float64],
) -> None:
    # steeper than 45 degrees: the share of the end that meets material is the share of a full turn
    if win[AREA] > 0.0:
        reach = max(radius_at_mm(shape, win[DEPTH]), 0.5 * geo[CELL])
        share = min(1.0, win[AREA] * geo[CELL] ** 2 / (math.pi * reach * reach))
        if share > 0.97:
            share = 1.0
        keep_peak(out, motion, 2.0 * math.pi * share, SLOT, place)
        out.width[motion] = max(out.width[motion], 2.0 * reach * share)
    reset_window(win, bins)
    clear_ring(win)


@kernel
def steps_of(cols: Columns, motion: int, cell: float, window: float) -> int:
    # number of straight steps a motion is walked in
    if cols.kind[motion] != CW_KIND and cols.kind[motion] != CCW_KIND:
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
    if cols.kind[motion] != CW_KIND and cols.kind[motion] != CCW_KIND:
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
    if (cols.kind[motion] == CW_KIND or cols.kind[motion] == CCW_KIND) and cols.plane[motion] != 17:
        low = min(low, cols.centre[motion, 2] - arc_radius(cols, motion))
    return float(low)


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
