"""The feeds a machine really reaches: acceleration, axis limits and corners, over the whole path.

Two cases bound what an unknown controller does: ``strict`` comes to rest at every corner sharper than
30 degrees, ``quick`` takes corners at full feed and rests only where the path reverses.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import DWELL, RAPID, MotionTable
from millcalc.mechanics.motion import arc_feed_limit_mm_min
from millcalc.preflight import tuning
from millcalc.preflight.geometry import some, turn_angles_rad
from millcalc.tables.models import Axes, Machine

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class FeedModel:
    """Feeds and times, one entry a motion.

    top_feed_mm_min: Highest feed along the motion that every axis can follow [mm/min].
    length_mm: Path length [mm].
    time_quick_s, time_strict_s: Duration without stops at corners, and with; dwells included [s].
    dwells: Motions that only wait.
    """

    top_feed_mm_min: Floats
    length_mm: Floats
    time_quick_s: Floats
    time_strict_s: Floats
    dwells: NDArray[np.bool_]

    @property
    def mean_quick_mm_min(self) -> Floats:
        """Average feed reached without stops at corners; NaN where unknown [mm/min]."""
        return self._mean_mm_min(self.time_quick_s)

    @property
    def mean_strict_mm_min(self) -> Floats:
        """Average feed reached with a stop at every corner; NaN where unknown [mm/min]."""
        return self._mean_mm_min(self.time_strict_s)

    def _mean_mm_min(self, time: Floats) -> Floats:
        with np.errstate(divide="ignore", invalid="ignore"):
            mean = 60.0 * self.length_mm / time
        return np.where(self.dwells | ~(time > 0), np.nan, mean)

    @property
    def total_quick_s(self) -> float:
        """Run time without stops at corners [s]."""
        return float(np.nansum(self.time_quick_s))

    @property
    def total_strict_s(self) -> float:
        """Run time with a stop at every corner [s]."""
        return float(np.nansum(self.time_strict_s))


def feed_model(motions: MotionTable, machine: Machine) -> FeedModel:
    """Feeds a machine reaches along a program.

    machine: Top feeds, rapids and accelerations.
    Returns: Both cases.

    Note: Constant acceleration along the path; arcs at no more than sqrt(a r) with the slower axis of their
      plane. A motion whose feed is unknown takes no time and is NaN.
    """
    from millcalc.preflight.feed_kernels import joint_speeds, motion_times

    n = len(motions)
    dwells = motions.kind == DWELL
    length = np.where(dwells, 0.0, motions.length_mm) if dwells.any() else motions.length_mm
    top_feed, accel, rapid = _along(
        motions, machine.max_feed_mm_min, machine.acceleration_mm_s2, machine.max_rapid_mm_min
    )
    asked = np.where(motions.kind == RAPID, rapid, np.minimum(_feed(motions), top_feed))
    del rapid
    radius = _arc_radius_mm(motions)
    limit = asked / 60.0
    bent = np.flatnonzero(np.isfinite(radius) & np.isfinite(accel))
    bend = np.asarray(arc_feed_limit_mm_min(radius[bent], accel[bent])) / 60.0
    limit[bent] = np.fmin(limit[bent], bend)
    limit[dwells] = np.nan
    del asked, radius
    times: list[Floats] = []
    cosine = _corner_cosines(motions)
    for sharpest in (tuning.CORNER_REST_QUICK_DEG, tuning.CORNER_REST_STRICT_DEG):
        entry = np.zeros(n + 1)
        if n > 1:
            entry[1:n] = np.fmin(limit[:-1], limit[1:])
            rest = ~(cosine[1:n] >= np.cos(np.radians(sharpest)))
            entry[1:n][rest | np.isnan(entry[1:n])] = 0.0
        joint_speeds(limit, accel, length, entry)
        time = np.zeros(n)
        motion_times(limit, accel, length, entry, time)
        time[dwells] = motions.dwell_s[dwells]
        times.append(time)
    return FeedModel(top_feed, length, times[0], times[1], dwells)


def _corner_cosines(motions: MotionTable) -> Floats:
    """Cosine of the turn from each motion to the next, one in front and behind (n + 1,) [-]."""
    n = len(motions)
    cosine = np.ones(n + 1)
    for first in range(1, n, tuning.MOTIONS_AT_ONCE):
        last = min(first + tuning.MOTIONS_AT_ONCE, n)
        start, end = turn_angles_rad(some(motions, np.arange(first - 1, last)))
        cosine[first:last] = (end[:-1] * start[1:]).sum(axis=1)
    return cosine


def _feed(motions: MotionTable) -> Floats:
    feed = motions.feed_mm_min.copy()  # in mm/min also under G93 and G95
    feed[~(feed > 0)] = np.nan
    return feed


def _arc_radius_mm(motions: MotionTable) -> Floats:
    radius = np.full(len(motions), np.nan)
    arcs = motions.is_arc
    for plane, first, second in ((17, 0, 1), (18, 2, 0), (19, 1, 2)):
        rows = np.flatnonzero(arcs & (motions.plane == plane))
        offset = motions.start_mm[rows] - motions.centre_mm[rows]
        radius[rows] = np.hypot(offset[:, first], offset[:, second])
    return radius


def _along(motions: MotionTable, *values: Axes) -> list[Floats]:
    """What limits of the axes allow along each motion; for arcs the slower axes of the plane, and the third."""
    chord = np.abs(motions.end_mm - motions.start_mm)
    size = np.sqrt(chord[:, 0] ** 2 + chord[:, 1] ** 2 + chord[:, 2] ** 2)
    return [_along_one(motions, np.array([one.x, one.y, one.z]), chord, size) for one in values]


def _along_one(motions: MotionTable, limits: Floats, chord: Floats, size: Floats) -> Floats:
    along = np.full(len(motions), np.inf)
    with np.errstate(divide="ignore", invalid="ignore"):
        for part, limit in zip(chord.T, limits, strict=True):
            along = np.minimum(along, np.where(part > 1e-9, limit * size / part, np.inf))
    along = np.where(np.isfinite(along), along, limits.min())
    for plane, axes, normal in ((17, (0, 1), 2), (18, (2, 0), 1), (19, (1, 2), 0)):
        rows = np.flatnonzero(motions.is_arc & (motions.plane == plane))
        if len(rows):
            slower = min(limits[axes[0]], limits[axes[1]])
            length = np.maximum(motions.length_mm[rows], 1e-9)
            rise = np.maximum(chord[rows, normal], 1e-12)
            third = np.where(rise > 1e-9, limits[normal] * length / rise, np.inf)
            along[rows] = np.minimum(slower, third)
    return np.asarray(along)
