"""Where around the cutter the material is: engagement angles and effective diameters.

Angles are measured from the direction across the feed, in the sense of rotation: a chip starts at 0 in
conventional (up) milling and ends at pi in climb (down) milling, and is thickest at pi/2, straight ahead.
"""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import (
    FloatArray,
    Numbers,
    Result,
    at_most,
    between,
    not_negative,
    positive,
    result,
)


def _width_and_diameter(radial_width_mm: Numbers, diameter_mm: Numbers) -> tuple[FloatArray, FloatArray]:
    diameter = positive("diameter_mm", diameter_mm)
    width = not_negative("radial_width_mm", radial_width_mm)
    return at_most("radial_width_mm", width, "diameter_mm", diameter), diameter


def engagement_angle_rad(radial_width_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the angle over which a tooth cuts on a straight wall: cos(phi) = 1 - 2 ae/D.

    radial_width_mm: Radial width ae; D for a slot [mm].
    diameter_mm: Cutter diameter D [mm].
    Returns: Engagement angle, 0 to pi [rad].
    Raises ValueError: If an argument is not finite, negative, or ae exceeds D.

    Note: Straight path and straight edge; see the arc and corner functions for paths that turn.

    >>> round(float(np.degrees(engagement_angle_rad(0.6, 6.0))), 2)
    36.87

    Source: Y. Altintas, Manufacturing Automation, 2nd ed., Cambridge 2012, chapter 2 (from memory).
    """
    width, diameter = _width_and_diameter(radial_width_mm, diameter_mm)
    return result(np.arccos(np.clip(1.0 - 2.0 * width / diameter, -1.0, 1.0)))


def ball_effective_diameter_mm(depth_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the largest diameter of a ball cutter that cuts at a depth: 2 sqrt(ap (D - ap)).

    depth_mm: Axial depth ap on a flat floor [mm].
    diameter_mm: Ball diameter D [mm].
    Returns: Effective diameter, at most D [mm].
    Raises ValueError: If an argument is not finite, or not positive.

    Note: The surface speed is zero on the axis whatever the speed: the centre only ploughs.

    >>> round(ball_effective_diameter_mm(0.5, 6.0), 2)
    3.32

    Source: A tool maker's catalogue 2018, p. F007.
    """
    diameter = positive("diameter_mm", diameter_mm)
    depth = np.minimum(positive("depth_mm", depth_mm), diameter / 2.0)
    return result(2.0 * np.sqrt(depth * (diameter - depth)))


def vee_effective_diameter_mm(
    depth_mm: Numbers, tip_diameter_mm: Numbers, included_angle_deg: Numbers, diameter_mm: Numbers
) -> Result:
    """Give the largest diameter of a vee cutter that cuts at a depth: d + 2 ap tan(angle/2).

    depth_mm: Axial depth ap [mm].
    tip_diameter_mm: Flat at the point d, 0 for a sharp one [mm].
    included_angle_deg: Included angle, both sides together [deg].
    diameter_mm: Largest diameter of the cutter [mm].
    Returns: Effective diameter, at most `diameter_mm` [mm].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(vee_effective_diameter_mm(2.0, 0.2, 90.0, 12.0), 3)
    4.2

    Source: Plane geometry of a cone.
    """
    diameter = positive("diameter_mm", diameter_mm)
    tip = at_most(
        "tip_diameter_mm", not_negative("tip_diameter_mm", tip_diameter_mm), "diameter_mm", diameter
    )
    angle = np.radians(between("included_angle_deg", included_angle_deg, 0.0, 179.0, open_low=True))
    cone = tip + 2.0 * positive("depth_mm", depth_mm) * np.tan(angle / 2.0)
    return result(np.minimum(cone, diameter))


def bull_effective_diameter_mm(depth_mm: Numbers, corner_radius_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the largest diameter of a bull-nose cutter that cuts at a depth.

    depth_mm: Axial depth ap [mm].
    corner_radius_mm: Corner radius r; 0 for a sharp corner, D/2 for a ball [mm].
    diameter_mm: Cutter diameter D [mm].
    Returns: D - 2 r + 2 sqrt(ap (2 r - ap)) while ap is below r, then D [mm].
    Raises ValueError: If an argument is not finite, out of range, or r exceeds D/2.

    >>> bull_effective_diameter_mm(1.0, 1.0, 6.0)
    6.0
    >>> bull_effective_diameter_mm(0.5, 3.0, 6.0) == ball_effective_diameter_mm(0.5, 6.0)
    True

    Source: Plane geometry of a torus; the ball of a tool maker's catalogue 2018, p. F007, is the case r = D/2.
    """
    diameter = positive("diameter_mm", diameter_mm)
    radius = not_negative("corner_radius_mm", corner_radius_mm)
    radius = at_most("corner_radius_mm", radius, "half of diameter_mm", diameter / 2.0)
    depth = np.minimum(positive("depth_mm", depth_mm), radius)
    return result(diameter - 2.0 * radius + 2.0 * np.sqrt(depth * (2.0 * radius - depth)))


def corner_engagement_rad(radial_width_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the engagement angle at the moment of arriving in a square inside corner.

    radial_width_mm, diameter_mm: Radial width ae on both walls and cutter diameter D [mm].
    Returns: The straight-wall angle plus a quarter turn, at most pi [rad].
    Raises ValueError: If an argument is not finite, negative, or ae exceeds D.

    Note: The pass before is taken to have left the corner rounded to the cutter's own radius.

    >>> round(float(np.degrees(corner_engagement_rad(0.6, 6.0))))
    127

    Source: Plane geometry of a disc that touches both walls; checked against areas cut out of the plane.
    """
    angle = np.asarray(engagement_angle_rad(radial_width_mm, diameter_mm))
    return result(np.minimum(angle + np.pi / 2.0, np.pi))
