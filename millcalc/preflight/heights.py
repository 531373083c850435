"""Heights that a program shows by itself: where it travels, and under which height its cutter is at the work."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import MotionTable
from millcalc.preflight import tuning
from millcalc.preflight.distinct import distinct_values

SURFACE_MM = 1e-3  # mm; a tip this far below a surface is below it
FAIR_SHARE = (
    0.1  # of the sideways rapid length makes a level one of travel; of the feed length above it, none
)


class Columns(Protocol):
    """What heights are read from: columns of the motions, one entry each, and the stock's top where a job tells it."""

    motions: MotionTable
    top_mm: float | None

    @property
    def rapid(self) -> NDArray[np.bool_]: ...
    @property
    def feed(self) -> NDArray[np.bool_]: ...
    @property
    def dz(self) -> NDArray[np.float64]: ...
    @property
    def plan_mm(self) -> NDArray[np.float64]: ...
    @property
    def z_low(self) -> NDArray[np.float64]: ...
    @property
    def travel_level_mm(self) -> float | None: ...


def travel_level_mm(facts: Columns) -> float | None:
    """Height at which a program travels.

    The highest level with a fair share (a tenth) of the length of sideways rapids, out of those with hardly any
    sideways feed at or above them: a rapid dragged through the work is no level of travel, however long. A rapid
    from an unknown place counts as one of average length. Without such rapids: the highest end of any rapid.

    facts: Columns of the motions.
    Returns: The height [mm]; None where no rapid has a known one.
    """
    ends = facts.motions.end_mm
    level = facts.rapid & ~(np.abs(facts.dz) > 1e-6) & ~(facts.plan_mm <= 0.1) & np.isfinite(ends[:, 2])
    level &= np.isfinite(ends[:, :2]).any(axis=1)
    if not level.any():
        heights = ends[facts.rapid, 2]
        return float(np.nanmax(heights)) if len(heights) and not np.isnan(heights).all() else None
    known = facts.plan_mm[level & np.isfinite(facts.plan_mm)]
    usual = float(known.mean()) if len(known) else 1.0
    values, where = distinct_values(np.round(ends[level, 2], 3))
    lengths = np.bincount(where, weights=np.nan_to_num(facts.plan_mm[level], nan=usual))
    clear = _feed_above(facts, values) <= FAIR_SHARE
    if not clear.any():
        lifted, _ = distinct_values(np.round(ends[facts.rapid & np.isfinite(ends[:, 2]), 2], 3))
        lifted = lifted[_feed_above(facts, lifted) <= FAIR_SHARE]
        if len(lifted):
            return float(lifted.max())
        clear[:] = True
    values, lengths = values[clear], lengths[clear]
    fair = lengths >= FAIR_SHARE * lengths.sum()
    return float(values[fair].max() if fair.any() else values[np.argmax(lengths)])


def _feed_above(facts: Columns, levels_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share of the length of sideways feed motions at or above each of some rising heights [-]."""
    rows = np.flatnonzero(facts.feed & (facts.plan_mm > 1e-6) & np.isfinite(facts.z_low))
    length = np.zeros(len(levels_mm) + 1)
    for first in range(0, len(rows), tuning.MOTIONS_AT_ONCE):
        each = rows[first : first + tuning.MOTIONS_AT_ONCE]
        # how many of the levels each motion is not below
        above = np.searchsorted(levels_mm - SURFACE_MM, facts.z_low[each], side="right")
        length += np.bincount(above, weights=facts.plan_mm[each], minlength=len(length))
    return np.asarray(np.cumsum(length[::-1])[::-1][1:] / max(length.sum(), 1e-9))


def at_work_mm(facts: Columns) -> float | None:
    """Height under which the cutter is at the work: the stock top; without one, what the program shows.

    Shown by the program: the higher of its highest sideways cut and, where most of its cuts lie below zero, zero;
    never above the travel height.

    facts: Columns of the motions.
    Returns: The height [mm]; None where nothing is known.
    """
    level = facts.travel_level_mm
    if facts.top_mm is not None or level is None:
        return facts.top_mm
    under = facts.feed & (facts.z_low < level - SURFACE_MM)
    low = facts.z_low[under & (facts.plan_mm > 1e-6)]
    low = low if len(low) else facts.z_low[under]
    if not len(low):
        return level
    shown = float(np.quantile(low, 0.95, method="lower"))
    if float(np.median(low)) < 0.0 < level:
        shown = max(shown, 0.0)
    return min(level, shown + SURFACE_MM)


def surface_mm(facts: Columns) -> float | None:
    """The work's surface as a person would name it: the stock top, or what the program shows to 0.01 mm [mm]."""
    work = at_work_mm(facts)
    return work if facts.top_mm is not None or work is None else round(work, 2)
