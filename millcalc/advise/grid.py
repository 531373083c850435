"""What the search tries: speeds, chips, widths and depths, and the feeds that make those chips."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc.advise import tuning
from millcalc.limits.request import FULL_WIDTH, CutRequest
from millcalc.limits.speeds import reached_mm_min, speed_slack
from millcalc.limits.state import State, closed_share
from millcalc.limits.tooling import Tooling
from millcalc.limits.tuning import SMALLEST_DEPTH_MM, STICKOUT_CLEARANCE_MM
from millcalc.mechanics.chip import thinning_factor
from millcalc.mechanics.kinematics import feed_per_tooth_mm, spindle_speed_rpm
from millcalc.units_show import speed_to_set_rpm


def speeds_to_try_rpm(tooling: Tooling, request: CutRequest) -> NDArray[np.float64]:
    """Spindle speeds worth trying: dial marks, or rounded steps over the usable range.

    tooling: What cuts what.
    request: What is asked; a first cut stays at or below the starting cutting speed.
    Returns: Speeds, rising [rev/min].
    """
    if request.speed_rpm is not None:
        return np.array([request.speed_rpm])
    band = tooling.speed_band_m_min
    assert band is not None
    wanted_m_min = band.high if request.proven else band.begin
    lowest, highest = tooling.lowest_rpm, tooling.highest_rpm
    top = min(highest, float(spindle_speed_rpm(wanted_m_min, tooling.cutter.diameter_mm)))
    if tooling.dial_rpm:
        marks = np.array([rpm for rpm in tooling.dial_rpm if rpm <= highest])
        if not len(marks):
            return np.array([lowest])
        below = marks[marks <= top * speed_slack(tooling)]
        return below if len(below) else marks[:1]
    if tooling.machine.spindle.speed_set_by == "fixed":
        return np.array([tooling.machine.spindle.max_rpm])
    top = max(top, lowest)
    steps = [speed_to_set_rpm(n, "down") for n in np.geomspace(lowest, top, 12)]
    return np.array(sorted({float(n) for n in np.clip(steps, lowest, highest)}))


def chips_to_try_mm(tooling: Tooling, request: CutRequest) -> NDArray[np.float64]:
    """Greatest chip thicknesses worth trying, from just above rubbing to the end of the band.

    tooling: What cuts what.
    request: What is asked.
    Returns: Chip thicknesses, rising [mm].
    """
    low, begin, high = tooling.chip_band_mm(request.cut)
    top = high if request.proven else max(begin, low)
    if (
        request.cut == "side" and request.radial_width_mm is not None
    ):  # up to what a cut so nearly a slot may take
        low, begin, high = tooling.chip_band_mm("slot")
        closed = float(closed_share(request.radial_width_mm / tooling.cutter.diameter_mm))
        top += closed * ((high if request.proven else max(begin, low)) - top)
    floor = tooling.thin_chip_mm
    return np.geomspace(min(floor, top), top, 8) if floor < top else np.array([max(top, floor)])


def widths_to_try_mm(tooling: Tooling, request: CutRequest) -> NDArray[np.float64]:
    """Radial widths worth trying.

    tooling: What cuts what.
    request: What is asked.
    Returns: Widths, rising [mm].
    """
    diameter = tooling.cutter.diameter_mm
    if request.cut in FULL_WIDTH:
        return np.array([diameter])
    if request.radial_width_mm is not None:
        return np.array([request.radial_width_mm])
    if request.finish:
        allowance = tooling.material.finish_allowance_mm
        start = allowance.start if allowance.start is not None else allowance.low
        return np.array([min(start, diameter / 2)])
    shares = tuning.FACE_WIDTHS if request.cut == "face" else tuning.SIDE_WIDTHS
    return np.array(shares) * diameter


def depths_to_try_mm(tooling: Tooling, request: CutRequest) -> NDArray[np.float64]:
    """Axial depths worth trying, up to what flutes, stickout and chips leave.

    tooling: What cuts what.
    request: What is asked.
    Returns: Depths, rising [mm].
    """
    if request.axial_depth_mm is not None:
        return np.array([request.axial_depth_mm])
    cutter, material = tooling.cutter, tooling.material
    narrow = request.cut in FULL_WIDTH
    band = material.slot_depth_per_diameter if narrow else material.side_depth_per_diameter
    top = min(
        cutter.flute_length_mm,
        tooling.stickout_mm - STICKOUT_CLEARANCE_MM,
        band.high * cutter.diameter_mm,
    )
    smallest = min(SMALLEST_DEPTH_MM, cutter.diameter_mm / 20)
    return np.geomspace(smallest, max(top, smallest * 1.01), 32)


def feeds_to_try_mm(tooling: Tooling, request: CutRequest, ae: Any, n: Any) -> Any:
    """Feeds per tooth that make the chips worth trying, or the one that is given.

    tooling: What cuts what.
    request: What is asked.
    ae, n: Radial widths [mm] and spindle speeds [rev/min], along the first and third of four axes.
    Returns: Feeds per tooth [mm], the chips along the second axis; one for all speeds where no axis holds a feed back.
    """
    flutes, reference = tooling.cutter.flutes, tooling.cutter.diameter_mm
    if request.feed_mm_min is not None:
        return feed_per_tooth_mm(request.feed_mm_min, flutes, n)
    chips = chips_to_try_mm(tooling, request)[None, :, None, None]
    thick = chips * thinning_factor(np.minimum(ae, reference), reference)
    axes = State(tooling, request, 1.0, 0.0, 0.0, reference)  # what they drive does not depend on the setting
    fastest = min(axes.top_feed_mm_min, reached_mm_min(axes))
    feeds = np.minimum(thick, feed_per_tooth_mm(fastest, flutes, n))
    same = bool((feeds == feeds[:, :, :1]).all())
    return feeds[:, :, :1] if same else feeds
