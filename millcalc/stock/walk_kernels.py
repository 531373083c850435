"""Kernels that walk the motions in program order and cut each straight step.

``cols`` and ``out``: see path_kernels.py and engagement_kernels.py. ``win`` and ``bins``: the state carried from
step to step and from call to call, see removal_kernels.py; changed in place.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import inner_kernel, kernel
from millcalc.stock.engagement_kernels import (
    AP,
    ENGAGED_START,
    HOLDER,
    SHANK,
    Output,
    clear_ring,
    close_window,
    plunge,
)
from millcalc.stock.path_kernels import (
    UNKNOWN_SHAPE,
    Columns,
    arc_axes,
    arc_point,
    arc_radius,
    arc_steps,
    end_radius,
    is_arc,
    lowest_of_arc,
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
    END,
    ENGAGED,
    FIRST,
    LAST_SHAPE,
    LAST_UX,
    LAST_UY,
    LAST_X,
    LAST_Y,
    LAST_Z,
    LENGTH,
    RING_LENGTH,
    SEGMENT_COLUMNS,
    SIN,
    START,
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
IDLE_STEPS = RING_LENGTH + 2  # so many steps without contact, and the windows are as if there never was any
EVERY, EVERY_OTHER = 1, 2  # cells looked at
RING_CELLS = 0.75  # the wall beside a shank is looked for this many cells outside it


@inner_kernel
def touch(
    field: Field, shape: NDArray[np.float64], seg: NDArray[np.float64], out: Output, motion: int
) -> None:
    # depth by which shank and collet nut overlap stock at the end of the step
    top, cell = field.geo[TOP], field.geo[CELL]
    radius = shape[RADIUS]
    shank = seg[BZ] + shape[FLUTE]
    if shank < top and shape[SHANK_RADIUS] > radius - NEAR_SHANK_MM:
        outer = max(shape[SHANK_RADIUS], radius) + RING_CELLS * cell
        over = tallest_in_ring(field, seg[BX], seg[BY], radius, outer, int(EVERY)) - shank
        out.numbers[motion, SHANK] = max(out.numbers[motion, SHANK], over)
    nut = seg[BZ] + shape[STICKOUT]
    if nut < top and shape[NUT_RADIUS] > 0.0:
        over = tallest_in_ring(field, seg[BX], seg[BY], 0.0, shape[NUT_RADIUS], int(EVERY_OTHER)) - nut
        out.numbers[motion, HOLDER] = max(out.numbers[motion, HOLDER], over)


@inner_kernel
def cut_step(
    field: Field,
    shape: NDArray[np.float64],
    seg: NDArray[np.float64],
    win: NDArray[np.float64],
    bins: NDArray[np.uint8],
    out: Output,
    motion: int,
    spans: NDArray[np.int32],
) -> None:
    # one straight step, in seg
    cell = field.geo[CELL]
    length, drop = seg[LENGTH], seg[BZ] - seg[AZ]
    steep = abs(drop) > length
    turns = win[LAST_UX] * seg[UX] + win[LAST_UY] * seg[UY] < TURN_COS
    if steep or (turns and win[TRAVEL] > 0.5 * shape[WINDOW]):
        close_window(cell, shape, win, bins, out, motion, seg, int(START))
    if win[FIRST] < 0.0:
        win[FIRST] = motion
    if shape[FLAT] >= shape[RADIUS] and drop == 0.0 and length > 0.0:
        removed, deepest = cut_flat(field, shape[RADIUS], seg, motion, win, bins, spans)
    elif length == 0.0 and drop >= 0.0 and seg[COVERED] > 0.0:
        removed, deepest = 0.0, 0.0
    else:
        high = seg[BZ]
        if length == 0.0:
            seg[BZ] = min(seg[AZ], seg[BZ])
        removed, deepest = cut_any(field, shape, seg, motion, win, bins)
        seg[BZ] = high
    if removed > 0.0:
        out.volume[motion] += removed * cell * cell
        out.numbers[motion, AP] = max(out.numbers[motion, AP], deepest)
    if steep:
        plunge(cell, shape, win, bins, out, motion, seg)
    else:
        win[TRAVEL] += length
        win[LAST_UX], win[LAST_UY] = seg[UX], seg[UY]
        if win[TRAVEL] > 0.999 * shape[WINDOW]:
            close_window(cell, shape, win, bins, out, motion, seg, int(END))
    if seg[BZ] + min(shape[FLUTE], shape[STICKOUT]) < field.geo[TOP]:
        touch(field, shape, seg, out, motion)


@inner_kernel
def turn_into_grid(geo: NDArray[np.float64], seg: NDArray[np.float64]) -> None:
    # the step's end from part coordinates into grid coordinates
    dx, dy = seg[END] - geo[X0], seg[END + 1] - geo[Y0]
    seg[BX], seg[BY], seg[BZ] = geo[COS] * dx + geo[SIN] * dy, geo[COS] * dy - geo[SIN] * dx, seg[END + 2]


@inner_kernel
def advance_step(seg: NDArray[np.float64]) -> None:
    # the end of the last step is the start of the next
    seg[AX], seg[AY], seg[AZ] = seg[BX], seg[BY], seg[BZ]
    seg[START], seg[START + 1], seg[START + 2] = seg[END], seg[END + 1], seg[END + 2]


@inner_kernel
def direct(seg: NDArray[np.float64]) -> None:
    # horizontal length and direction of the step
    one, two = seg[BX] - seg[AX], seg[BY] - seg[AY]
    length = math.sqrt(one * one + two * two)
    if length > 1e-9:
        seg[LENGTH], seg[UX], seg[UY] = length, one / length, two / length
    else:
        seg[LENGTH], seg[UX], seg[UY] = 0.0, 1.0, 0.0


@inner_kernel
def step_end(
    cols: Columns,
    motion: int,
    step: int,
    steps: int,
    arc: bool,
    place: NDArray[np.float64],
    seg: NDArray[np.float64],
) -> None:
    # the end of a step of a motion, in part coordinates
    if step < steps and arc:
        arc_point(cols, motion, step / steps, place)
    for axis in range(3):
        if step == steps:
            seg[END + axis] = cols.end[motion, axis]
        elif arc:
            seg[END + axis] = place[axis]
        else:
            far = cols.end[motion, axis] - cols.start[motion, axis]
            seg[END + axis] = cols.start[motion, axis] + step / steps * far


@inner_kernel
def steps_inside(
    cols: Columns, motion: int, field: Field, shape: NDArray[np.float64], steps: int
) -> tuple[int, int]:
    # first and last step of a straight motion that may meet the field; both beyond the motion where none does.
    # A step elsewhere removes and touches nothing: a few of them empty the windows, all more change nothing.
    geo = field.geo
    cell = geo[CELL]
    reach = max(shape[RADIUS], max(shape[SHANK_RADIUS], shape[NUT_RADIUS])) + 2.0 * cell
    rows, columns = field.height.shape
    first, last = 0.0, 1.0
    ax, ay = cols.start[motion, 0] - geo[X0], cols.start[motion, 1] - geo[Y0]
    bx, by = cols.end[motion, 0] - geo[X0], cols.end[motion, 1] - geo[Y0]
    for axis in range(2):
        if axis == 0:
            a, b = geo[COS] * ax + geo[SIN] * ay, geo[COS] * bx + geo[SIN] * by
            high = (columns - 1) * cell + reach
        else:
            a, b = geo[COS] * ay - geo[SIN] * ax, geo[COS] * by - geo[SIN] * bx
            high = (rows - 1) * cell + reach
        if abs(b - a) < 1e-9:
            if a < -reach or a > high:
                last = -1.0
            continue
        one, two = (-reach - a) / (b - a), (high - a) / (b - a)
        first, last = max(first, min(one, two)), min(last, max(one, two))
    if last < first:
        return steps + 1, 0
    return max(int(first * steps), 1), min(int(last * steps) + 1, steps)


@inner_kernel
def repeated_turns(cols: Columns, motion: int, steps: int, window: float) -> tuple[int, int]:
    # a flat circle walked more than four times: after which step to go on with which; 0, 0 elsewhere. The third turn
    # finds nothing left. Whole windows are left out, so that the next motion meets the state it would have met.
    turns = abs(cols.sweep[motion]) / (2.0 * math.pi)
    _, _, across = arc_axes(cols.plane[motion])
    begin, stop = arc_radius(cols, motion), end_radius(cols, motion)
    rises = abs(cols.end[motion, across] - cols.start[motion, across]) > 1e-9
    if turns <= 4.0 or rises or abs(stop - begin) > 1e-3:
        return 0, 0
    chord = 2.0 * begin * math.sin(0.5 * abs(cols.sweep[motion]) / steps)
    every = max(1, math.ceil(0.999 * window / max(chord, 1e-12)))
    done = math.ceil(2.0 * steps / turns)
    spare = steps - done - math.ceil(steps / turns)
    return done, done + max(spare // every, 0) * every


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
    cell, top = geo[CELL], geo[TOP]
    start, end = cols.start, cols.end
    seg, place = np.zeros(SEGMENT_COLUMNS), np.zeros(3)
    spans = np.zeros((4, len(field.height)), np.int32)
    for motion in range(first, last):
        number = cols.shape[motion]
        if number < 0:
            if number == UNKNOWN_SHAPE:
                win[LAST_SHAPE] = -1.0
            continue
        shape = shapes[number]
        for axis in range(3):
            seg[END + axis] = start[motion, axis]
        turn_into_grid(geo, seg)
        same = (
            win[LAST_SHAPE] == number
            and abs(seg[BX] - win[LAST_X]) < 1e-9
            and abs(seg[BY] - win[LAST_Y]) < 1e-9
            and abs(seg[BZ] - win[LAST_Z]) < 1e-9
        )
        arc = is_arc(cols.kind[motion])
        lowest = min(start[motion, 2], end[motion, 2])
        if arc and cols.plane[motion] != 17:
            lowest = min(lowest, lowest_of_arc(cols, motion))
        air = lowest >= top
        if not same or air:
            if win[LAST_SHAPE] >= 0.0:
                close_window(cell, shapes[int(win[LAST_SHAPE])], win, bins, out, motion - 1, seg, int(END))
            clear_ring(win)
        seg[COVERED] = 1.0 if same else 0.0
        out.numbers[motion, ENGAGED_START] = win[ENGAGED]
        steps = 1
        if arc and not air:
            steps = arc_steps(cols, motion, cell, shape[WINDOW])
        elif not air:
            one, two = end[motion, 0] - start[motion, 0], end[motion, 1] - start[motion, 1]
            steps = max(1, int(math.sqrt(one * one + two * two) / shape[WINDOW]))
        jump_at, jump_to = 0, 0
        enter, leave = 1, steps
        if steps > 4 * IDLE_STEPS:
            if arc:
                jump_at, jump_to = repeated_turns(cols, motion, steps, shape[WINDOW])
            else:
                enter, leave = steps_inside(cols, motion, field, shape, steps)
                if enter > 2 * IDLE_STEPS:  # comes from afar
                    jump_at, jump_to = IDLE_STEPS, enter - 2
        step = 0
        while step < steps:
            step += 1
            if step == jump_at + 1 and jump_to > jump_at > 0:
                step = jump_to + 1
                step_end(cols, motion, jump_to, steps, arc, place, seg)
                turn_into_grid(geo, seg)
            elif step == leave + IDLE_STEPS and step < steps:  # goes afar
                step = steps
                step_end(cols, motion, steps - 1, steps, arc, place, seg)
                turn_into_grid(geo, seg)
            advance_step(seg)
            step_end(cols, motion, step, steps, arc, place, seg)
            turn_into_grid(geo, seg)
            if air:
                continue
            direct(seg)
            if seg[LENGTH] > 0.0 or seg[COVERED] == 0.0 or seg[AZ] != seg[BZ]:
                cut_step(field, shape, seg, win, bins, out, motion, spans)
            seg[COVERED] = 1.0
        win[LAST_X], win[LAST_Y], win[LAST_Z] = seg[BX], seg[BY], seg[BZ]
        win[LAST_SHAPE] = number


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
        geo = field.geo
        seg = np.zeros(SEGMENT_COLUMNS)
        seg[END] = geo[X0] + geo[COS] * win[LAST_X] - geo[SIN] * win[LAST_Y]
        seg[END + 1] = geo[Y0] + geo[SIN] * win[LAST_X] + geo[COS] * win[LAST_Y]
        seg[END + 2] = win[LAST_Z]
        close_window(geo[CELL], shapes[int(win[LAST_SHAPE])], win, bins, out, motions - 1, seg, int(END))
