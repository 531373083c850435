"""What the preflight asks: the use of each limit that holds the depth back, for arrays of cuts."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc.limits.request import CutRequest
from millcalc.limits.state import State
from millcalc.limits.table import keys_holding, uses
from millcalc.limits.tooling import Tooling


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
    return {key: np.broadcast_to(use, shape) for key, use in uses(state, keys_holding("depth")).items()}


def deepest_mm(tooling: Tooling, speed_rpm: float, feed_mm_min: float) -> float:
    """Greatest depth of a slot at which every depth limit holds with its full value.

    tooling: What cuts what.
    speed_rpm: Spindle speed [rev/min].
    feed_mm_min: Feed [mm/min].
    Returns: Depth [mm].
    """
    request = CutRequest("slot", feed_mm_min=feed_mm_min, speed_rpm=speed_rpm, proven=True)
    chip, width = feed_mm_min / (tooling.cutter.flutes * speed_rpm), tooling.cutter.diameter_mm

    def over(depth_mm: float) -> float:
        found = depth_uses(tooling, request, speed_rpm, chip, depth_mm, width)
        return max(float(use) for use in found.values()) - 1.0

    low, high = 0.0, 2.0 * tooling.cutter.flute_length_mm
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if over(middle) <= 0.0 else (low, middle)
    return low
