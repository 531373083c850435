"""The shapes of the cutters that there are: flat, ball, vee, tapered ball."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from millcalc.stock.shapes import DRILL_POINT_DEG, CutterShape

if TYPE_CHECKING:
    from millcalc.tables.models import Cutter


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
