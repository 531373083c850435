"""Kernels that cut one straight step out of the field.

Field arrays (changed in place): ``height`` float32 (rows, columns) [mm], ``through`` int32 (rows, columns), the motion
that cut a cell through. ``geo`` float64 (GEOMETRY_COLUMNS,). Horizontal coordinates here are *grid*
coordinates in mm: cell [j, i] lies at (i * cell, j * cell). ``seg`` float64 (SEGMENT_COLUMNS,): the step. ``win``
float64 (WINDOW_COLUMNS,) and ``bins`` uint8 (BINS + 1,): what was removed in the running window of travel, in place.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import inner_kernel
from millcalc.stock.shape_kernels import (
    CONE,
    CORNER,
    FLAT,
    RADIUS,
    lowest_offset_mm,
    profile_height_mm,
)

# geo: numbers of the grid; x0, y0 = part coordinates of cell [0, 0], cos and sin of its turn [mm]
CELL, FLOOR, TOP, COS, SIN, X0, Y0, THROUGH = range(8)
GEOMETRY_COLUMNS = 8

# step: start, end (x, y, z), horizontal length, direction, 1 where the cutter has already been at the start
AX, AY, AZ, BX, BY, BZ, LENGTH, UX, UY, COVERED = range(10)
# and what prepare() makes of it, so that a row costs no division
SLANT, SPREAD, TILT, ADVANCE = range(10, 14)
# start and end once more in part coordinates (x, y, z each)
START, END = 14, 17
SEGMENT_COLUMNS = 20

# window of travel: sums of the running window, then the state of the walk
TRAVEL, AREA, VOLUME, DEPTH, LEAST, MOST, FIRST = range(7)
LAST_X, LAST_Y, LAST_Z, LAST_SHAPE, LAST_UX, LAST_UY, ENGAGED = range(7, 14)
JUMP_OPEN, JUMP_ROW, JUMPS_LOST, RING_AT = range(14, 18)
RING = 18
RING_LENGTH = 8
WINDOW_COLUMNS = RING + RING_LENGTH

FAR = 1e8  # beyond any cell of any grid [mm]
BINS = (
    64  # classes of lateral offset across the cutter; the array has one more, for the offset of the very side
)
NOISE_MM = 1e-3  # removal below this is rounding: cut, but not counted as depth or engagement
# Cells this near the edge of the swept area at its sides, and removal below this by a rounded or pointed cutter, may
# come from the chords of an arc (CHORD_SHARE in path_kernels.py): cut, but not counted either [cells]
RIM_CELLS = 0.1
SIDE_SHARE = (
    0.8  # offset from which on, as a share of the radius, an edge counts as a side and not as the front
)


class Field(NamedTuple):
    """The stock as the kernels see it."""

    height: NDArray[np.float32]
    through: NDArray[np.int32]
    geo: NDArray[np.float64]


@inner_kernel
def prepare(seg: NDArray[np.float64], radius: float) -> None:
    # numbers of the strip between the discs at both ends, per step: its middle shifts by SLANT and its ends by -TILT
    # a row, it is SPREAD wide to each side and ADVANCE long along the row; 1e300 where the step runs along an axis
    seg[SLANT], seg[SPREAD], seg[TILT], seg[ADVANCE] = 0.0, 1e300, 0.0, 1e300
    if abs(seg[UY]) > 1e-12:
        seg[SLANT], seg[SPREAD] = seg[UX] / seg[UY], radius / abs(seg[UY])
    if abs(seg[UX]) > 1e-12:
        seg[TILT], seg[ADVANCE] = seg[UY] / seg[UX], seg[LENGTH] / seg[UX]


@inner_kernel
def row_span(seg: NDArray[np.float64], radius: float, y: float) -> tuple[float, float, float, float]:
    # Row y of the area swept by a disc along the prepared step: [low, high], and of the disc at its start: [a, b]; an
    # empty interval has low > high.
    squared = radius * radius
    low, high, a, b = 1e300, -1e300, 1e300, -1e300
    dy, end = y - seg[AY], y - seg[BY]
    rest, rest_end = squared - dy * dy, squared - end * end
    if rest >= 0.0:
        half = math.sqrt(rest)
        a, b = seg[AX] - half, seg[AX] + half
        low, high = a, b
    if seg[LENGTH] <= 0.0:
        return low, high, a, b
    if rest_end >= 0.0:
        half = math.sqrt(rest_end)
        low, high = min(low, seg[BX] - half), max(high, seg[BX] + half)
    # strip between the discs: |offset| <= radius and 0 <= distance along <= length
    left, right = -1e300, 1e300
    if seg[SPREAD] < 1e300:
        middle = dy * seg[SLANT]
        left, right = middle - seg[SPREAD], middle + seg[SPREAD]
    elif rest < 0.0:
        return low, high, a, b
    if seg[ADVANCE] < 1e300:
        one = -dy * seg[TILT]
        two = one + seg[ADVANCE]
        left, right = max(left, min(one, two)), min(right, max(one, two))
    elif seg[UY] * dy < 0.0 or seg[UY] * dy > seg[LENGTH]:
        return low, high, a, b
    if left <= right:
        low, high = min(low, seg[AX] + left), max(high, seg[AX] + right)
    return low, high, a, b


@inner_kernel
def row_spans(
    seg: NDArray[np.float64],
    radius: float,
    geo: NDArray[np.float64],
    first: int,
    last: int,
    columns: int,
    spans: NDArray[np.int32],
) -> None:
    # Cells of rows first .. last that a level step sweeps, as row_span finds them, in two parts with what the disc at
    # the start covers between them: columns spans[0] up to but not including spans[1], and spans[2] up to spans[3].
    # Without a branch, so that the compiler can do several rows at a time.
    cell = geo[CELL]
    inverse = 1.0 / cell
    ax, ay, bx, by, length, uy = seg[AX], seg[AY], seg[BX], seg[BY], seg[LENGTH], seg[UY]
    slant, tilt = seg[SLANT], seg[TILT]
    slants, tilts = seg[SPREAD] < 1e300, seg[ADVANCE] < 1e300
    spread, advance = min(seg[SPREAD], FAR), min(max(seg[ADVANCE], -FAR), FAR)
    covered = seg[COVERED] > 0.0
    squared = radius * radius
    begin, stop, resume, end = spans[0], spans[1], spans[2], spans[3]
    most = float(columns)
    for row in range(last - first + 1):
        dy = (first + row) * cell - ay
        dy_end = (first + row) * cell - by
        rest, rest_end = squared - dy * dy, squared - dy_end * dy_end
        half, half_end = math.sqrt(max(rest, 0.0)), math.sqrt(max(rest_end, 0.0))
        a = ax - half if rest >= 0.0 else FAR
        b = ax + half if rest >= 0.0 else -FAR
        c = bx - half_end if rest_end >= 0.0 else FAR
        d = bx + half_end if rest_end >= 0.0 else -FAR
        one = -dy * tilt if tilts else -FAR
        two = one + advance if tilts else FAR
        left = max(dy * slant - spread, min(one, two))
        right = min(dy * slant + spread, max(one, two))
        ahead = uy * dy
        strip = (left <= right) & (slants | (rest >= 0.0)) & (tilts | ((ahead >= 0.0) & (ahead <= length)))
        low = min(min(a, c), ax + left if strip else FAR)
        high = max(max(b, d), ax + right if strip else -FAR)
        start = min(max(np.ceil(low * inverse), 0.0), most)
        after = max(min(np.floor(high * inverse) + 1.0, most), start)
        hole = min(max(np.ceil(a * inverse), start), after)
        beyond = max(min(np.floor(b * inverse) + 1.0, after), hole)
        skips = covered & (rest >= 0.0)
        begin[row] = np.int32(start)
        stop[row] = np.int32(hole if skips else after)
        resume[row] = np.int32(beyond if skips else after)
        end[row] = np.int32(after)


@inner_kernel
def within(seg: NDArray[np.float64], reach: float, x: float, y: float) -> bool:
    # whether a place is nearer to the step's path than reach
    along = seg[UX] * (x - seg[AX]) + seg[UY] * (y - seg[AY])
    along = min(max(along, 0.0), seg[LENGTH])
    dx, dy = x - seg[AX] - along * seg[UX], y - seg[AY] - along * seg[UY]
    return bool(dx * dx + dy * dy < reach * reach)


@inner_kernel
def cut_flat(
    field: Field,
    radius: float,
    seg: NDArray[np.float64],
    motion: int,
    win: NDArray[np.float64],
    bins: NDArray[np.uint8],
    spans: NDArray[np.int32],
) -> tuple[float, float]:
    # Level step of a flat cutter: every cell of the swept area goes down to one height. Where the cutter has already
    # been at the start, only the crescent beyond that disc is walked. Returns (sum of removed heights, greatest).
    height, through, geo = field
    cell = geo[CELL]
    inverse = 1.0 / cell
    rows, columns = height.shape
    floor, limit = geo[FLOOR], np.float32(geo[THROUGH])
    target = np.float32(max(seg[AZ], floor))
    cuts_through = target <= limit
    ux, uy = seg[UX], seg[UY]
    scale = 0.5 * BINS / radius
    inner, side = radius - RIM_CELLS * cell, SIDE_SHARE * radius
    prepare(seg, radius)
    low_row = max(0, math.ceil((min(seg[AY], seg[BY]) - radius) * inverse))
    high_row = min(rows - 1, math.floor((max(seg[AY], seg[BY]) + radius) * inverse))
    row_spans(seg, radius, geo, low_row, high_row, columns, spans)
    removed, deepest = 0.0, 0.0
    count = 0
    least, most = win[LEAST], win[MOST]
    for j in range(low_row, high_row + 1):
        row = j - low_row
        across = ux * (j * cell - seg[AY]) + uy * seg[AX]
        for part in range(2):
            for i in range(spans[2 * part, row], spans[2 * part + 1, row]):
                before = height[j, i]
                if before > target:
                    height[j, i] = target
                    if cuts_through and before > limit:
                        through[j, i] = motion
                    gone = float(before) - float(target)
                    removed += gone
                    aside = across - uy * (i * cell)
                    if gone > NOISE_MM and (abs(aside) < side or within(seg, inner, i * cell, j * cell)):
                        deepest = max(deepest, gone)
                        least, most = min(least, aside), max(most, aside)
                        bins[int((aside + radius) * scale)] = 1
                        count += 1
    win[LEAST], win[MOST] = least, most
    win[AREA] += count
    win[VOLUME] += removed
    win[DEPTH] = max(win[DEPTH], deepest)
    return removed, deepest


@inner_kernel
def cut_any(
    field: Field,
    shape: NDArray[np.float64],
    seg: NDArray[np.float64],
    motion: int,
    win: NDArray[np.float64],
    bins: NDArray[np.uint8],
) -> tuple[float, float]:
    # Any cutter, any slope: each cell goes down to the exact lower envelope of the sweep over its centre. Where the
    # cutter has already been at the start, cells that are lowest there are left out. Same results as cut_flat.
    height, through, geo = field
    cell, radius = geo[CELL], shape[RADIUS]
    inverse = 1.0 / cell
    rows, columns = height.shape
    floor, limit = geo[FLOOR], np.float32(geo[THROUGH])
    ux, uy, length = seg[UX], seg[UY], seg[LENGTH]
    slope, base = 0.0, seg[BZ]
    if length > 0.0:
        slope, base = (seg[BZ] - seg[AZ]) / length, seg[AZ]
    sphere, squared = shape[CORNER] >= radius, radius * radius
    lag = slope / math.sqrt(1.0 + slope * slope)
    lowest = min(seg[AZ], seg[BZ]) if length > 0.0 else base
    behind = first_useful_mm(shape, slope, seg[COVERED] > 0.0 and length > 0.0)
    scale = 0.5 * BINS / radius
    inner, side, noise = radius - RIM_CELLS * cell, SIDE_SHARE * radius, NOISE_MM
    if shape[FLAT] < radius:
        side, noise = 2.0 * radius, max(NOISE_MM, RIM_CELLS * cell)
    prepare(seg, radius)
    low_row = max(0, math.ceil((min(seg[AY], seg[BY]) - radius) * inverse))
    high_row = min(rows - 1, math.floor((max(seg[AY], seg[BY]) + radius) * inverse))
    removed, deepest = 0.0, 0.0
    count = 0
    least, most = win[LEAST], win[MOST]
    for j in range(low_row, high_row + 1):
        low, high, _, _ = row_span(seg, radius, j * cell)
        dy = j * cell - seg[AY]
        if ux > 1e-12:
            low = max(low, seg[AX] + (behind - uy * dy) / ux)
        elif ux < -1e-12:
            high = min(high, seg[AX] + (behind - uy * dy) / ux)
        elif uy * dy < behind:
            continue
        if low > high:
            continue
        for i in range(max(0, math.ceil(low * inverse)), min(columns - 1, math.floor(high * inverse)) + 1):
            before = height[j, i]
            if before <= lowest:
                continue
            dx = i * cell - seg[AX]
            along, aside = ux * dx + uy * dy, ux * dy - uy * dx
            rest = max(squared - aside * aside, 0.0)
            half = math.sqrt(rest)
            near, far = max(along - length, -half), min(along, half)
            if near > far:
                near = far = 0.5 * (near + far)
            if sphere:  # the closed form of lowest_offset_mm and profile_height_mm, written out
                u = min(max(lag * half, near), far)
                over = radius - math.sqrt(max(rest - u * u, 0.0))
            else:
                u = lowest_offset_mm(shape, slope, aside, near, far)
                over = profile_height_mm(shape, math.sqrt(u * u + aside * aside))
            tip = base + slope * (along - u)
            target = np.float32(max(tip + over, floor))
            if before > target:
                height[j, i] = target
                if target <= limit and before > limit:
                    through[j, i] = motion
                gone = float(before) - float(target)
                removed += gone
                if gone > noise and (abs(aside) < side or within(seg, inner, i * cell, j * cell)):
                    deepest = max(deepest, float(before) - max(tip, floor))
                    least, most = min(least, aside), max(most, aside)
                    bins[int((aside + radius) * scale)] = 1
                    count += 1
    win[LEAST], win[MOST] = least, most
    win[AREA] += count
    win[VOLUME] += removed
    win[DEPTH] = max(win[DEPTH], deepest)
    return removed, deepest


@inner_kernel
def first_useful_mm(shape: NDArray[np.float64], slope: float, covered: bool) -> float:
    # Cells nearer along the path than this were already cut to their lowest by the cutter standing at the start.
    if not covered:
        return -1e300
    if slope >= 0.0:
        return 0.0
    if shape[CORNER] >= shape[RADIUS]:  # a ball falls behind its lowest point by this at most
        return float(shape[RADIUS] * slope / math.sqrt(1.0 + slope * slope))
    if shape[FLAT] <= 0.0 and shape[CORNER] <= 0.0 and shape[CONE] > -slope:  # a point
        return float(shape[RADIUS] * slope / shape[CONE])
    return -1e300


@inner_kernel
def tallest_in_ring(field: Field, x: float, y: float, inner: float, outer: float, stride: int) -> float:
    # greatest height among the cells (every stride-th) between two distances from a point; -1e30 for none
    height, _, geo = field
    cell = geo[CELL]
    inverse = 1.0 / cell
    rows, columns = height.shape
    tallest = -1e30
    low_row, high_row = (
        max(0, math.ceil((y - outer) * inverse)),
        min(rows - 1, math.floor((y + outer) * inverse)),
    )
    for j in range(low_row, high_row + 1, stride):
        dy = j * cell - y
        half = math.sqrt(max(outer * outer - dy * dy, 0.0))
        hole = inner * inner - dy * dy
        gap = math.sqrt(hole) if hole > 0.0 else -1.0
        first, last = (
            max(0, math.ceil((x - half) * inverse)),
            min(columns - 1, math.floor((x + half) * inverse)),
        )
        for i in range(first, last + 1, stride):
            if abs(i * cell - x) >= gap:
                tallest = max(tallest, float(height[j, i]))
    return tallest
