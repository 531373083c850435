"""The next settings: one change at a time, computed, never over a limit that held before."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from millcalc.advise import tuning
from millcalc.advise.adjust_evidence import corner_factor
from millcalc.advise.adjust_speeds import feed_less, speed_down, speed_for_reached_feed, speed_tune, speed_up
from millcalc.advise.advice import advise
from millcalc.advise.in_use import InUse
from millcalc.limits.entries import ramp_angle_deg
from millcalc.limits.plunge import plunge_feed_mm_min
from millcalc.limits.request import FULL_WIDTH, CutRequest
from millcalc.limits.table import TITLES
from millcalc.limits.tuning import RAMP_FEED_SHARE, SMALLEST_DEPTH_MM
from millcalc.mechanics.chip import thinning_factor
from millcalc.units_show import (
    System,
    depth_to_set_mm,
    feed_to_set_mm_min,
    show_angle,
    show_chip_load,
    show_depth,
    show_feed,
    show_length,
    show_speed,
)

_LEAST_STICKOUT_PAST_MM = 3.0


@dataclass(frozen=True)
class Change:
    """One change.

    name: Name in the table.
    what: What to change, with old and new number.
    settings: All settings with the change made.
    over: Titles of the limits that still do not hold with it.
    """

    name: str
    what: str
    settings: InUse
    over: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NotPossible:
    """Why a change cannot be made here."""

    name: str
    why: str


Maker = Callable[[InUse, System], tuple[str, InUse] | str]


def next_change(used: InUse, name: str, units: System = "mm") -> Change | NotPossible:
    """Compute one change.

    used: Settings in use.
    name: Which change.
    units: Units to round and show in.
    Returns: New settings, or why not.
    Raises KeyError: If there is no such change.

    Note: A change that would push a limit over which held before is not proposed.
    """
    made = _MAKERS[name](used, units)
    if isinstance(made, str):
        return NotPossible(name, made)
    what, after = made
    before = set(used.over())
    worse = [key for key in after.over() if key not in before or after.use(key) > used.use(key) * 1.001]
    if worse:
        return NotPossible(name, f"{what} would go over {', '.join(TITLES[key] for key in worse)}")
    return Change(name, what, after, tuple(TITLES[key] for key in after.over()))


def _chip_up(used: InUse, units: System) -> tuple[str, InUse] | str:
    tooling = used.tooling
    engaged = min(used.width_mm, tooling.cutter.diameter_mm)
    thin = 1.0 if used.cut in FULL_WIDTH else float(thinning_factor(engaged, tooling.cutter.diameter_mm))
    _, begin, high = tooling.chip_band_mm(used.cut)
    most, now = high if used.proven else begin, used.feed_per_tooth_mm
    wanted = max(now * tuning.ADJUST_CHIP_UP, min(begin * thin, now * tuning.ADJUST_CHIP_UP_MOST))
    axes = tooling.machine.max_feed_mm_min
    top = min(
        most * thin * used.speed_rpm * tooling.cutter.flutes,
        min(axes.x, axes.y),
    )
    feed = feed_to_set_mm_min(min(wanted * used.speed_rpm * tooling.cutter.flutes, top), units)
    if feed < used.feed_mm_min * 1.05:
        kept = "" if used.proven else f" a first cut keeps to ({show_chip_load(most * thin, units)})"
        return f"the feed is at the end of the chip load{kept}, or of the axis, already"
    after = used.changed(feed_mm_min=feed)
    return (
        f"feed {show_feed(used.feed_mm_min, units)} → {show_feed(feed, units)} "
        f"(chip {show_chip_load(now, units)} → {show_chip_load(after.feed_per_tooth_mm, units)})",
        after,
    )


def _depth_times(factor: float) -> Maker:
    def make(used: InUse, units: System) -> tuple[str, InUse] | str:
        depth = depth_to_set_mm(used.depth_mm * factor, units)
        if depth < SMALLEST_DEPTH_MM:
            return f"a depth below {SMALLEST_DEPTH_MM} mm is no cut"
        return (
            f"depth {show_depth(used.depth_mm, units)} → {show_depth(depth, units)}",
            used.changed(depth_mm=depth),
        )

    return make


def _width_less(used: InUse, units: System) -> tuple[str, InUse] | str:
    if used.cut in FULL_WIDTH:
        return "a slot has no smaller width"
    width = depth_to_set_mm(used.width_mm * tuning.ADJUST_WIDTH_LESS, units)
    if width <= 0:
        return "the width is as small as it can be set"
    after = used.changed(width_mm=width)
    # the chip thins with the width: keep its thickness, within the axis and the band
    diameter = used.tooling.cutter.diameter_mm
    ratio = float(thinning_factor(width, diameter) / thinning_factor(min(used.width_mm, diameter), diameter))
    axes = used.tooling.machine.max_feed_mm_min
    feed = feed_to_set_mm_min(min(used.feed_mm_min * ratio, axes.x, axes.y), units)
    after = after.changed(feed_mm_min=feed)
    return (
        f"width {show_length(used.width_mm, units)} → {show_length(width, units)}, feed {show_feed(feed, units)} "
        "(same chip)",
        after,
    )


def _stickout_less(used: InUse, units: System) -> tuple[str, InUse] | str:
    tooling = used.tooling
    flutes_mm = tooling.cutter.flute_length_mm  # they stay out of the collet
    least = max(used.depth_mm + _LEAST_STICKOUT_PAST_MM, 2.0 * tooling.cutter.diameter_mm, flutes_mm)
    shorter = float(round(max(least, tuning.ADJUST_STICKOUT * tooling.stickout_mm)))
    if shorter > 0.95 * tooling.stickout_mm:
        return "the stickout is as short as this depth allows"
    after = used.changed(tooling=tooling.with_changes(stickout_mm=shorter))
    gain = (tooling.stickout_mm / shorter) ** 3
    return (
        f"stickout {show_length(tooling.stickout_mm, units)} → {show_length(shorter, units)} "
        f"(the cutter bends {gain:.1f} times less), if the depth still to go allows it",
        after,
    )


def _finish_feed(used: InUse, units: System) -> tuple[str, InUse] | str:
    tooling = used.tooling
    thin = float(np.ravel(used.state.max_chip_mm)[0]) / used.feed_per_tooth_mm
    floor = tooling.thin_chip_mm / thin * used.speed_rpm * tooling.cutter.flutes
    feed = feed_to_set_mm_min(max(used.feed_mm_min * 0.7, floor * 1.05), units)
    if feed > 0.95 * used.feed_mm_min:
        return "a slower feed would rub"
    return (
        f"in the finishing pass only: feed {show_feed(used.feed_mm_min, units)} → {show_feed(feed, units)}",
        used.changed(feed_mm_min=feed),
    )


def _finish_pass(used: InUse, units: System) -> tuple[str, InUse] | str:
    answer = advise(
        used.tooling, CutRequest("side", finish=True, proven=used.proven), units=units, buys=False
    )
    if not answer.fits:
        return "no finishing pass holds the finishing allowance with this cutter"
    s = answer.settings
    after = used.changed(
        cut="side",
        speed_rpm=s.speed_rpm,
        feed_mm_min=s.feed_mm_min,
        depth_mm=s.axial_depth_mm,
        width_mm=s.radial_width_mm,
    )
    return (
        f"leave {show_length(s.radial_width_mm, units)} and finish: {show_speed(s.speed_rpm)}, "
        f"{show_feed(s.feed_mm_min, units)}, depth {show_depth(s.axial_depth_mm, units)} a pass, climb",
        after,
    )


def _corner_feed(used: InUse, units: System) -> tuple[str, InUse] | str:
    factor = corner_factor(used)
    if factor > 0.9:
        return "a corner adds little at this width"
    feed = feed_to_set_mm_min(used.feed_mm_min * max(factor, 0.25), units)
    return (
        f"in inside corners only: feed {show_feed(used.feed_mm_min, units)} → {show_feed(feed, units)}, "
        "on the last diameter before them",
        used,
    )


def _ramp(used: InUse, units: System) -> tuple[str, InUse] | str:
    angle = ramp_angle_deg(used.tooling)
    feed = feed_to_set_mm_min(used.feed_mm_min * RAMP_FEED_SHARE, units)
    per_depth = used.depth_mm / np.tan(np.radians(angle))
    way = show_length(float(per_depth), units, 0.5 if units == "mm" else 0.02)
    return (
        f"ramp in at {show_angle(angle)}, {show_feed(feed, units)}: {way} of way for "
        f"{show_depth(used.depth_mm, units)} of depth",
        used,
    )


def _plunge_less(used: InUse, units: System) -> tuple[str, InUse] | str:
    if not used.tooling.cutter.centre_cutting:
        return "this cutter must not plunge at all"
    feed = feed_to_set_mm_min(plunge_feed_mm_min(used.tooling, used.speed_rpm, proven=used.proven), units)
    if used.plunge_feed_mm_min is not None and feed >= used.plunge_feed_mm_min:
        return "the plunge feed is slow enough"
    before = "" if used.plunge_feed_mm_min is None else f" {show_feed(used.plunge_feed_mm_min, units)} →"
    return f"plunge feed{before} {show_feed(feed, units)}", used.changed(plunge_feed_mm_min=feed)


def _one_flute(used: InUse, _units: System) -> tuple[str, InUse] | str:
    flutes = used.tooling.cutter.flutes
    if flutes == 1:
        return "the cutter has one flute already"
    fewer = used.tooling.cutter.model_copy(update={"flutes": 1})
    after = used.changed(
        tooling=used.tooling.with_changes(cutter=fewer), feed_mm_min=used.feed_mm_min / flutes
    )
    return (
        f"a one-flute cutter of the same size, feed {show_feed(after.feed_mm_min, _units)} (same chip)",
        after,
    )


_MAKERS: dict[str, Maker] = {
    "chip-up": _chip_up,
    "speed-down": speed_down,
    "speed-up": speed_up,
    "speed-tune": speed_tune,
    "speed-for-reached-feed": speed_for_reached_feed,
    "depth-half": _depth_times(tuning.ADJUST_DEPTH_HALF),
    "depth-less": _depth_times(tuning.ADJUST_DEPTH_LESS),
    "width-less": _width_less,
    "stepover-less": _width_less,
    "stickout-less": _stickout_less,
    "feed-less": feed_less,
    "finish-feed": _finish_feed,
    "finish-pass": _finish_pass,
    "corner-feed": _corner_feed,
    "ramp": _ramp,
    "plunge-less": _plunge_less,
    "one-flute": _one_flute,
}
