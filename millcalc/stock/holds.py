"""What holds the stock down, as areas in plan."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.tuning import REMOVAL_HOLD_RING_MM

if TYPE_CHECKING:
    from millcalc.job.models import Clamp
    from millcalc.job.setup import Box, Keepout


@dataclass(frozen=True, slots=True)
class Hold:
    """An area where the stock is held.

    x_mm, y_mm: Middle, part coordinates [mm].
    half_x_mm, half_y_mm: Half its extents; the radius when round [mm].
    round: A disc instead of a rectangle.
    """

    x_mm: float
    y_mm: float
    half_x_mm: float
    half_y_mm: float
    round: bool = False

    def covers(self, x_mm: NDArray[np.float64], y_mm: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Which places lie in the held area.

        x_mm, y_mm: Places, part coordinates [mm].
        Returns: bool (...).
        """
        if self.round:
            return np.asarray(np.hypot(x_mm - self.x_mm, y_mm - self.y_mm) <= self.half_x_mm)
        beside = np.abs(x_mm - self.x_mm) <= self.half_x_mm
        return np.asarray(beside & (np.abs(y_mm - self.y_mm) <= self.half_y_mm))


def hold_disc(x_mm: float, y_mm: float, radius_mm: float) -> Hold:
    """A round held area, such as under a screw's head.

    x_mm, y_mm: Middle [mm].
    radius_mm: Radius [mm].
    Returns: The area.
    """
    return Hold(x_mm, y_mm, radius_mm, radius_mm, round=True)


def holds_of(
    screws: Iterable[Keepout] | None, clamps: Iterable[tuple[Clamp, Box]] | None
) -> tuple[Hold, ...]:
    """The held areas of a set-up: its screws and clamps that hold.

    screws: Screws, part coordinates.
    clamps: Clamps, part coordinates.
    Returns: Empty when nothing is known to hold.
    """
    holds = [
        hold_disc(
            screw.x_mm, screw.y_mm, max(screw.head_radius_mm, screw.shank_radius_mm) + REMOVAL_HOLD_RING_MM
        )
        for screw in screws or ()
        if screw.holds
    ]
    for clamp, box in clamps or ():
        if clamp.holds:
            holds.append(
                Hold(
                    (box.x_min + box.x_max) / 2,
                    (box.y_min + box.y_max) / 2,
                    (box.x_max - box.x_min) / 2,
                    (box.y_max - box.y_min) / 2,
                )
            )
    return tuple(holds)
