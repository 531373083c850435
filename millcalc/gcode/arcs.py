"""Arcs and lines of the motion table as curves: true extents, points at fractions, directions. Vectorised."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.arc_geometry import PLANE_AXES
from millcalc.gcode.motions import MotionTable

Floats = NDArray[np.float64]


def motion_extents(table: MotionTable) -> tuple[Floats, Floats]:
    """Lowest and highest coordinates each motion reaches, the bulge of arcs included.

    table: The motions, n of them.
    Returns: low, high: Extents in part coordinates; an unknown end is left out, NaN where both are unknown
      [mm].

    Note: An arc whose radii at start and end differ is taken with the larger of the two.
    """
    low: Floats = np.fmin(table.start_mm, table.end_mm)
    high: Floats = np.fmax(table.start_mm, table.end_mm)
    for plane in (17, 18, 19):
        rows = np.flatnonzero(table.is_arc & (table.plane == plane))
        if not len(rows):
            continue
        a, b, _ = PLANE_AXES[plane - 17]
        ca, cb = table.centre_mm[rows, a], table.centre_mm[rows, b]
        sa, sb = table.start_mm[rows, a] - ca, table.start_mm[rows, b] - cb
        ea, eb = table.end_mm[rows, a] - ca, table.end_mm[rows, b] - cb
        radius = np.maximum(np.hypot(sa, sb), np.hypot(ea, eb))
        begin = np.arctan2(sb, sa)
        sweep = table.sweep_rad[rows]
        turn = np.sign(sweep)
        for axis, centre, angle in (
            (a, ca, 0.0),
            (b, cb, 0.5 * math.pi),
            (a, ca, math.pi),
            (b, cb, -0.5 * math.pi),
        ):
            ahead = np.mod(turn * (angle - begin), 2.0 * math.pi)
            passed = ahead <= np.abs(sweep)
            if angle in (0.0, 0.5 * math.pi):
                reach = centre + radius
                high[rows, axis] = np.where(passed, np.fmax(high[rows, axis], reach), high[rows, axis])
            else:
                reach = centre - radius
                low[rows, axis] = np.where(passed, np.fmin(low[rows, axis], reach), low[rows, axis])
    return low, high


def directions(table: MotionTable) -> tuple[Floats, Floats]:
    """Unit tangents at the start and the end of each motion; NaN for motions that do not move.

    table: The motions, n of them.
    Returns: first, last: Unit vectors along the path [-].
    """
    move = table.end_mm - table.start_mm
    with np.errstate(invalid="ignore", divide="ignore"):
        first: Floats = move / np.linalg.norm(move, axis=1)[:, None]
        last = first.copy()
        for plane in (17, 18, 19):
            rows = np.flatnonzero(table.is_arc & (table.plane == plane))
            if not len(rows):
                continue
            a, b, t = PLANE_AXES[plane - 17]
            sweep = table.sweep_rad[rows]
            turn = np.sign(sweep)
            centre = table.centre_mm[rows]
            for out, point in ((first, table.start_mm[rows]), (last, table.end_mm[rows])):
                da, db = point[:, a] - centre[:, a], point[:, b] - centre[:, b]
                radius = np.hypot(da, db)
                climb = (table.end_mm[rows, t] - table.start_mm[rows, t]) / np.abs(sweep)
                scale = np.hypot(radius, climb)
                tangent = np.empty((len(rows), 3))
                tangent[:, a] = -turn * db / scale
                tangent[:, b] = turn * da / scale
                tangent[:, t] = climb / scale
                out[rows] = tangent
    return first, last
