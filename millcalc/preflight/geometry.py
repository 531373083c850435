"""Exact clearance of every motion from screws and boxes, and where it is smallest.

Distances are of the tool path as the program words it: straight lines and true arcs (helices included) in
the XY plane; arcs in the other two planes by chords 0.001 mm close, rounded to the near side.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import ARC_CW, DWELL, MotionTable
from millcalc.preflight import tuning

FAR_MM = 50.0  # mm; beyond this a lower bound of a distance is enough
Z_TOUCH_MM = 1e-6  # mm; a tip exactly at a surface does not reach below it


@dataclass(frozen=True)
class Clearance:
    """Distance of each motion from one keep-out, for one body.

    gap_mm: Distance between the body's edge and the keep-out's edge; negative where they overlap; infinity
      where the body stays above; NaN where a coordinate is unknown [mm].
    place: Share of the motion's length at which it is smallest; -1 where only a lower bound was needed [-].
    """

    gap_mm: NDArray[np.float64]
    place: NDArray[np.float64]

    @property
    def unknown(self) -> int:
        """How many motions could not be judged because a coordinate is unknown [-]."""
        return int(np.isnan(self.gap_mm).sum())

    @property
    def least(self) -> int | None:
        """Row of the motion with the smallest gap, or None when no motion comes below the keep-out's top."""
        finite = np.isfinite(self.gap_mm)
        if not finite.any():
            return None
        return int(np.argmin(np.where(finite, self.gap_mm, np.inf)))


def gap_to_cylinder(
    motions: MotionTable,
    *,
    x_mm: float,
    y_mm: float,
    radius_mm: float,
    top_mm: float,
    body_radius_mm: NDArray[np.float64] | float,
    body_above_tip_mm: NDArray[np.float64] | float = 0.0,
    reach_mm: float = FAR_MM,
) -> Clearance:
    """Gap between a body that travels with the tip and an upright cylinder.

    motions: The motions.
    x_mm, y_mm: Axis of the cylinder in part coordinates [mm].
    radius_mm, top_mm: Its radius and the height of its top [mm].
    body_radius_mm: Radius of the body; NaN leaves that motion out [mm].
    body_above_tip_mm: Height of the body's lower face above the tip; NaN leaves that motion out [mm].
    reach_mm: Gaps larger than about this may be given as a lower bound [mm].
    Returns: One entry a motion.
    """
    box = (x_mm, x_mm, y_mm, y_mm)
    return _gap(motions, box, radius_mm, top_mm, body_radius_mm, body_above_tip_mm, reach_mm)


def gap_to_box(
    motions: MotionTable,
    *,
    sides_mm: tuple[float, float, float, float],
    top_mm: float,
    body_radius_mm: NDArray[np.float64] | float,
    body_above_tip_mm: NDArray[np.float64] | float = 0.0,
    reach_mm: float = FAR_MM,
) -> Clearance:
    """Gap between a body that travels with the tip and an upright box.

    motions: The motions.
    sides_mm: Lowest and highest x, lowest and highest y of the box in part coordinates [mm].
    top_mm: Height of its top [mm].
    body_radius_mm: Radius of the body; NaN leaves that motion out [mm].
    body_above_tip_mm: Height of the body's lower face above the tip; NaN leaves that motion out [mm].
    reach_mm: Gaps larger than about this may be given as a lower bound [mm].
    Returns: One entry a motion.
    """
    return _gap(motions, sides_mm, 0.0, top_mm, body_radius_mm, body_above_tip_mm, reach_mm)


