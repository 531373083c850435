"""Stretches of the stock's edges along which a clamp can stand."""

from __future__ import annotations

import math

import numpy as np

from millcalc.holding import tuning
from millcalc.holding.clearance import Clearance
from millcalc.holding.result import ClampRun
from millcalc.job.setup import Box

MOST_STEPS = 400  # places looked at along one edge


def clamp_runs(
    clearance: Clearance, stock: Box, width_mm: float, reach_mm: float, step_mm: float
) -> tuple[ClampRun, ...]:
    """Where a clamp of a given size can stand along the four edges.

    clearance: Distances of the program up to the clamp's top.
    stock: The stock.
    width_mm, reach_mm: Width along the edge and reach over the stock [mm].
    step_mm: Places along an edge are looked at this far apart, farther on a long edge [mm].
    Returns: Places of its middle; every one that was looked at in between is clear too.

    Note: The clamp is an upright box that stands out beside the stock by some 30 mm. Its whole width stays
      on the edge.
    """
    runs: list[ClampRun] = []
    outside = tuning.SCREWS_CLAMP_OUTSIDE_MM
    for edge in ("front", "back", "left", "right"):
        along_x = edge in ("front", "back")
        low, high = (stock.x_min, stock.x_max) if along_x else (stock.y_min, stock.y_max)
        low, high = low + width_mm / 2, high - width_mm / 2
        if high < low:
            continue
        step = step_mm * max(1, math.ceil((high - low) / MOST_STEPS / step_mm))
        middle = np.arange(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1) * step
        if not len(middle):
            middle = np.array([(low + high) / 2])
        across = {
            "front": (stock.y_min - outside, stock.y_min + reach_mm),
            "back": (stock.y_max - reach_mm, stock.y_max + outside),
            "left": (stock.x_min - outside, stock.x_min + reach_mm),
            "right": (stock.x_max - reach_mm, stock.x_max + outside),
        }[edge]
        ends = np.column_stack([middle - width_mm / 2, middle + width_mm / 2])
        other = np.broadcast_to(np.array(across), ends.shape)
        boxes = np.hstack([ends, other] if along_x else [other, ends])
        clear = clearance.boxes(boxes).spare_mm >= 0.0
        edges = np.flatnonzero(np.diff(np.concatenate([[0], clear.astype(np.int8), [0]])))
        runs += [
            ClampRun(edge, float(middle[a]), float(middle[b - 1]))
            for a, b in zip(edges[::2], edges[1::2], strict=True)
        ]
    return tuple(runs)
