"""The next settings: one change at a time, computed, never over a limit that held before."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from millcalc.advise import tuning
from millcalc.advise.adjust_evidence import corner_factor, reached_feed_mm_min
from millcalc.advise.advice import advise
from millcalc.advise.in_use import InUse
from millcalc.advise.solve import dial_mark
from millcalc.limits.entries import ramp_angle_deg
from millcalc.limits.plunge import plunge_feed_mm_min
from millcalc.limits.request import FULL_WIDTH, CutRequest
from millcalc.limits.table import TITLES
from millcalc.limits.tuning import RAMP_FEED_SHARE, RUBBING_BUDGET, SMALLEST_DEPTH_MM
from millcalc.mechanics.chip import thinning_factor
from millcalc.mechanics.stability import best_speeds_rpm
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
    speed_to_set_rpm,
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


def _at_speed(used: InUse, factor: float) -> float | None:
    """A speed near `factor` times the present one that the spindle has; None when there is none."""
    tooling = used.tooling
    wanted = used.speed_rpm * factor
    if tooling.uses_dial and tooling.machine.spindle.dial:
        marks = [m.rpm for m in tooling.machine.spindle.dial if m.rpm <= tooling.highest_rpm]
        side = [
            rpm
            for rpm in marks
            if (rpm < 0.97 * used.speed_rpm if factor < 1 else rpm > 1.03 * used.speed_rpm)
        ]
        return min(side, key=lambda rpm: abs(rpm - wanted), default=None)
    bounded = min(max(wanted, tooling.lowest_rpm), tooling.highest_rpm)
    speed = speed_to_set_rpm(bounded, "down" if factor < 1 else "up")
    speed = min(max(speed, tooling.lowest_rpm), tooling.highest_rpm)
    return None if abs(speed / used.speed_rpm - 1) < 0.03 else speed


def _speed_words(used: InUse, speed: float) -> str:
    mark = dial_mark(used.tooling, speed)
    return f"spindle {show_speed(used.speed_rpm)} → {show_speed(speed)}" + (
        f" (dial at {mark})" if mark else ""
    )


def _speed_down(used: InUse, units: System) -> tuple[str, InUse] | str:
    speed = _at_speed(used, tuning.ADJUST_SPEED_DOWN)
    if speed is None:
        return "the spindle is at its lowest speed already"
    after = used.changed(speed_rpm=speed)
    high = used.tooling.chip_band_mm(used.cut)[2]
    thin = float(np.ravel(used.state.max_chip_mm)[0]) / used.feed_per_tooth_mm
    if after.feed_per_tooth_mm * thin > high:
        feed = feed_to_set_mm_min(high / thin * speed * used.tooling.cutter.flutes, units)
        after = after.changed(feed_mm_min=feed)
        return f"{_speed_words(used, speed)}, feed {show_feed(feed, units)}", after
    return (
        f"{_speed_words(used, speed)}, feed as it is (chip {show_chip_load(used.feed_per_tooth_mm, units)} → "
        f"{show_chip_load(after.feed_per_tooth_mm, units)})",
        after,
    )


def _same_chip(used: InUse, speed: float, units: System) -> InUse:
    feed = used.feed_mm_min * speed / used.speed_rpm
    return used.changed(speed_rpm=speed, feed_mm_min=feed_to_set_mm_min(feed, units) or feed)


def _speed_up(used: InUse, units: System) -> tuple[str, InUse] | str:
    speed = _at_speed(used, 1.0 / tuning.ADJUST_SPEED_DOWN)
    if speed is None:
        return "the spindle is at its highest speed already"
    after = _same_chip(used, speed, units)
    return f"{_speed_words(used, speed)}, feed {show_feed(after.feed_mm_min, units)} (same chip)", after


def _speed_tune(used: InUse, units: System) -> tuple[str, InUse] | str:
    tooling = used.tooling
    if used.tone_hz is not None:
        speeds = best_speeds_rpm(used.tone_hz, tooling.cutter.flutes, tooling.lowest_rpm, tooling.highest_rpm)
        if len(speeds) == 0:
            return f"no speed of this spindle falls in step with {used.tone_hz:.0f} Hz"
        speed = float(min(speeds, key=lambda n: abs(n - used.speed_rpm)))
        speed = speed_to_set_rpm(speed, "nearest")
        if abs(speed / used.speed_rpm - 1) < 0.02:
            return "the speed is in step with that tone already"
        why = f"in step with {used.tone_hz:.0f} Hz"
    else:
        lower = _at_speed(used, tuning.ADJUST_SPEED_TUNE)
        if lower is None:
            lower = _at_speed(used, 1.0 / tuning.ADJUST_SPEED_TUNE)
        if lower is None:
            return "the spindle has no other speed"
        speed, why = lower, "off the resonance; with --tone HZ it can be computed"
    after = _same_chip(used, speed, units)
    return f"{_speed_words(used, speed)}, feed {show_feed(after.feed_mm_min, units)} ({why})", after


def _speed_for_reached_feed(used: InUse, units: System) -> tuple[str, InUse] | str:
    reached = reached_feed_mm_min(used)
    if reached >= 0.95 * used.feed_mm_min:
        return "the feed is reached even in small curves"
    speed = _at_speed(used, max(reached / used.feed_mm_min, 0.3))
    if speed is None:
        return "the spindle is at its lowest speed already"
    feed = feed_to_set_mm_min(
        min(used.feed_per_tooth_mm * speed * used.tooling.cutter.flutes, used.feed_mm_min), units
    )
    after = used.changed(speed_rpm=speed, feed_mm_min=feed)
    return (
        f"for the parts with small curves: {_speed_words(used, speed)}, feed {show_feed(feed, units)} "
        f"(there {show_feed(reached, units)} is reached)",
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


def _feed_less(used: InUse, units: System) -> tuple[str, InUse] | str:
    speed = _at_speed(used, tuning.ADJUST_FEED_LESS)
    if speed is None:
        return "a slower feed alone would rub, and the spindle goes no slower"
    after = _same_chip(used, speed, units)
    return (
        f"feed and speed together: {_speed_words(used, speed)}, feed {show_feed(after.feed_mm_min, units)}",
        after,
    )


def _finish_feed(used: InUse, units: System) -> tuple[str, InUse] | str:
    tooling = used.tooling
    thin = float(np.ravel(used.state.max_chip_mm)[0]) / used.feed_per_tooth_mm
    floor = tooling.smallest_chip_mm / RUBBING_BUDGET / thin * used.speed_rpm * tooling.cutter.flutes
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
    return (
        f"ramp in at {show_angle(angle)}, {show_feed(feed, units)}: {show_length(float(per_depth), units)} of way for "
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
    "speed-down": _speed_down,
    "speed-up": _speed_up,
    "speed-tune": _speed_tune,
    "speed-for-reached-feed": _speed_for_reached_feed,
    "depth-half": _depth_times(tuning.ADJUST_DEPTH_HALF),
    "depth-less": _depth_times(tuning.ADJUST_DEPTH_LESS),
    "width-less": _width_less,
    "stepover-less": _width_less,
    "stickout-less": _stickout_less,
    "feed-less": _feed_less,
    "finish-feed": _finish_feed,
    "finish-pass": _finish_pass,
    "corner-feed": _corner_feed,
    "ramp": _ramp,
    "plunge-less": _plunge_less,
    "one-flute": _one_flute,
}
