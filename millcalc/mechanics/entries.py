"""Ways into the material: ramps, helices and straight plunges."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import FloatArray, Numbers, Result, between, not_negative, positive, result


def ramp_length_mm(depth_mm: Numbers, angle_deg: Numbers) -> Result:
    """Give the length in plan of a ramp to a depth: ap / tan(angle).

    depth_mm: Depth of the ramp ap [mm].
    angle_deg: Ramp angle [deg].
    Returns: Length in plan; to and fro halves the leg [mm].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(ramp_length_mm(1.0, 3.0), 1)
    19.1

    Source: A tool maker's catalogue 2021-22, p. 908,
      https://docs.steelcam.org/kyocera/osnovnoj-katalog-kyocera-2021-2022-page908
    """
    angle = np.radians(between("angle_deg", angle_deg, 0.0, 89.0, open_low=True))
    return result(not_negative("depth_mm", depth_mm) / np.tan(angle))


def ramp_angle_deg(depth_mm: Numbers, length_mm: Numbers) -> Result:
    """Give the angle of a ramp that gains a depth over a length in plan.

    depth_mm, length_mm: Depth gained and length in plan [mm].
    Returns: Ramp angle; 90 for a straight plunge, 0 for a level move [deg].
    Raises ValueError: If an argument is not finite or negative.

    >>> round(ramp_angle_deg(1.0, 19.081), 2)
    3.0

    Source: Plane geometry.
    """
    depth = not_negative("depth_mm", depth_mm)
    return result(np.degrees(np.arctan2(depth, not_negative("length_mm", length_mm))))


def _hole(hole_diameter_mm: Numbers, diameter_mm: Numbers) -> tuple[FloatArray, FloatArray]:
    cutter = positive("diameter_mm", diameter_mm)
    hole = positive("hole_diameter_mm", hole_diameter_mm)
    if np.any(hole <= cutter):
        raise ValueError("hole_diameter_mm must be greater than diameter_mm")
    return hole, cutter


def helix_pitch_mm(hole_diameter_mm: Numbers, diameter_mm: Numbers, angle_deg: Numbers) -> Result:
    """Give the depth gained on each turn of a helix: pi (Dh - D) tan(angle).

    hole_diameter_mm, diameter_mm: Hole diameter Dh and cutter diameter D [mm].
    angle_deg: Angle of the path of the centre [deg].
    Returns: Pitch [mm].
    Raises ValueError: If an argument is not finite or out of range, or the hole is not larger than the
      cutter.

    >>> round(helix_pitch_mm(10.0, 6.0, 3.0), 2)
    0.66

    Source: Plane geometry; the form is in handbooks (from memory).
    """
    hole, cutter = _hole(hole_diameter_mm, diameter_mm)
    angle = np.radians(between("angle_deg", angle_deg, 0.0, 89.0))
    return result(np.pi * (hole - cutter) * np.tan(angle))


def plunge_feed_mm_min(feed_mm_min: Numbers, share: Numbers) -> Result:
    """Give the feed of a straight plunge as a share of the side feed.

    feed_mm_min: Side feed [mm/min].
    share: Share for the material, above 0 and at most 1 [-].
    Returns: Plunge feed [mm/min].
    Raises ValueError: If an argument is not finite or out of range.

    >>> plunge_feed_mm_min(600.0, 0.25)
    150.0

    Source: Common practice, no source.
    """
    return result(not_negative("feed_mm_min", feed_mm_min) * between("share", share, 0.0, 1.0, open_low=True))
