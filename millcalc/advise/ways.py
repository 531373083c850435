"""The other way to make a side cut, and the steps from a first cut to a proven one."""

from __future__ import annotations

from dataclasses import replace

from millcalc.advise.solve import Point, find
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.mechanics.kinematics import feed_mm_min
from millcalc.units_show import System, show_depth, show_feed

# radial widths of the two ways [diameters]: shallow and wide, deep and narrow. Common practice, no source.
NARROW, WIDE, BETWEEN = 0.1, 0.3, 0.2
# a step deeper than the one that went well [-]. Common practice, no source.
STEP = 1.3


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
    """Depths on the way from this first cut to a proven one, each after the one before went well.

    tooling, request: What is cut with what, and how.
    point: The first cut.
    units: ``mm`` or ``in``.
    """
    if request.proven:
        return ()
    feed = float(feed_mm_min(point.feed_per_tooth_mm, tooling.cutter.flutes, point.speed_rpm))
    asked = replace(
        request,
        proven=True,
        speed_rpm=point.speed_rpm,
        feed_mm_min=feed,
        radial_width_mm=None if request.cut == "slot" else point.width_mm,
    )
    last, fits = find(tooling, asked, units)
    if not fits or last.depth_mm < 1.05 * point.depth_mm:
        return ()
    steps: list[str] = []
    depth = point.depth_mm
    while depth * STEP < last.depth_mm * 0.95 and len(steps) < 5:
        depth *= STEP
        steps.append(show_depth(depth, units))
    steps.append(show_depth(last.depth_mm, units))
    return (f"next, at the same feed, each after the one before went well: {', '.join(steps)}",)
