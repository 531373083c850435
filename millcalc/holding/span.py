"""How far a cut lies from its nearest hold, and how far it may in a thin plate."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.holding import tuning
from millcalc.holding.spread import farthest_mm
from millcalc.job.setup import Box, Setup

Floats = NDArray[np.float64]


def span_limit_mm(setup: Setup) -> float | None:
    """Largest distance from a cut to its nearest hold, as SCREW-09 judges thin plates.

    setup: The job.
    Returns: Distance [mm]; None for a thick plate, and for what does not chatter when thin.
    """
    thick = setup.job.stock.thickness_mm
    stiff = setup.material is None or setup.material.family in ("foam", "steel")
    if thick is None or thick >= tuning.SCREWS_THIN_PLATE_MM or stiff:
        return None
    return tuning.SCREWS_SPAN_PER_THICKNESS * thick


def span_mm(points: Floats, screws: Floats, boxes: tuple[Box, ...]) -> float | None:
    """Largest distance from a cut to its nearest screw or clamp.

    points: Places along the cuts, (n, 2) [mm].
    screws: Screws, (k, 2) [mm].
    boxes: Clamps that hold.
    Returns: Distance [mm]; None without cuts or holds.
    """
    if not boxes:
        return farthest_mm(points, screws)
    if not len(points):
        return None
    nearest = np.full(len(points), np.inf)
    for x, y in screws:
        nearest = np.minimum(nearest, np.hypot(points[:, 0] - x, points[:, 1] - y))
    for box in boxes:
        dx = np.maximum(np.maximum(box.x_min - points[:, 0], points[:, 0] - box.x_max), 0.0)
        dy = np.maximum(np.maximum(box.y_min - points[:, 1], points[:, 1] - box.y_max), 0.0)
        nearest = np.minimum(nearest, np.hypot(dx, dy))
    return float(nearest.max())
