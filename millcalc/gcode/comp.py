"""Cutter radius compensation: the path as offset by the controller, and where the cutter does not fit.

The motion table holds the path as programmed; rows under G41 or G42 carry FLAG_COMP_LEFT or FLAG_COMP_RIGHT.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.arcs import Floats, directions, motion_extents
from millcalc.gcode.motions import FLAG_COMP_LEFT, FLAG_COMP_RIGHT, RAPID, MotionTable
from millcalc.gcode.problems import Problem

COMP_FLAGS = FLAG_COMP_LEFT | FLAG_COMP_RIGHT
CORNER_RAD = 0.02
"""Bends below this are a curve in short lines, not a corner; estimate [rad]."""


def compensated_extents(table: MotionTable, radius_mm: NDArray[np.float64] | float) -> tuple[Floats, Floats]:
    """Extents of the tool's centre on every compensated motion, offset by the cutter radius.

    table: The motions, n of them.
    radius_mm: Cutter radius, one for all or one a motion [mm].
    Returns: low, high: Extents in part coordinates; motions without compensation as programmed; NaN where
      not known [mm].

    Note: Lines and arcs in the XY plane are moved sideways by the radius; the arc the tool makes around an
      outside corner is counted with the motion before it.  Inside corners are not trimmed, so the extents
      are never too small.
    """
    radius = np.broadcast_to(np.asarray(radius_mm, np.float64), (len(table),))
    low, high = motion_extents(table)
    rows = np.flatnonzero((table.flags & COMP_FLAGS) != 0)
    if not len(rows):
        return low, high
    first, last = directions(table)
    side = np.where(table.flags & FLAG_COMP_LEFT, 1.0, -1.0)
    shift_first = np.column_stack((-first[:, 1], first[:, 0])) * (side * radius)[:, None]
    shift_last = np.column_stack((-last[:, 1], last[:, 0])) * (side * radius)[:, None]
    start, end = table.start_mm.copy(), table.end_mm.copy()
    start[:, :2] += np.nan_to_num(shift_first)
    end[:, :2] += np.nan_to_num(shift_last)
    moved = replace(table, start_mm=start, end_mm=end)
    moved_low, moved_high = motion_extents(moved)
    low[rows], high[rows] = moved_low[rows], moved_high[rows]
    for row, following in _neighbours(table, rows):
        vertex = table.end_mm[row, :2]
        a0 = math.atan2(shift_last[row, 1], shift_last[row, 0])
        a1 = math.atan2(shift_first[following, 1], shift_first[following, 0])
        turn = math.remainder(a1 - a0, 2 * math.pi)
        if turn * side[row] >= 0 or math.isnan(turn):
            continue  # an inside corner
        for angle in (0.0, 0.5 * math.pi, math.pi, -0.5 * math.pi):
            if (angle - a0) * math.copysign(1.0, turn) % (2 * math.pi) <= abs(turn):
                point = vertex + radius[row] * np.array((math.cos(angle), math.sin(angle)))
                low[row, :2] = np.fmin(low[row, :2], point)
                high[row, :2] = np.fmax(high[row, :2], point)
    return low, high


def _neighbours(table: MotionTable, rows: NDArray[np.int64]) -> Iterator[tuple[int, int]]:
    """Compensated motions that follow each other in the XY plane; motions straight up or down are stepped over."""
    flat = np.hypot(*(table.end_mm - table.start_mm)[:, :2].T) > 1e-9
    flat |= table.is_arc
    moving = [int(row) for row in rows if flat[row]]
    for row, following in itertools.pairwise(moving):
        if table.flags[row] & COMP_FLAGS == table.flags[following] & COMP_FLAGS:
            gap = np.abs(table.end_mm[row, :2] - table.start_mm[following, :2])
            if following - row < 8 and gap.max() < 1e-6:
                yield row, following


def compensation_problems(
    table: MotionTable, radius_mm: NDArray[np.float64]
) -> Iterator[tuple[int, Problem]]:
    """Places where the cutter does not fit the compensated path.

    table: The motions, n of them.
    radius_mm: Cutter radius of each motion, NaN where unknown [mm].
    Returns: Row and problem.

    Source: NISTIR 6556, appendix B.5 (concave corners, inside arcs) and B.3 (entry moves).
    """
    rows = np.flatnonzero(((table.flags & COMP_FLAGS) != 0) & (radius_mm > 0))
    if not len(rows):
        return
    entries = {int(row) for row in rows if row == 0 or not table.flags[row - 1] & COMP_FLAGS}
    for row in rows.tolist():
        radius = float(radius_mm[row])
        if row in entries:
            yield from _entry(table, row, radius)
        yield from _inside_arc(table, row, radius)
    first, last = directions(table)
    for row, following in _neighbours(table, rows):
        if row not in entries:
            bend = _bend_rad(last[row], first[following])
            yield from _inside_corner(table, row, following, bend, float(radius_mm[row]))


def _entry(table: MotionTable, row: int, radius: float) -> Iterator[tuple[int, Problem]]:
    if table.kind[row] == RAPID:
        return
    length = float(np.hypot(*(table.end_mm[row] - table.start_mm[row])[:2]))
    if 0 < length < radius:
        fact = f"the entry move is {length:.3f} mm long, shorter than the cutter's radius {radius:.3f} mm"
        action = f"begin at least {radius:.3f} mm away from the contour"
        yield row, _at("COMP-07", fact, action, length, radius)


def _inside_arc(table: MotionTable, row: int, radius: float) -> Iterator[tuple[int, Problem]]:
    if not table.is_arc[row] or table.plane[row] != 17:
        return
    if (table.sweep_rad[row] > 0) != _left(table, row):
        return
    size = float(np.hypot(*(table.start_mm[row] - table.centre_mm[row])[:2]))
    if size <= radius + 1e-9:
        fact = f"the inside arc has a radius of {size:.3f} mm, the cutter one of {radius:.3f} mm"
        action = f"use a cutter below {2 * size:.2f} mm, or a larger arc"
        yield row, _at("COMP-05", fact, action, size, radius)


def _inside_corner(
    table: MotionTable, row: int, following: int, bend: float, radius: float
) -> Iterator[tuple[int, Problem]]:
    if bend * (1.0 if _left(table, row) else -1.0) > CORNER_RAD:
        degrees = math.degrees(math.pi - abs(bend))
        fact = f"an inside corner of {degrees:.0f} degrees lies on the compensated side"
        action = f"round it with an arc larger than {radius:.3f} mm"
        yield following, _at("COMP-06", fact, action, None, None)


def _left(table: MotionTable, row: int) -> bool:
    return bool(table.flags[row] & FLAG_COMP_LEFT)


def _bend_rad(before: Floats, after: Floats) -> float:
    """Angle from one direction to the next in the XY plane, positive to the left [rad]."""
    cross = before[0] * after[1] - before[1] * after[0]
    return math.atan2(cross, before[0] * after[0] + before[1] * after[1])


def _at(code: str, fact: str, action: str, measured: float | None, limit: float | None) -> Problem:
    return Problem(code, -1, -1, fact, action, blocks=False, measured=measured, limit=limit, unit="mm")
