"""How deep the motions dip into the bed under the stock."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import MotionTable


def bed_depth_mm(motions: MotionTable, floor_mm: float) -> NDArray[np.float32]:
    """How deep each motion dips below the stock.

    motions: The motions, n of them.
    floor_mm: Height of the stock's underside [mm].
    Returns: Depth, zero where it does not or where the position is unknown, (n,) [mm].
    """
    low = np.minimum(motions.start_mm[:, 2], motions.end_mm[:, 2])
    upright = motions.is_arc & (motions.plane != 17)
    for row in np.flatnonzero(upright):
        low[row] = min(low[row], _lowest_of_arc(motions, int(row)))
    with np.errstate(invalid="ignore"):
        return np.where(np.isfinite(low), np.maximum(floor_mm - low, 0.0), 0.0).astype(np.float32)


def _lowest_of_arc(motions: MotionTable, row: int) -> float:
    """Lowest z of an arc in the XZ or YZ plane [mm]; NaN where unknown."""
    first, second = (2, 0) if motions.plane[row] == 18 else (1, 2)
    a, b = motions.start_mm[row, [first, second]] - motions.centre_mm[row, [first, second]]
    begin, sweep = float(np.arctan2(b, a)), float(motions.sweep_rad[row])
    bottom = np.pi if first == 2 else -np.pi / 2
    # is the bottom point within the sweep?
    ahead = (bottom - begin) % (2 * np.pi) if sweep >= 0 else (begin - bottom) % (2 * np.pi)
    if ahead <= abs(sweep):
        return float(motions.centre_mm[row, 2] - np.hypot(a, b))
    return float("inf")
