"""The feed straight down with an end mill: one answer for settings, check, correction and adjust."""

from __future__ import annotations

from millcalc.limits.hole import HoleState
from millcalc.limits.request import CutRequest
from millcalc.limits.table import uses
from millcalc.limits.tooling import Tooling

_LIMITS = ("axis-thrust", "spindle-power", "spindle-torque", "top-feed")


def plunge_feed_mm_min(tooling: Tooling, speed_rpm: float, *, proven: bool) -> float:
    """Fastest feed straight down at which the end of a mill still cuts and Z still pushes.

    tooling: What goes down into what.
    speed_rpm: Spindle speed [rev/min].
    proven: All of each limit and the upper end of the band, or what a first cut uses of them.
    Returns: Feed [mm/min].
    """
    request = CutRequest("plunge", proven=proven)
    state = HoleState(tooling, request, speed_rpm, 0.0, 0.0, tooling.cutter.diameter_mm)
    _, begin, high = state.chip_band_mm
    most = (high if proven else begin) * tooling.cutter.flutes * speed_rpm
    return pushed_mm_min(tooling, speed_rpm, most, proven=proven)


def pushed_mm_min(tooling: Tooling, speed_rpm: float, most_mm_min: float, *, proven: bool) -> float:
    """Fastest feed straight down that Z still pushes, no more than some.

    tooling: What goes down into what, an end mill or a drill.
    speed_rpm: Spindle speed [rev/min].
    most_mm_min: What is wanted at most [mm/min].
    proven: Whether all of each limit may be used, or a first cut's share.
    Returns: Feed [mm/min].
    """
    request, per_mm = CutRequest("plunge", proven=proven), tooling.cutter.flutes * speed_rpm
    diameter = tooling.cutter.diameter_mm

    def worst(feed_mm_min: float) -> float:
        state = HoleState(tooling, request, speed_rpm, feed_mm_min / per_mm, 1e-3, diameter)
        return max(float(use) for use in uses(state, _LIMITS).values())

    if worst(most_mm_min) <= 1.0:
        return most_mm_min
    low, high = 0.0, most_mm_min
    for _ in range(24):
        middle = (low + high) / 2
        low, high = (middle, high) if worst(middle) <= 1.0 else (low, middle)
    return low
