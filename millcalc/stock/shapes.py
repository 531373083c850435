"""Cutters as bodies of revolution: the height of the cutting surface above the tip, over the radius."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.stock.shape_kernels import (
    CONE,
    CORNER,
    FLAT,
    FLUTE,
    JOIN,
    JOIN_HEIGHT,
    NUT_RADIUS,
    RADIUS,
    SHANK_RADIUS,
    SHAPE_COLUMNS,
    STICKOUT,
    profile_height_mm,
)

# Included point angle of a drill whose table row gives none [deg]. Standard point of a general-purpose twist
# drill: 118 deg, DIN 1412 / ISO 5419 usage (from memory).
DRILL_POINT_DEG = 118.0


@dataclass(frozen=True, slots=True)
class CutterShape:
    """A cutter's cutting surface: a flat disc, then a rounded corner, then a cone, then a cylinder.

    Every kind is a case of this: a flat cutter is all disc; a ball is all corner; a vee is a disc (the flat at
    its tip) and a cone; a tapered ball is a corner and the cone that touches it; a drill point is a cone.

    radius_mm: Radius of the cylinder [mm].
    flat_mm: Radius of the flat disc at the tip [mm].
    corner_mm: Radius of the corner that follows it; 0 for a sharp edge [mm].
    join_mm: Radius at which the corner ends and the cone begins [mm].
    cone: Rise of the cone a millimetre of radius; 0 without a cone [-].
    flute_length_mm: Cutting length from the tip; infinity when unknown [mm].
    shank_radius_mm: Shank radius above the flutes; 0 when unknown [mm].
    stickout_mm: From tip to the face of the collet nut; infinity when unknown [mm].
    nut_radius_mm: Radius of the collet nut; 0 when unknown [mm].
    """

    radius_mm: float
    flat_mm: float
    corner_mm: float = 0.0
    join_mm: float = 0.0
    cone: float = 0.0
    flute_length_mm: float = math.inf
    shank_radius_mm: float = 0.0
    stickout_mm: float = math.inf
    nut_radius_mm: float = 0.0

    def __post_init__(self) -> None:
        if not self.radius_mm > 0 or not 0 <= self.flat_mm <= self.radius_mm * (1 + 1e-12):
            raise ValueError(f"cutter shape: radius {self.radius_mm} mm with a flat of {self.flat_mm} mm")
        reach = self.flat_mm if self.cone > 0 else self.radius_mm
        if self.corner_mm > 0:
            if not self.flat_mm <= self.join_mm <= self.flat_mm + self.corner_mm * (1 + 1e-12):
                raise ValueError(
                    f"cutter shape: a corner of {self.corner_mm} mm cannot end at {self.join_mm} mm"
                )
        elif self.join_mm != reach and self.join_mm != self.flat_mm:
            raise ValueError("cutter shape: without a corner the cone begins at the flat")

    @property
    def diameter_mm(self) -> float:
        """Diameter of the cylinder [mm]."""
        return 2 * self.radius_mm

    @property
    def detail_mm(self) -> float:
        """Diameter that decides the cell size: a pointed cutter needs finer cells than its full diameter [mm]."""
        if self.cone > 0 and self.corner_mm == 0:
            return max(2 * self.flat_mm, 0.35 * self.diameter_mm)
        if self.cone > 0:
            return max(2 * self.join_mm, 0.35 * self.diameter_mm)
        return self.diameter_mm

    def row(self) -> NDArray[np.float64]:
        """The shape as one row of numbers for the kernels (SHAPE_COLUMNS,)."""
        row = np.zeros(SHAPE_COLUMNS)
        row[RADIUS], row[FLAT], row[CORNER] = self.radius_mm, self.flat_mm, self.corner_mm
        row[JOIN], row[CONE] = self.join_mm, self.cone
        if self.corner_mm > 0:
            across = min(self.join_mm - self.flat_mm, self.corner_mm)
            row[JOIN_HEIGHT] = self.corner_mm - math.sqrt(max(self.corner_mm**2 - across**2, 0.0))
        row[FLUTE], row[SHANK_RADIUS] = self.flute_length_mm, self.shank_radius_mm
        row[STICKOUT], row[NUT_RADIUS] = self.stickout_mm, self.nut_radius_mm
        return row

    def height_mm(self, radius_mm: float) -> float:
        """Height of the cutting surface above the tip.

        radius_mm: Distance from the axis, at most the cutter's radius [mm].
        Returns: Height above the tip [mm].

        >>> from millcalc.stock.cutter_shapes import ball, flat
        >>> round(ball(6.0).height_mm(3.0), 3), flat(6.0).height_mm(3.0)
        (3.0, 0.0)
        """
        return float(profile_height_mm(self.row(), radius_mm))
