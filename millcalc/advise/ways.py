"""The other way to make a side cut, and the steps from a first cut to a proven one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from millcalc.advise.solve import Point, find
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.mechanics.kinematics import feed_mm_min
from millcalc.units_show import (
    System,
    depth_to_set_mm,
    feed_to_set_mm_min,
    show_depth,
    show_feed,
    show_speed,
    speed_to_set_rpm,
)

# radial widths of the two ways [diameters]: shallow and wide, deep and narrow. Common practice, no source.
NARROW, WIDE, BETWEEN = 0.1, 0.3, 0.2
# a step deeper, thicker or faster than the one that went well [-]. Common practice, no source.
STEP = 1.3
# gain from which a step is worth naming [-]. Estimate.
_WORTH = 1.05


def other_way(tooling: Tooling, request: CutRequest, point: Point, units: System) -> tuple[str, ...]:
    """The deep and narrow way beside a shallow and wide one, or the reverse, in a sentence.

    tooling, request: What is cut with what, and how.
    point: The setting that was chosen.
    units: ``mm`` or ``in``.
    """
    diameter = tooling.cutter.diameter_mm
    if request.cut != "side" or request.radial_width_mm is not None or request.finish:
        return ()
    wide = point.width_mm > BETWEEN * diameter
    width = (NARROW if wide else WIDE) * diameter
    other, fits = find(tooling, replace(request, radial_width_mm=width), units)
    if not fits:
        return ()
    feed = float(feed_mm_min(other.feed_per_tooth_mm, tooling.cutter.flutes, other.speed_rpm))
    name = (
        "narrow and deep, which spreads the wear along the edge"
        if wide
        else "wide and shallow, for a thin step"
    )
    return (
        f"the other way, {name}: {show_depth(other.width_mm, units)} wide, {show_depth(other.depth_mm, units)} deep, "
        f"feed {show_feed(feed, units)}; removes {other.removal(tooling) / point.removal(tooling):.2g} times as much",
    )


def next_steps(tooling: Tooling, request: CutRequest, point: Point, units: System) -> tuple[str, ...]:
    """The way from this first cut to a proven one: deeper, then a thicker chip, then a faster spindle.

    tooling, request: What is cut with what, and how.
    point: The first cut.
    units: ``mm`` or ``in``.

    Note: No step asks for more than ``STEP`` times the depth, the chip or the speed of the one before.
    """
    if request.proven:
        return ()
    flutes, speed = tooling.cutter.flutes, point.speed_rpm
    feed = float(feed_mm_min(point.feed_per_tooth_mm, flutes, speed))
    width = None if request.cut == "slot" else point.width_mm
    asked = replace(request, proven=True, radial_width_mm=width)
    deep, holds = find(tooling, replace(asked, speed_rpm=speed, feed_mm_min=feed), units)
    steps = []
    if holds and deep.depth_mm >= _WORTH * point.depth_mm:
        depths = steps_up(point.depth_mm, deep.depth_mm, lambda depth: depth_to_set_mm(depth, units))
        shown = ", ".join(show_depth(depth, units) for depth in depths)
        steps.append(f"next, at the same feed, each after the one before went well: {shown}")
    given = request.speed_rpm is not None or request.feed_mm_min is not None
    best, holds = (deep, False) if given else find(tooling, asked, units)
    faster = best.speed_rpm >= speed and best.feed_per_tooth_mm >= point.feed_per_tooth_mm
    if (
        holds
        and faster
        and best.removal(tooling) >= _WORTH * max(deep.removal(tooling), point.removal(tooling))
    ):
        steps.append(_faster(tooling, point, best, feed, units))
    return tuple(steps)


def steps_up(start: float, end: float, to_set: Callable[[float], float]) -> list[float]:
    """Values from one to another, evenly by their ratio, none more than about ``STEP`` times the one before.

    start, end: Where it begins (not among them) and ends, in one unit.
    to_set: Rounds down to what a person sets.
    """
    steps = max(math.ceil(math.log(end / start) / math.log(STEP) - 1e-6), 1)
    return [*(to_set(start * (end / start) ** (k / steps)) for k in range(1, steps)), end]


def _faster(tooling: Tooling, first: Point, best: Point, feed: float, units: System) -> str:
    """Feeds at the first speed up to the proven chip, then speeds with that chip, at the depth that ends there."""
    flutes = tooling.cutter.flutes
    thick = float(feed_mm_min(best.feed_per_tooth_mm, flutes, first.speed_rpm))
    feeds = steps_up(feed, thick, lambda value: feed_to_set_mm_min(value, units))
    if tooling.dial_rpm:
        speeds = [rpm for rpm in tooling.dial_rpm if first.speed_rpm < rpm <= best.speed_rpm]
    else:
        speeds = steps_up(first.speed_rpm, best.speed_rpm, lambda value: speed_to_set_rpm(value, "down"))
    text = f"then, {show_depth(best.depth_mm, units)} deep, more feed: "
    text += ", ".join(show_feed(feed_to_set_mm_min(value, units), units) for value in feeds)
    if best.speed_rpm > first.speed_rpm:
        text += "; then with that chip "
        text += ", ".join(
            f"{show_feed(feed_to_set_mm_min(thick * rpm / first.speed_rpm, units), units)} at {show_speed(rpm)}"
            for rpm in speeds
        )
    return text
