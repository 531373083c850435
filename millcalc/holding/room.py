"""Room for a screw beside what the program cuts and inside the stock."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.job.setup import Box
from millcalc.preflight.tuning import HEAD_EDGE_MM, HEADS_APART_MM

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Places:
    """Places where the head keeps its distance from everything.

    at_mm: The places [mm].
    spare_mm: Room beyond what is to be kept; infinity where nothing comes down [mm].
    piece: Index of the piece, -1 for none [-].
    rim: Whether the place is in the rim of the stock.
    finest_mm: Places closer together than this were not looked at [mm].
    """

    at_mm: Floats
    spare_mm: Floats
    piece: NDArray[np.int32]
    rim: NDArray[np.bool_]
    finest_mm: float

    def take(self, which: NDArray[np.bool_]) -> Places:
        """Only some of the places.

        which: Which ones.
        Returns: Those.
        """
        return Places(
            self.at_mm[which], self.spare_mm[which], self.piece[which], self.rim[which], self.finest_mm
        )


def room_beside(places_mm: Floats, boxes: tuple[Box, ...], discs_mm: Floats, radius_mm: float) -> Floats:
    """Room of a head at places beside clamps and other screws.

    places_mm: Axes of the head [mm].
    boxes: Clamps.
    discs_mm: x, y and radius of other heads [mm].
    radius_mm: Radius of the head [mm].
    Returns: Least gap less what is kept for the driver; infinity beside nothing [mm].
    """
    room = np.full(len(places_mm), np.inf)
    x, y = places_mm[:, 0], places_mm[:, 1]
    for box in boxes:
        dx = np.maximum(np.maximum(box.x_min - x, x - box.x_max), 0.0)
        dy = np.maximum(np.maximum(box.y_min - y, y - box.y_max), 0.0)
        room = np.minimum(room, np.hypot(dx, dy) - radius_mm - HEADS_APART_MM)
    for px, py, size in discs_mm:
        gap = np.hypot(x - px, y - py) - size - radius_mm - HEADS_APART_MM
        room = np.minimum(room, gap)
    return room


def inside_room(places_mm: Floats, stock: Box, radius_mm: float) -> Floats:
    """How far a head lies inside the stock beyond what is to be kept from its edge.

    places_mm: Axes of the head [mm].
    stock: The stock.
    radius_mm: Radius of the head [mm].
    Returns: Room; negative where the head lies nearer to the edge or beyond it [mm].
    """
    x, y = places_mm[:, 0], places_mm[:, 1]
    room = np.minimum(
        np.minimum(x - stock.x_min, stock.x_max - x), np.minimum(y - stock.y_min, stock.y_max - y)
    )
    return np.asarray(room - radius_mm - HEAD_EDGE_MM)
