"""The next settings where the spindle's speed changes."""

from __future__ import annotations

import numpy as np

from millcalc.advise import tuning
from millcalc.advise.adjust_evidence import reached_feed_mm_min
from millcalc.advise.in_use import InUse
from millcalc.advise.solve import dial_mark
from millcalc.mechanics.stability import best_speeds_rpm
from millcalc.units_show import (
    System,
    feed_to_set_mm_min,
    show_chip_load,
    show_feed,
    show_speed,
    speed_to_set_rpm,
)


def _at_speed(used: InUse, factor: float) -> float | None:
    """A speed near `factor` times the present one that the spindle has; None when there is none."""
    tooling = used.tooling
    wanted = used.speed_rpm * factor
    if tooling.dial_rpm:
        marks = [rpm for rpm in tooling.dial_rpm if rpm <= tooling.highest_rpm]
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


def speed_down(used: InUse, units: System) -> tuple[str, InUse] | str:
    """Slower, at the same feed as far as the chip allows.

    used: Settings in use.
    units: Units to round and show in.
    Returns: What changes, and the settings after it; or why not.
    """
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


def speed_up(used: InUse, units: System) -> tuple[str, InUse] | str:
    """Faster, with the same chip.

    used: Settings in use.
    units: Units to round and show in.
    Returns: What changes, and the settings after it; or why not.
    """
    speed = _at_speed(used, 1.0 / tuning.ADJUST_SPEED_DOWN)
    if speed is None:
        return "the spindle is at its highest speed already"
    after = _same_chip(used, speed, units)
    return f"{_speed_words(used, speed)}, feed {show_feed(after.feed_mm_min, units)} (same chip)", after


def speed_tune(used: InUse, units: System) -> tuple[str, InUse] | str:
    """A speed in step with the tone that was heard, or off the resonance.

    used: Settings in use.
    units: Units to round and show in.
    Returns: What changes, and the settings after it; or why not.
    """
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


def speed_for_reached_feed(used: InUse, units: System) -> tuple[str, InUse] | str:
    """Slower, as the feed that small curves reach.

    used: Settings in use.
    units: Units to round and show in.
    Returns: What changes, and the settings after it; or why not.
    """
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


def feed_less(used: InUse, units: System) -> tuple[str, InUse] | str:
    """Slower feed and speed together, with the same chip.

    used: Settings in use.
    units: Units to round and show in.
    Returns: What changes, and the settings after it; or why not.
    """
    speed = _at_speed(used, tuning.ADJUST_FEED_LESS)
    if speed is None:
        return "a slower feed alone would rub, and the spindle goes no slower"
    after = _same_chip(used, speed, units)
    return (
        f"feed and speed together: {_speed_words(used, speed)}, feed {show_feed(after.feed_mm_min, units)}",
        after,
    )