def _gap(
    motions: MotionTable,
    box: tuple[float, float, float, float],
    radius_mm: float,
    top_mm: float,
    body_radius_mm: NDArray[np.float64] | float,
    body_above_tip_mm: NDArray[np.float64] | float,
    reach_mm: float,
) -> Clearance:
    from millcalc.preflight.geometry_kernels import distances

    n = len(motions)
    body = np.broadcast_to(np.asarray(body_radius_mm, dtype=np.float64), (n,))
    above = np.broadcast_to(np.asarray(body_above_tip_mm, dtype=np.float64), (n,))
    level = np.ascontiguousarray(top_mm - above - Z_TOUCH_MM)
    level[np.isnan(body)] = np.nan
    out = np.empty((n, 2))
    centre, sweep = motions.of_arcs()
    widest = float(np.nanmax(body)) if n and not np.isnan(body).all() else 0.0
    distances(
        np.ascontiguousarray(motions.kind),
        np.ascontiguousarray(motions.plane),
        (
            np.ascontiguousarray(motions.start_mm),
            np.ascontiguousarray(motions.end_mm),
            centre,
        ),
        sweep,
        level,
        box,
        float(reach_mm + radius_mm + widest),
        out,
    )
    return Clearance(out[:, 0] - radius_mm - np.where(np.isnan(body), 0.0, body), out[:, 1].copy())


def point_on_motion(motions: MotionTable, row: int, share: float) -> tuple[float, float, float]:
    """Point of a motion at a share of its length.

    motions: The motions.
    row: Row of the table [-].
    share: 0 at the start, 1 at the end [-].
    Returns: x, y, z in part coordinates [mm].
    """
    point = places_mm(motions, np.array([row]), np.array([share]))[0, 0]
    return float(point[0]), float(point[1]), float(point[2])


def share_on_motion(motions: MotionTable, row: int, place_mm: tuple[float, float, float]) -> float:
    """Share of a motion's length at which it is nearest to a place.

    motions: The motions.
    row: Row of the table [-].
    place_mm: The place in part coordinates [mm].
    Returns: 0 at the start, 1 at the end [-]; 1 where a coordinate is unknown.
    """
    if motions.is_arc[row]:
        shares = np.linspace(0.0, 1.0, 1025)
        off = places_mm(motions, np.array([row]), shares)[0] - np.asarray(place_mm)
        away = np.linalg.norm(off, axis=1)
        return float(shares[int(np.argmin(away))]) if np.isfinite(away).all() else 1.0
    start, end = motions.start_mm[row], motions.end_mm[row]
    way = end - start
    square = float(way @ way)
    if not np.isfinite(square) or square <= 0:
        return 1.0
    return float(np.clip((np.asarray(place_mm) - start) @ way / square, 0.0, 1.0))


