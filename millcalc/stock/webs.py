"""Thin webs, walls and skins in the stock that is left."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.grid import Grid
from millcalc.stock.result import ThinWeb


def find_webs(
    grid: Grid, height: NDArray[np.float32], through: NDArray[np.int32], diameter_mm: float
) -> tuple[ThinWeb, ...]:
    """Placeholder until the search is in."""
    return ()
