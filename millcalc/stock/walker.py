"""A walk of cutters over the stock, motion by motion, with what the kernels keep from one stretch to the next."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.engagement_kernels import NUMBER_COLUMNS, PLACE, Output, reset_window
from millcalc.stock.path_kernels import Columns
from millcalc.stock.removal_kernels import BINS, JUMPS_LOST, LAST_SHAPE, WINDOW_COLUMNS, Field
from millcalc.stock.walk_kernels import finish, walk


class Walk:
    """Walks motions over the stock; stretches of any length give the same result.

    cols: The motions, n of them.
    field: The stock; it is cut in place.
    rows: The cutters.
    jumps: Number of engagement jumps to keep [-].
    """

    def __init__(self, cols: Columns, field: Field, rows: NDArray[np.float64], jumps: int) -> None:
        self.cols, self.field, self.rows = cols, field, rows
        self.out = _room(len(cols.kind), jumps)
        self.done = 0
        self._win, self._bins = np.zeros(WINDOW_COLUMNS), np.zeros(BINS + 1, np.uint8)
        reset_window(self._win, self._bins)
        self._win[LAST_SHAPE] = -1.0

    def to(self, end: int) -> None:
        """Walk on.

        end: Number of motions that are done then [-].
        """
        walk(self.cols, self.field, self.rows, self.out, self._win, self._bins, self.done, end)
        self.done = end

    def finish(self) -> int:
        """Close the last window of travel.

        Returns: Engagement jumps beyond the number kept [-].
        """
        finish(self.field, self.rows, self.out, self._win, self._bins, len(self.cols.kind))
        return int(self._win[JUMPS_LOST])


def _room(motions: int, jumps: int) -> Output:
    """Room for what the walk writes: zeros; NaN for places that are not known yet, -1 for jumps."""
    out = Output(
        numbers=np.zeros((motions, NUMBER_COLUMNS), np.float32),
        volume=np.zeros(motions, np.float64),
        side=np.zeros(motions, np.uint8),
        jumps=np.full((jumps, 6), -1.0),
    )
    out.numbers[:, PLACE:] = np.nan
    return out
