"""Cutters as bodies of revolution: the height of the cutting surface above the tip, over the radius."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

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

if TYPE_CHECKING:
    from millcalc.tables.models import Cutter

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

        >>> round(ball(6.0).height_mm(3.0), 3), flat(6.0).height_mm(3.0)
        (3.0, 0.0)
        """
        return float(profile_height_mm(self.row(), radius_mm))


def flat(diameter_mm: float, corner_mm: float = 0.0) -> CutterShape:
    """A flat or bull-nose cutter.

    diameter_mm: Cutting diameter [mm].
    corner_mm: Corner radius; half the diameter makes a ball [mm].
    Returns: The shape, without shank and nut.
    """
    radius = diameter_mm / 2
    return CutterShape(radius, max(radius - corner_mm, 0.0), corner_mm, radius)


def ball(diameter_mm: float) -> CutterShape:
    """A ball cutter.

    diameter_mm: Cutting diameter [mm].
    Returns: The shape, without shank and nut.
    """
    return flat(diameter_mm, diameter_mm / 2)


def vee(diameter_mm: float, included_angle_deg: float, tip_diameter_mm: float = 0.0) -> CutterShape:
    """A vee, engraving or drill point: a cone that ends in a point or a small flat.

    diameter_mm: Largest diameter [mm].
    included_angle_deg: Angle between opposite flanks, above 0 and below 180 [deg].
    tip_diameter_mm: Flat at the tip [mm].
    Returns: The shape, without shank and nut.
    Raises ValueError: If the angle is not between 0 and 180.
    """
    if not 0 < included_angle_deg < 180:
        raise ValueError(f"included angle {included_angle_deg} deg; accepted: above 0, below 180")
    tip = tip_diameter_mm / 2
    cone = 1 / math.tan(math.radians(included_angle_deg) / 2)
    return CutterShape(diameter_mm / 2, tip, 0.0, tip, cone)


def tapered_ball(diameter_mm: float, tip_radius_mm: float, included_angle_deg: float) -> CutterShape:
    """A ball tip with a conical body that touches it.

    diameter_mm: Largest diameter [mm].
    tip_radius_mm: Radius of the ball [mm].
    included_angle_deg: Twice the taper of one side [deg].
    Returns: The shape, without shank and nut.
    Raises ValueError: If the angle is not between 0 and 180.
    """
    if not 0 < included_angle_deg < 180:
        raise ValueError(f"included angle {included_angle_deg} deg; accepted: above 0, below 180")
    half = math.radians(included_angle_deg) / 2
    join = tip_radius_mm * math.cos(half)
    if join >= diameter_mm / 2:
        return ball(diameter_mm)
    return CutterShape(diameter_mm / 2, 0.0, tip_radius_mm, join, 1 / math.tan(half))


def shape_from_cutter(
    cutter: Cutter,
    *,
    stickout_mm: float | None = None,
    nut_diameter_mm: float | None = None,
) -> CutterShape:
    """The shape of a table cutter as it sits in the collet.

    cutter: Table row, with the job's measured values put in.
    stickout_mm: From collet face to tip; None when unknown [mm].
    nut_diameter_mm: Diameter of the collet nut; None when unknown [mm].
    Returns: The shape. Contact of the nut is only looked for when both optional numbers are given.
    Raises ValueError: If the row lacks the angle its kind needs.
    """
    base = _cutting_surface(cutter)
    return CutterShape(
        base.radius_mm,
        base.flat_mm,
        base.corner_mm,
        base.join_mm,
        base.cone,
        flute_length_mm=cutter.flute_length_mm,
        shank_radius_mm=cutter.shank_mm / 2,
        stickout_mm=math.inf if stickout_mm is None else stickout_mm,
        nut_radius_mm=0.0 if nut_diameter_mm is None else nut_diameter_mm / 2,
    )


def _cutting_surface(cutter: Cutter) -> CutterShape:
    kind, diameter = cutter.kind, cutter.diameter_mm
    if kind == "ball":
        return ball(diameter)
    if kind in ("flat", "bull-nose", "facing"):
        return flat(diameter, min(cutter.corner_radius_mm, diameter / 2))
    angle = cutter.included_angle_deg
    if kind == "twist drill":
        return vee(diameter, angle or DRILL_POINT_DEG, cutter.tip_diameter_mm)
    if angle is None:
        raise ValueError(f"cutter {cutter.name}: a {kind} needs included_angle_deg")
    if kind == "tapered ball":
        return tapered_ball(diameter, cutter.corner_radius_mm or cutter.tip_diameter_mm / 2, angle)
    return vee(diameter, angle, cutter.tip_diameter_mm)
