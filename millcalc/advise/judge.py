"""What the preflight asks: limits for a fitted cutter, and the use of each limit for arrays of cuts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc.advise.entries import plunge_share, ramp_angle_deg, slot_feed_mm_min
from millcalc.advise.limits import DEPTH_LIMITS, LIMITS, State, worst_use
from millcalc.advise.solve import depths_to_try_mm
from millcalc.advise.tooling import CutRequest, Tooling


@dataclass(frozen=True, slots=True)
class CutLimits:
    """Limits of a fitted cutter at a speed, feed and width.

    depth_max_mm: Greatest depth at which every depth limit holds with its full value [mm].
    governing: Title of the limit that holds the depth back.
    chip_low_mm, chip_high_mm: Chip-load band [mm].
    min_chip_mm: Smallest chip that still cuts [mm].
    plunge_feed_max_mm_min: Straight plunge feed [mm/min].
    ramp_angle_max_deg: Steepest ramp [deg].
    stroke_max_mm: Deepest straight plunge before a retract [mm].
    """

    depth_max_mm: float
    governing: str
    chip_low_mm: float
    chip_high_mm: float
    min_chip_mm: float
    plunge_feed_max_mm_min: float
    ramp_angle_max_deg: float
    stroke_max_mm: float


def limits_for(
    tooling: Tooling,
    speed_rpm: float,
    feed_mm_min: float,
    radial_width_mm: float | None = None,
    finish: bool = False,
) -> CutLimits:
    """Limits of a fitted cutter, all of each limit usable (no first-cut reserve).

    tooling: What cuts what.
    speed_rpm: Spindle speed [rev/min].
    feed_mm_min: Feed [mm/min].
    radial_width_mm: Width of cut; None for a slot [mm].
    finish: Use the finishing allowance.
    Returns: The limits.
    """
    request = CutRequest(
        "slot" if radial_width_mm is None else "side",
        radial_width_mm=radial_width_mm,
        feed_mm_min=feed_mm_min,
        speed_rpm=speed_rpm,
        finish=finish,
        proven=True,
    )
    flutes = tooling.cutter.flutes
    feed_per_tooth = np.array([feed_mm_min / (flutes * speed_rpm)])
    width = np.array([tooling.cutter.diameter_mm if radial_width_mm is None else radial_width_mm])
    top = float(depths_to_try_mm(tooling, request)[-1])
    low, high = 0.0, max(top, tooling.cutter.flute_length_mm) * 2
    governing = ""
    for _ in range(24):
        middle = (low + high) / 2
        uses = depth_uses(tooling, request, np.array([speed_rpm]), feed_per_tooth, np.array([middle]), width)
        worst = max(uses, key=lambda key: float(uses[key][0]))
        if float(uses[worst][0]) <= 1.0:
            low = middle
        else:
            high, governing = middle, worst
    titles = {limit.key: limit.title for limit in LIMITS}
    chip_low, _, chip_high = tooling.chip_band_mm(request.cut)
    band = tooling.material.ramp_angle_deg
    return CutLimits(
        low,
        titles.get(governing, governing),
        chip_low,
        chip_high,
        tooling.smallest_chip_mm,
        min(
            slot_feed_mm_min(tooling, speed_rpm, proven=True) * tooling.material.plunge_share.high,
            tooling.machine.max_feed_mm_min.z,
        ),
        max(band.high, ramp_angle_deg(tooling)),
        max(0.5, plunge_share(tooling)) * tooling.cutter.diameter_mm,
    )


def depth_uses(
    tooling: Tooling,
    request: CutRequest,
    speed_rpm: Any,
    feed_per_tooth_mm: Any,
    depth_mm: Any,
    width_mm: Any,
) -> dict[str, NDArray[np.float64]]:
    """Use of every limit that holds the depth back, for arrays of cuts.

    tooling: What cuts what.
    request: Kind of cut and budget.
    speed_rpm, feed_per_tooth_mm, depth_mm, width_mm: Speed [rev/min], feed per tooth [mm], depth [mm],
      width [mm]; broadcast against each other.
    Returns: Share / budget by limit key [-].
    """
    state = State(tooling, request, speed_rpm, feed_per_tooth_mm, depth_mm, width_mm)
    shape = np.broadcast_shapes(*(np.shape(a) for a in (speed_rpm, feed_per_tooth_mm, depth_mm, width_mm)))
    return {
        limit.key: np.broadcast_to(limit.function(state).share / limit.budget(request, tooling), shape)
        for limit in LIMITS
        if limit.key in DEPTH_LIMITS
    }


__all__ = ["DEPTH_LIMITS", "CutLimits", "depth_uses", "limits_for", "worst_use"]
