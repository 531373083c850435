"""Settings that the log has proven, beside the advice for a first cut, and the step between them."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

from millcalc.advise.result import Advice
from millcalc.units_show import (
    System,
    depth_to_set_mm,
    feed_to_set_mm_min,
    show_depth,
    show_feed,
    show_feed_as_is,
    show_length,
    show_speed,
    speed_to_set_rpm,
)

if TYPE_CHECKING:
    from millcalc.cutlog.experience import ProvenHere


def proven_text(found: ProvenHere, advice: Advice, units: System) -> tuple[str, ...]:
    """Proven settings beside an advice, and the step between them.

    found: What is proven.
    advice: The first-cut advice.
    units: ``mm`` or ``in``.
    Returns: Two sentences.
    """
    now = advice.settings
    wide = "" if advice.request.cut == "slot" else f", {show_length(found.width_mm, units)} wide"
    more = found.removal / (1000.0 * advice.removal_cm3_min)
    first = (
        f"proven here: {show_speed(found.speed_rpm)}, {show_feed_as_is(found.feed_mm_min, units)}, "
        f"{show_length(found.depth_mm, units)} deep{wide}: {found.count} good cuts, last {found.last:%Y-%m-%d}; "
        f"{more:.1f}× the removal"
    )
    depth = depth_to_set_mm(sqrt(found.depth_mm * now.axial_depth_mm), units)
    feed = feed_to_set_mm_min(sqrt(found.feed_mm_min * now.feed_mm_min), units)
    speed = speed_to_set_rpm(sqrt(found.speed_rpm * now.speed_rpm), "nearest")
    if advice.tooling.uses_dial:
        speed = found.speed_rpm
    step = (
        f"with a new cutter, clamp or plate begin with the first cut; the step between: {show_speed(speed)}, "
        f"{show_feed(feed, units)}, {show_depth(depth, units)} deep"
    )
    return first, step
