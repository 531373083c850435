"""What would buy more: each change is computed by asking again with it."""

from __future__ import annotations

from dataclasses import replace

from millcalc.advise import tuning
from millcalc.advise.result import Buy
from millcalc.advise.solve import Point, find, shares
from millcalc.limits.build import default_stickout_mm
from millcalc.limits.request import FULL_WIDTH, CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.tables.models import Cutter
from millcalc.units_show import System, show_length

_SHORTEST_PAST_DEPTH_MM = 3.0
_BED_RAISE_MM = 30.0


def what_would_buy_more(
    tooling: Tooling,
    request: CutRequest,
    point: Point,
    removal_cm3_min: float,
    units: System = "mm",
    others: tuple[Cutter, ...] = (),
) -> tuple[Buy, ...]:
    """Changes to stickout, bed height or cutter that would remove more, largest gain first; what was given stays.

    tooling: What cuts what now.
    request: What is asked now.
    point: The present setting.
    removal_cm3_min: Its removal rate [cm3/min].
    units: Units of the sentences.
    others: Cutters the person could fit instead.
    Returns: At most six, each a gain of at least 8 %.
    """
    trials: list[tuple[str, Tooling, CutRequest]] = []
    shorter = _shorter_stickout_mm(tooling, point)
    if shorter is not None:
        text = f"stickout {show_length(tooling.stickout_mm, units)} → {show_length(shorter, units)}"
        trials.append((text, tooling.with_changes(stickout_mm=shorter), request))
    raised = tooling.drop_mm - _BED_RAISE_MM
    if raised >= tuning.SMALLEST_DROP_MM:
        text = (
            f"bed raised {show_length(_BED_RAISE_MM, units)} "
            f"(drop {show_length(tooling.drop_mm, units)} → {show_length(raised, units)})"
        )
        trials.append((text, tooling.with_changes(drop_mm=raised), request))
    if not request.proven:
        trials.append(("once this first cut went well (--proven)", tooling, replace(request, proven=True)))
    for cutter in others:
        if (
            cutter.name != tooling.cutter.name
            and cutter.shank_mm <= tooling.machine.spindle.largest_shank_mm + 0.01
        ):
            trials.append(
                (
                    f"another cutter: {cutter.title}",
                    tooling.with_changes(cutter=cutter, stickout_mm=default_stickout_mm(cutter)),
                    request,
                )
            )
    found = []
    for text, changed, asked in trials:
        buy = _try(text, changed, asked, removal_cm3_min, units)
        if buy is not None:
            found.append(buy)
    cutters = sorted((b for b in found if b.change.startswith("another cutter")), key=lambda b: -b.gain)[:2]
    rest = [b for b in found if not b.change.startswith("another cutter")]
    return tuple(sorted([*rest, *cutters], key=lambda b: -b.gain))


def _shorter_stickout_mm(tooling: Tooling, point: Point) -> float | None:
    """A stickout clearly shorter than now that still reaches the depth; None when there is none."""
    least = max(
        point.depth_mm + _SHORTEST_PAST_DEPTH_MM,
        2.0 * tooling.cutter.diameter_mm,
        tooling.cutter.flute_length_mm,
        0.7 * tooling.stickout_mm,
    )
    shorter = float(round(least))
    return shorter if shorter <= 0.92 * tooling.stickout_mm else None


def _try(
    text: str, tooling: Tooling, request: CutRequest, removal_cm3_min: float, units: System
) -> Buy | None:
    """The change computed; None when it holds no limit together, or gains too little to be named."""
    if tooling.speed_band_m_min is None or tooling.cutter.max_rpm.value < tooling.machine.spindle.min_rpm:
        return None
    width = request.radial_width_mm
    if width is not None and width > tooling.cutter.diameter_mm:
        return None
    point, fits = find(tooling, request, units)
    if not fits:
        return None
    width_mm = tooling.cutter.diameter_mm if request.cut in FULL_WIDTH else point.width_mm
    feed = point.speed_rpm * tooling.cutter.flutes * point.feed_per_tooth_mm
    removal = tooling.section_mm2(point.depth_mm, width_mm) * feed / 1000.0
    gain = removal / removal_cm3_min if removal_cm3_min > 0 else float("inf")
    if not gain >= tuning.WORTH_NAMING_GAIN:
        return None
    return Buy(
        text,
        point.depth_mm,
        removal,
        gain,
        shares(tooling, request, point)[0].title,
        point.speed_rpm,
        feed,
    )
