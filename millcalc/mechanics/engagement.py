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


def entry_exit_rad(radial_width_mm: Numbers, diameter_mm: Numbers, climb: bool) -> tuple[Result, Result]:
    """Give the angles at which a tooth enters and leaves the material.

    radial_width_mm, diameter_mm: Radial width ae and cutter diameter D [mm].
    climb: True for climb (down) milling, False for conventional (up) milling.
    Returns: Entry and exit angle [rad]: (0, phi) conventional, (pi - phi, pi) climb.
    Raises ValueError: If an argument is not finite, negative, or ae exceeds D.

    >>> [round(float(np.degrees(angle))) for angle in entry_exit_rad(1.5, 6.0, climb=True)]
    [120, 180]

    Source: Y. Altintas, Manufacturing Automation, 2nd ed., Cambridge 2012, chapter 2 (from memory).
    """
    angle = engagement_angle_rad(radial_width_mm, diameter_mm)
    zero = result(np.zeros_like(np.asarray(angle, dtype=np.float64)))
    return (np.pi - angle, zero + np.pi) if climb else (zero, angle)


def ball_effective_diameter_mm(depth_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the largest diameter of a ball cutter that cuts at a depth: 2 sqrt(ap (D - ap)).

    depth_mm: Axial depth ap on a flat floor [mm].
    diameter_mm: Ball diameter D [mm].
    Returns: Effective diameter, at most D [mm].
    Raises ValueError: If an argument is not finite, or not positive.

    Note: The surface speed is zero on the axis whatever the speed: the centre only ploughs.

    >>> round(ball_effective_diameter_mm(0.5, 6.0), 2)
    3.32

    Source: Dijet, catalogue 2018, p. F007.
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

    Source: Plane geometry of a torus; the ball of Dijet, catalogue 2018, p. F007 is the case r = D/2.
    """
    diameter = positive("diameter_mm", diameter_mm)
    radius = not_negative("corner_radius_mm", corner_radius_mm)
    radius = at_most("corner_radius_mm", radius, "half of diameter_mm", diameter / 2.0)
    depth = np.minimum(positive("depth_mm", depth_mm), radius)
    return result(diameter - 2.0 * radius + 2.0 * np.sqrt(depth * (2.0 * radius - depth)))


def tapered_ball_effective_diameter_mm(
    depth_mm: Numbers, ball_radius_mm: Numbers, included_angle_deg: Numbers, diameter_mm: Numbers
) -> Result:
    """Give the largest diameter of a tapered ball cutter that cuts at a depth.

    depth_mm: Axial depth ap [mm].
    ball_radius_mm: Radius r of the ball at the tip [mm].
    included_angle_deg: Twice the taper of one side [deg].
    diameter_mm: Largest diameter of the cutter [mm].
    Returns: Effective diameter: the ball up to where the cone touches it, then the cone [mm].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(tapered_ball_effective_diameter_mm(10.0, 0.5, 10.0, 6.0), 3)
    2.666

    Source: Plane geometry: the cone is tangent to the ball at the height r (1 - sin(taper)).
    """
    diameter = positive("diameter_mm", diameter_mm)
    radius = positive("ball_radius_mm", ball_radius_mm)
    taper = np.radians(between("included_angle_deg", included_angle_deg, 0.0, 120.0)) / 2.0
    depth = positive("depth_mm", depth_mm)
    touch = radius * (1.0 - np.sin(taper))
    ball_depth = np.minimum(depth, touch)
    ball = np.sqrt(ball_depth * (2.0 * radius - ball_depth))
    return result(np.minimum(2.0 * (ball + np.maximum(depth - touch, 0.0) * np.tan(taper)), diameter))


def inside_arc_engagement_rad(
    radial_width_mm: Numbers, path_radius_mm: Numbers, cutter_radius_mm: Numbers
) -> Result:
    """Give the engagement angle while the cutter follows a wall that bends around it.

    radial_width_mm: Radial width ae left on the wall [mm].
    path_radius_mm: Radius rp of the path of the centre [mm].
    cutter_radius_mm: Cutter radius r [mm].
    Returns: Engagement angle, pi where the cutter is buried [rad].
    Raises ValueError: If an argument is not finite or out of range, or ae exceeds the cutter diameter.

    Note: cos(phi) = ((R - ae)^2 - rp^2 - r^2) / (2 rp r) with the wall radius R = rp + r; a steady cut
      whose inner edge is concentric with the wall. Tends to the straight-wall angle as rp grows.

    >>> [round(float(np.degrees(inside_arc_engagement_rad(0.6, r, 3.0)))) for r in (3.0, 1.0)]
    [52, 75]

    Source: Plane geometry: cosine law for cutter centre, arc centre and the point where the chip begins.
    """
    path = positive("path_radius_mm", path_radius_mm)
    radius = positive("cutter_radius_mm", cutter_radius_mm)
    width = not_negative("radial_width_mm", radial_width_mm)
    width = at_most("radial_width_mm", width, "the cutter diameter", 2.0 * radius)
    inner = np.maximum(path + radius - width, 0.0)
    cosine = (inner**2 - path**2 - radius**2) / (2.0 * path * radius)
    return result(np.arccos(np.clip(cosine, -1.0, 1.0)))


def outside_arc_engagement_rad(
    radial_width_mm: Numbers, path_radius_mm: Numbers, cutter_radius_mm: Numbers
) -> Result:
    """Give the engagement angle while the cutter goes around the outside of a round wall.

    radial_width_mm: Radial width ae left on the wall [mm].
    path_radius_mm: Radius rp of the path of the centre, larger than the cutter radius [mm].
    cutter_radius_mm: Cutter radius r [mm].
    Returns: Engagement angle, smaller than on a straight wall [rad].
    Raises ValueError: If an argument is not finite or out of range, or the path is not outside the wall.

    >>> round(float(np.degrees(outside_arc_engagement_rad(0.6, 20.0, 3.0))), 1)
    34.2

    Source: Plane geometry: cosine law with the wall radius R = rp - r.
    """
    path = positive("path_radius_mm", path_radius_mm)
    radius = positive("cutter_radius_mm", cutter_radius_mm)
    if np.any(path <= radius):
        raise ValueError("path_radius_mm must be larger than cutter_radius_mm to go around the outside")
    width = not_negative("radial_width_mm", radial_width_mm)
    width = at_most("radial_width_mm", width, "the cutter diameter", 2.0 * radius)
    cosine = (path**2 + radius**2 - (path - radius + width) ** 2) / (2.0 * path * radius)
    return result(np.arccos(np.clip(cosine, -1.0, 1.0)))


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


def inside_arc_removal_ratio(
    radial_width_mm: Numbers, path_radius_mm: Numbers, cutter_radius_mm: Numbers
) -> Result:
    """Give how much more is removed on an inside arc than on a straight wall at the same feed.

    radial_width_mm: Radial width ae left on the wall [mm].
    path_radius_mm: Radius rp of the path of the centre [mm].
    cutter_radius_mm: Cutter radius r [mm].
    Returns: Ratio of removal rates (R - ae/2) / rp with R = rp + r [-].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(inside_arc_removal_ratio(0.6, 1.0, 3.0), 1)
    3.7

    Source: Plane geometry: area of a ring sector over the length of the centre's path.
    """
    path = positive("path_radius_mm", path_radius_mm)
    radius = positive("cutter_radius_mm", cutter_radius_mm)
    width = not_negative("radial_width_mm", radial_width_mm)
    width = at_most("radial_width_mm", width, "the cutter diameter", 2.0 * radius)
    return result((path + radius - width / 2.0) / path)