def places_mm(
    motions: MotionTable, rows: NDArray[np.intp], shares: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Places along motions, arcs followed.

    motions: The motions.
    rows: Rows of the table [-].
    shares: Shares of each motion's length, 0 to 1 [-].
    Returns: Places in part coordinates [mm].
    """
    start, end = motions.start_mm[rows], motions.end_mm[rows]
    out = start[:, None, :] + shares[None, :, None] * (end - start)[:, None, :]
    for plane, first, second in ((17, 0, 1), (18, 2, 0), (19, 1, 2)):
        mine = np.flatnonzero(motions.is_arc[rows] & (motions.plane[rows] == plane))
        if not len(mine):
            continue
        offset = start[mine] - motions.centre_mm[rows[mine]]
        du, dv = offset[:, first], offset[:, second]
        angle = np.arctan2(dv, du)[:, None] + shares[None, :] * motions.sweep_rad[rows[mine]][:, None]
        radius = np.hypot(du, dv)[:, None]
        out[mine, :, first] = motions.centre_mm[rows[mine], first][:, None] + radius * np.cos(angle)
        out[mine, :, second] = motions.centre_mm[rows[mine], second][:, None] + radius * np.sin(angle)
    return out


def some(motions: MotionTable, rows: NDArray[np.intp]) -> MotionTable:
    """Some motions of a table.

    motions: The motions.
    rows: Which [-].
    Returns: A table of these alone.
    """
    which: NDArray[np.intp] | slice = rows
    if len(rows) and (np.diff(rows) == 1).all():  # neighbours are looked at where they stand
        which = slice(int(rows[0]), int(rows[-1]) + 1)
    return MotionTable(*(getattr(motions, column.name)[which] for column in fields(motions)))


def reach_mm(
    motions: MotionTable, rows: NDArray[np.intp], *, ends: bool = True
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest coordinates that some motions reach together, arcs' true extremes included.

    motions: The motions.
    rows: Which [-].
    ends: Whether the known end of a motion counts whose start is unknown.
    Returns: Lowest and highest x, y, z; what is unknown is left out, NaN where nothing is known [mm].
    """
    low, high = np.full(3, np.nan), np.full(3, np.nan)
    for first in range(0, len(rows), tuning.MOTIONS_AT_ONCE):
        part = some(motions, rows[first : first + tuning.MOTIONS_AT_ONCE])
        each = motion_bounds_mm(part)
        low = np.fmin(low, [np.fmin.reduce(column) for column in each[0].T])
        high = np.fmax(high, [np.fmax.reduce(column) for column in each[1].T])
        if ends:
            low = np.fmin(low, [np.fmin.reduce(column) for column in part.end_mm.T])
            high = np.fmax(high, [np.fmax.reduce(column) for column in part.end_mm.T])
    return low, high


def motion_bounds_mm(motions: MotionTable) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lowest and highest coordinate each motion reaches, arcs' true extremes included.

    motions: The motions.
    Returns: Lowest and highest x, y, z; NaN where unknown [mm].
    """
    low = np.minimum(motions.start_mm, motions.end_mm)
    high = np.maximum(motions.start_mm, motions.end_mm)
    rows = np.flatnonzero(motions.is_arc)
    for plane, first, second in ((17, 0, 1), (18, 2, 0), (19, 1, 2)):
        arcs = rows[motions.plane[rows] == plane]
        if not len(arcs):
            continue
        centre = motions.centre_mm[arcs]
        du = motions.start_mm[arcs, first] - centre[:, first]
        dv = motions.start_mm[arcs, second] - centre[:, second]
        radius, angle = np.hypot(du, dv), np.arctan2(dv, du)
        sweep = motions.sweep_rad[arcs]
        for quarter in range(4):
            target = quarter * np.pi / 2
            delta = np.where(sweep >= 0, target - angle, angle - target) % (2 * np.pi)
            passed = delta <= np.abs(sweep) + 1e-12
            axis, sign = (first, second)[quarter % 2], (1.0, 1.0, -1.0, -1.0)[quarter]
            value = centre[:, axis] + sign * radius
            column_low, column_high = low[arcs, axis], high[arcs, axis]
            low[arcs, axis] = np.where(passed, np.fmin(column_low, value), column_low)
            high[arcs, axis] = np.where(passed, np.fmax(column_high, value), column_high)
    return low, high


def turn_angles_rad(motions: MotionTable) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Unit directions at the start and the end of each motion.

    motions: The motions.
    Returns: Direction at the start and at the end; zero for motions without length, NaN where unknown [-].
    """
    chord = motions.end_mm - motions.start_mm
    start, end = chord.copy(), chord.copy()
    rows = np.flatnonzero((motions.kind == ARC_CW) | (motions.kind == ARC_CW + 1))
    for plane, first, second, normal in ((17, 0, 1, 2), (18, 2, 0, 1), (19, 1, 2, 0)):
        arcs = rows[motions.plane[rows] == plane]
        if not len(arcs):
            continue
        sweep = motions.sweep_rad[arcs]
        for target, point in ((start, motions.start_mm), (end, motions.end_mm)):
            du = point[arcs, first] - motions.centre_mm[arcs, first]
            dv = point[arcs, second] - motions.centre_mm[arcs, second]
            target[arcs, first] = -dv * sweep
            target[arcs, second] = du * sweep
            target[arcs, normal] = chord[arcs, normal]
    for direction in (start, end):
        length = np.linalg.norm(direction, axis=1, keepdims=True)
        np.divide(direction, length, out=direction, where=length > 0)
        direction[motions.kind == DWELL] = 0.0
    return start, end
