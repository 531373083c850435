"""Speed, feed and removal rate: the geometry of a turning cutter that is pushed along."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import Numbers, Result, not_negative, positive, result, whole


def spindle_speed_rpm(cutting_speed_m_min: Numbers, diameter_mm: Numbers) -> Result:
    """Give the spindle speed at which a diameter has a cutting speed: n = 1000 vc / (pi D).

    cutting_speed_m_min: Cutting speed vc [m/min].
    diameter_mm: Diameter that cuts; the effective one of a ball or vee cutter [mm].
    Returns: Spindle speed n [rev/min].
    Raises ValueError: If an argument is not finite, or not positive.

    >>> round(spindle_speed_rpm(200.0, 125.0), 1)
    509.3

    Source: Two tool makers' milling catalogues, undated, p. 78, and 2021-22, p. 783.
    """
    speed = not_negative("cutting_speed_m_min", cutting_speed_m_min)
    return result(1000.0 * speed / (np.pi * positive("diameter_mm", diameter_mm)))


def cutting_speed_m_min(speed_rpm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the cutting speed of a diameter at a spindle speed: vc = pi D n / 1000.

    speed_rpm: Spindle speed n [rev/min].
    diameter_mm: Diameter that cuts [mm].
    Returns: Cutting speed vc [m/min].
    Raises ValueError: If an argument is not finite, or out of range.

    >>> round(cutting_speed_m_min(24000.0, 6.0))
    452

    Source: A tool maker's milling catalogue 2021-22, p. 783.
    """
    speed = not_negative("speed_rpm", speed_rpm)
    return result(np.pi * positive("diameter_mm", diameter_mm) * speed / 1000.0)


def feed_mm_min(feed_per_tooth_mm: Numbers, flutes: Numbers, speed_rpm: Numbers) -> Result:
    """Give the feed that a chip load needs: vf = fz z n.

    feed_per_tooth_mm: Feed per tooth fz [mm].
    flutes: Number of cutting edges z [-].
    speed_rpm: Spindle speed n [rev/min].
    Returns: Feed vf [mm/min].
    Raises ValueError: If an argument is not finite, negative, or `flutes` is not a whole number of at least
      1.

    >>> feed_mm_min(0.03, 1, 18000.0)
    540.0

    Source: Two tool makers' catalogues, milling, undated, p. 78, and 2018, p. F007.
    """
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    return result(tooth * whole("flutes", flutes) * not_negative("speed_rpm", speed_rpm))


def feed_per_tooth_mm(feed_mm_min: Numbers, flutes: Numbers, speed_rpm: Numbers) -> Result:
    """Give the chip load that a feed means: fz = vf / (z n).

    feed_mm_min: Feed vf [mm/min].
    flutes: Number of cutting edges z [-].
    speed_rpm: Spindle speed n [rev/min].
    Returns: Feed per tooth fz [mm].
    Raises ValueError: If an argument is not finite or out of range; a spindle at rest has no feed per
      tooth.

    >>> feed_per_tooth_mm(540.0, 1, 18000.0)
    0.03

    Source: A tool maker's milling catalogue 2021-22, p. 783.
    """
    teeth = whole("flutes", flutes) * positive("speed_rpm", speed_rpm)
    return result(not_negative("feed_mm_min", feed_mm_min) / teeth)


def removal_rate_mm3_min(axial_depth_mm: Numbers, radial_width_mm: Numbers, feed_mm_min: Numbers) -> Result:
    """Give the volume removed in a minute: Q = ap ae vf.

    axial_depth_mm, radial_width_mm: Axial depth ap and radial width ae [mm].
    feed_mm_min: Feed vf [mm/min].
    Returns: Removal rate Q [mm3/min].
    Raises ValueError: If an argument is not finite, or negative.

    Note: Straight path. On an inside arc more is removed for the same feed of the centre; see
      :func:`millcalc.mechanics.engagement.inside_arc_removal_ratio`.

    >>> removal_rate_mm3_min(1.0, 6.0, 540.0)
    3240.0

    Source: Two tool makers' catalogues, milling 2021-22, p. 783, and 2018, p. F007.
    """
    depth = not_negative("axial_depth_mm", axial_depth_mm)
    width = not_negative("radial_width_mm", radial_width_mm)
    return result(depth * width * not_negative("feed_mm_min", feed_mm_min))
