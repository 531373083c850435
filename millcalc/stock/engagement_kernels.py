"""Kernels that turn what a window of travel removed into width, engagement angle, side and jumps.

``out``: one entry a motion, changed in place. ``win`` float64 (WINDOW_COLUMNS,) and ``bins`` uint8 (BINS + 1,): the
sums of the running window and the state of the walk, see removal_kernels.py; changed in place.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import inner_kernel, kernel
from millcalc.stock.removal_kernels import (
    AREA,
    BINS,
    DEPTH,
    END,
    ENGAGED,
    FIRST,
    JUMP_OPEN,
    JUMP_ROW,
    JUMPS_LOST,
    LEAST,
    MOST,
    RING,
    RING_AT,
    RING_LENGTH,
    TRAVEL,
    VOLUME,
)
from millcalc.stock.result import (
    SIDE_CLIMB,
    SIDE_CONVENTIONAL,
    SIDE_SLOT,
)
from millcalc.stock.shape_kernels import (
    RADIUS,
    radius_at_mm,
)

SLOT_RAD = math.radians(150.0)  # from here on both walls are cut
SLOT_BALANCE = 0.5  # both sides of the path engaged at least in this ratio: neither climb nor conventional
JUMP_RAD = math.radians(30.0)  # smallest rise of engagement that is kept as a jump
GAP_BINS = 12  # empty classes of lateral offset in a row that are a gap: a fifth of the diameter
GAP_SPACINGS = 4.0  # and at least so many mean spacings
SNAP_SPACINGS = 2.5  # an end of the engaged arc this near the cutter's side is taken to reach it


# columns of Output.numbers
AP, AE, ENGAGED_MOST, ENGAGED_START, SHANK, HOLDER, SECTION, PLACE = range(8)
NUMBER_COLUMNS = PLACE + 3  # PLACE: x, y, z


class Output(NamedTuple):
    """What the walk writes: few arrays, because each one costs at every call.

    ``numbers`` float32 (n, NUMBER_COLUMNS), ``volume`` float64 (n,), ``side`` uint8 (n,), ``jumps`` float64 (k, 6):
    motion, x, y, z, before, after.
    """

    numbers: NDArray[np.float32]
    volume: NDArray[np.float64]
    side: NDArray[np.uint8]
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
    for index in range(BINS + 1):
        bins[index] = 0


@inner_kernel
def arc_of(low: float, high: float, reach: float) -> float:
    # angle of the leading rim between two lateral offsets, on a circle of radius reach
    return math.asin(min(max(high / reach, -1.0), 1.0)) - math.asin(min(max(low / reach, -1.0), 1.0))


@inner_kernel
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
    if low < SNAP_SPACINGS * spacing - reach:
        low = -reach
    if high > reach - SNAP_SPACINGS * spacing:
        high = reach
    low, high = max(low, -reach), min(high, reach)
    left, right = max(high, 0.0) - max(low, 0.0), min(high, 0.0) - min(low, 0.0)
    width, angle = high - low, arc_of(low, high, reach)
    per_bin = 2.0 * radius / BINS
    shortest = max(GAP_BINS * per_bin, GAP_SPACINGS * spacing)
    first = min(max(int((win[LEAST] + radius) / per_bin), 0), BINS)
    last = min(max(int((win[MOST] + radius) / per_bin), 0), BINS)
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
    side = SIDE_CLIMB if right > left else SIDE_CONVENTIONAL
    if angle >= SLOT_RAD or min(left, right) >= SLOT_BALANCE * max(left, right):
        side = SIDE_SLOT
    return width, angle, side


@inner_kernel
def keep_peak(
    out: Output, motion: int, angle: float, side: int, seg: NDArray[np.float64], place: int
) -> None:
    # note the greatest engagement of a motion and where it was: seg[place: place + 3]
    numbers = out.numbers
    if angle > numbers[motion, ENGAGED_MOST]:
        numbers[motion, ENGAGED_MOST] = angle
        out.side[motion] = side
        for axis in range(3):
            numbers[motion, PLACE + axis] = seg[place + axis]


@inner_kernel
def close_window(
    cell: float,
    shape: NDArray[np.float64],
    win: NDArray[np.float64],
    bins: NDArray[np.uint8],
    out: Output,
    motion: int,
    seg: NDArray[np.float64],
    place: int,
) -> None:
    # measure the running window, which ended at seg[place: place + 3], and credit it to every motion it spans, then
    # begin a new one
    if win[FIRST] >= 0.0 and win[TRAVEL] > 0.0:
        width, angle, side = engagement(shape, win, bins, cell)
        section = min(win[VOLUME] * cell * cell / max(win[TRAVEL], cell), width * win[DEPTH])
        if angle > 0.0:
            for row in range(int(win[FIRST]), motion + 1):
                if out.volume[row] > 0.0:
                    keep_peak(out, row, angle, side, seg, place)
                    out.numbers[row, AE] = max(out.numbers[row, AE], width)
                    out.numbers[row, SECTION] = max(out.numbers[row, SECTION], section)
        note_jump(win, out.jumps, motion, angle, seg, place)
        win[ENGAGED] = angle
    reset_window(win, bins)


@inner_kernel
def note_jump(
    win: NDArray[np.float64],
    jumps: NDArray[np.float64],
    motion: int,
    angle: float,
    seg: NDArray[np.float64],
    place: int,
) -> None:
    # compare with the least engagement of the last windows; a jump stays open until that has caught up
    least = win[RING]
    for index in range(1, RING_LENGTH):
        least = min(least, win[RING + index])
    if win[JUMP_OPEN] > 0.0:
        row = int(win[JUMP_ROW]) - 1
        if angle > jumps[row, 5]:
            jumps[row, 5] = angle
        if angle < jumps[row, 4] + 0.5 * JUMP_RAD or least > jumps[row, 5] - JUMP_RAD:
            win[JUMP_OPEN] = 0.0
    elif angle > least + JUMP_RAD:
        row = int(win[JUMP_ROW])
        if row < len(jumps):
            jumps[row, 0] = motion
            for axis in range(3):
                jumps[row, 1 + axis] = seg[place + axis]
            jumps[row, 4], jumps[row, 5] = least, angle
            win[JUMP_ROW] += 1.0
            win[JUMP_OPEN] = 1.0
        else:
            win[JUMPS_LOST] += 1.0
    win[RING + int(win[RING_AT])] = angle
    win[RING_AT] = (win[RING_AT] + 1.0) % RING_LENGTH


@inner_kernel
def clear_ring(win: NDArray[np.float64]) -> None:
    # forget the engagement of the last windows: the cutter came out of the material
    for index in range(RING_LENGTH):
        win[RING + index] = 0.0
    win[JUMP_OPEN] = 0.0
    win[ENGAGED] = 0.0


@inner_kernel
def plunge(
    cell: float,
    shape: NDArray[np.float64],
    win: NDArray[np.float64],
    bins: NDArray[np.uint8],
    out: Output,
    motion: int,
    seg: NDArray[np.float64],
) -> None:
    # steeper than 45 degrees: the share of the end that meets material is the share of a full turn
    if win[AREA] > 0.0:
        reach = max(radius_at_mm(shape, win[DEPTH]), 0.5 * cell)
        share = min(1.0, win[AREA] * cell * cell / (math.pi * reach * reach))
        if share > 0.97:
            share = 1.0
        keep_peak(out, motion, 2.0 * math.pi * share, int(SIDE_SLOT), seg, int(END))
        out.numbers[motion, AE] = max(out.numbers[motion, AE], 2.0 * reach * share)
    reset_window(win, bins)
    clear_ring(win)
