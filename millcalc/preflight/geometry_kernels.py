"""Kernels of the exact distance between a motion and a keep-out, seen from above.

Shapes and dtypes: one motion is ``kind`` (uint8), ``plane`` (uint8), ``start``, ``end``, ``centre``
(float64 (3,)) and ``sweep`` (float64, signed, full turns included). Only the part of a motion whose tip is
below ``level`` (float64, z) counts. Distances are those of the path in XY, to a point or to a rectangle.
Every array named ``out`` is filled in place.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import inner_kernel, kernel

ARC_FIRST = 2  # kinds 2 and 3 are arcs
ARC_LAST = 3
CHORD_ERROR = 1e-3  # mm; arcs outside the XY plane are split into chords this close, and it is deducted
TWO_PI = 2.0 * math.pi


@inner_kernel
def clip_below(z0: float, z1: float, level: float) -> tuple[float, float]:
    """Parameters (ta, tb) between which z0 + t (z1 - z0) is below level; ta > tb when nowhere."""
    if z0 >= level and z1 >= level:
        return 1.0, 0.0
    if z0 < level and z1 < level:
        return 0.0, 1.0
    crossing = (level - z0) / (z1 - z0)
    if z0 < level:
        return 0.0, crossing
    return crossing, 1.0


@inner_kernel
def point_to_segment(px: float, py: float, ax: float, ay: float, bx: float, by: float) -> tuple[float, float]:
    """Distance of a point from a segment and the parameter of the nearest place on the segment."""
    dx, dy = bx - ax, by - ay
    squared = dx * dx + dy * dy
    t = 0.0
    if squared > 0.0:
        t = ((px - ax) * dx + (py - ay) * dy) / squared
        t = min(1.0, max(0.0, t))
    return math.hypot(px - (ax + t * dx), py - (ay + t * dy)), t


@inner_kernel
def angle_in_sweep(angle: float, start_angle: float, sweep: float, ta: float, tb: float) -> float:
    """Parameter in [ta, tb] at which an arc passes an angle, or -1 when it does not."""
    if sweep == 0.0:
        return -1.0
    turn = TWO_PI / abs(sweep)  # one turn as a share of the sweep
    delta = angle - start_angle if sweep > 0.0 else start_angle - angle
    t = (delta % TWO_PI) / abs(sweep)
    if t < ta:
        t += math.ceil((ta - t) / turn - 1e-12) * turn
    if t <= tb + 1e-12:
        return min(t, 1.0)
    return -1.0


@inner_kernel
def point_to_arc(
    px: float, py: float, cx: float, cy: float, radius: float, arc: tuple[float, float, float, float]
) -> tuple[float, float]:
    """Distance of a point from an arc and its parameter; arc = (start_angle, sweep, ta, tb)."""
    start_angle, sweep, ta, tb = arc
    if px != cx or py != cy:
        t = angle_in_sweep(math.atan2(py - cy, px - cx), start_angle, sweep, ta, tb)
        if t >= 0.0:
            return abs(math.hypot(px - cx, py - cy) - radius), t
    best, best_t = math.inf, ta
    for t in (ta, tb):
        a = start_angle + t * sweep
        d = math.hypot(px - cx - radius * math.cos(a), py - cy - radius * math.sin(a))
        if d < best:
            best, best_t = d, t
    return best, best_t


@inner_kernel
def point_to_box(px: float, py: float, box: tuple[float, float, float, float]) -> float:
    """Distance of a point from a filled rectangle box = (x0, x1, y0, y1); 0 inside."""
    x0, x1, y0, y1 = box
    dx = max(x0 - px, 0.0, px - x1)
    dy = max(y0 - py, 0.0, py - y1)
    return math.hypot(dx, dy)


@inner_kernel
def segment_enters_box(
    ax: float, ay: float, bx: float, by: float, box: tuple[float, float, float, float]
) -> float:
    """Parameter at which a segment first lies in a filled rectangle, or -1 when it never does."""
    x0, x1, y0, y1 = box
    t0, t1 = 0.0, 1.0
    for axis in range(2):
        a, d = (ax, bx - ax) if axis == 0 else (ay, by - ay)
        low, high = (x0, x1) if axis == 0 else (y0, y1)
        if d == 0.0:
            if a < low or a > high:
                return -1.0
        else:
            near, far = (low - a) / d, (high - a) / d
            if near > far:
                near, far = far, near
            t0, t1 = max(t0, near), min(t1, far)
            if t0 > t1:
                return -1.0
    return t0


@inner_kernel
def segment_to_box(
    ax: float, ay: float, bx: float, by: float, box: tuple[float, float, float, float]
) -> tuple[float, float]:
    """Distance of a segment from a filled rectangle and the parameter of the nearest place."""
    t = segment_enters_box(ax, ay, bx, by, box)
    if t >= 0.0:
        return 0.0, t
    best, best_t = point_to_box(ax, ay, box), 0.0
    d = point_to_box(bx, by, box)
    if d < best:
        best, best_t = d, 1.0
    for i in range(4):
        px = box[0] if i < 2 else box[1]
        py = box[2] if i % 2 == 0 else box[3]
        d, t = point_to_segment(px, py, ax, ay, bx, by)
        if d < best:
            best, best_t = d, t
    return best, best_t


@inner_kernel
def arc_to_box(
    cx: float,
    cy: float,
    radius: float,
    arc: tuple[float, float, float, float],
    box: tuple[float, float, float, float],
) -> tuple[float, float]:
    """Distance of an arc from a filled rectangle and the parameter of the nearest place.

    The least distance is taken at an end of the arc, at a corner of the rectangle, where the arc runs
    parallel to an edge, or is zero where the arc crosses an edge.
    """
    start_angle, sweep, ta, tb = arc
    best, best_t = math.inf, ta
    for t in (ta, tb):
        a = start_angle + t * sweep
        d = point_to_box(cx + radius * math.cos(a), cy + radius * math.sin(a), box)
        if d < best:
            best, best_t = d, t
    for i in range(4):
        px = box[0] if i < 2 else box[1]
        py = box[2] if i % 2 == 0 else box[3]
        d, t = point_to_arc(px, py, cx, cy, radius, arc)
        if d < best:
            best, best_t = d, t
        t = angle_in_sweep(i * 0.5 * math.pi, start_angle, sweep, ta, tb)
        if t >= 0.0:
            a = start_angle + t * sweep
            d = point_to_box(cx + radius * math.cos(a), cy + radius * math.sin(a), box)
            if d < best:
                best, best_t = d, t
        # crossing of edge i: 0, 1 are x = x0, x1; 2, 3 are y = y0, y1
        offset = box[i] - (cx if i < 2 else cy)
        if radius > 0.0 and abs(offset) <= radius:
            half = math.acos(offset / radius)
            for sign in (-1.0, 1.0):
                angle = sign * half if i < 2 else 0.5 * math.pi + sign * half
                other = cy + radius * math.sin(angle) if i < 2 else cx + radius * math.cos(angle)
                low, high = (box[2], box[3]) if i < 2 else (box[0], box[1])
                if low <= other <= high:
                    t = angle_in_sweep(angle, start_angle, sweep, ta, tb)
                    if t >= 0.0:
                        return 0.0, t
    return best, best_t


@inner_kernel
def chord_distance(
    motion: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], float, int],
    level: float,
    box: tuple[float, float, float, float],
) -> tuple[float, float]:
    """Distance of an arc in the XZ or YZ plane from a rectangle, by chords; never above the true one."""
    start, end, centre, sweep, plane = motion
    first, second, normal = (2, 0, 1) if plane == 18 else (1, 2, 0)
    radius = math.hypot(start[first] - centre[first], start[second] - centre[second])
    start_angle = math.atan2(start[second] - centre[second], start[first] - centre[first])
    pieces = 1
    if radius > CHORD_ERROR:
        pieces = math.ceil(abs(sweep) / (2.0 * math.acos(1.0 - CHORD_ERROR / radius))) + 1
    best, best_t = math.inf, 0.0
    old_x, old_y, old_z = start[0], start[1], start[2]
    for i in range(1, pieces + 1):
        t = i / pieces
        a = start_angle + t * sweep
        one = centre[first] + radius * math.cos(a)
        two = centre[second] + radius * math.sin(a)
        along = start[normal] + t * (end[normal] - start[normal])
        x, y, z = (two, along, one) if plane == 18 else (along, one, two)
        ta, tb = clip_below(old_z, z, level + CHORD_ERROR)
        if ta <= tb:
            ax, ay = old_x + ta * (x - old_x), old_y + ta * (y - old_y)
            bx, by = old_x + tb * (x - old_x), old_y + tb * (y - old_y)
            d, s = segment_to_box(ax, ay, bx, by, box)
            d = max(0.0, d - CHORD_ERROR)
            if d < best:
                best, best_t = d, (i - 1 + ta + s * (tb - ta)) / pieces
        old_x, old_y, old_z = x, y, z
    return best, best_t


@inner_kernel
def motion_distance(
    kind: int,
    motion: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], float, int],
    level: float,
    box: tuple[float, float, float, float],
) -> tuple[float, float]:
    """Distance in XY of the part of a motion below level from a rectangle (or point), and where.

    Returns (inf, 0) when no part is below the level and (nan, nan) when a coordinate is unknown.
    """
    start, end, centre, sweep, plane = motion
    for i in range(3):
        if math.isnan(start[i]) or math.isnan(end[i]):
            return math.nan, math.nan
    arc = kind in (ARC_FIRST, ARC_LAST)
    if arc and plane != 17:
        return chord_distance(motion, level, box)
    ta, tb = clip_below(start[2], end[2], level)
    if ta > tb:
        return math.inf, 0.0
    if not arc:
        ax, ay = start[0] + ta * (end[0] - start[0]), start[1] + ta * (end[1] - start[1])
        bx, by = start[0] + tb * (end[0] - start[0]), start[1] + tb * (end[1] - start[1])
        if box[0] == box[1] and box[2] == box[3]:
            d, t = point_to_segment(box[0], box[2], ax, ay, bx, by)
        else:
            d, t = segment_to_box(ax, ay, bx, by, box)
        return d, ta + t * (tb - ta)
    cx, cy = centre[0], centre[1]
    if math.isnan(cx) or math.isnan(cy):
        return math.nan, math.nan
    radius = math.hypot(start[0] - cx, start[1] - cy)
    turn = (math.atan2(start[1] - cy, start[0] - cx), sweep, ta, tb)
    if box[0] == box[1] and box[2] == box[3]:
        return point_to_arc(box[0], box[2], cx, cy, radius, turn)
    return arc_to_box(cx, cy, radius, turn, box)


@kernel
def distances(
    kind: NDArray[np.uint8],
    plane: NDArray[np.uint8],
    ends: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]],
    sweep: NDArray[np.float64],
    level: NDArray[np.float64],
    box: tuple[float, float, float, float],
    reach: float,
    out: NDArray[np.float64],
) -> None:
    """Fill out (n, 2) with distance and place of every motion; level (n,) is NaN for "do not check".

    A motion whose distance is surely above ``reach`` gets a lower bound of it (cheap), place -1;
    one with an unknown coordinate NaN; one that stays above its level infinity.
    """
    start, end, centre = ends
    middle_x, middle_y = 0.5 * (box[0] + box[1]), 0.5 * (box[2] + box[3])
    half = math.hypot(box[1] - middle_x, box[3] - middle_y)
    for i in range(len(kind)):
        out[i, 0] = math.inf
        out[i, 1] = -1.0
        if kind[i] == 4 or math.isnan(level[i]):
            continue
        z_low = min(start[i, 2], end[i, 2])
        arc = kind[i] == ARC_FIRST or kind[i] == ARC_LAST
        if z_low >= level[i] and not (arc and plane[i] != 17):
            continue
        if arc:
            x, y = centre[i, 0], centre[i, 1]
            size = math.hypot(start[i, 0] - x, start[i, 1] - y)
            if plane[i] != 17:
                size = (
                    math.sqrt(
                        (start[i, 0] - x) ** 2 + (start[i, 1] - y) ** 2 + (start[i, 2] - centre[i, 2]) ** 2
                    )
                    + abs(end[i, 0] - start[i, 0])
                    + abs(end[i, 1] - start[i, 1])
                )
        else:
            x, y = 0.5 * (start[i, 0] + end[i, 0]), 0.5 * (start[i, 1] + end[i, 1])
            size = 0.5 * math.hypot(end[i, 0] - start[i, 0], end[i, 1] - start[i, 1])
        bound = math.hypot(x - middle_x, y - middle_y) - size - half
        if bound > reach:
            out[i, 0] = bound
            continue
        d, t = motion_distance(
            int(kind[i]), (start[i], end[i], centre[i], sweep[i], int(plane[i])), level[i], box
        )
        out[i, 0] = d
        out[i, 1] = t
