"""What the cutter leaves behind: scallops, feed marks, and the step of a tilted spindle."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import (
    Numbers,
    Result,
    at_most,
    between,
    not_negative,
    positive,
    result,
    whole,
)


def scallop_mm(stepover_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the height of the ridge between two passes of a ball: R - sqrt(R^2 - (s/2)^2).

    stepover_mm: Distance s of the passes, on a flat floor [mm].
    diameter_mm: Ball diameter D = 2 R; twice the corner radius of a bull-nose for the curved part [mm].
    Returns: Height of the ridge [mm].
    Raises ValueError: If an argument is not finite, negative, or the stepover exceeds D.

    >>> round(1000 * scallop_mm(0.62, 6.0), 1)
    16.1

    Source: Plane geometry; agrees with the stepover table of Dormer Pramet, milling catalogue 2021-22, p.
      114.
    """
    radius = positive("diameter_mm", diameter_mm) / 2.0
    step = at_most("stepover_mm", not_negative("stepover_mm", stepover_mm), "diameter_mm", 2.0 * radius)
    half = step / 2.0
    return result(half**2 / (radius + np.sqrt(np.maximum(radius**2 - half**2, 0.0))))


def stepover_for_scallop_mm(scallop_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the distance of passes that leaves a ridge of a height: s = 2 sqrt(h (D - h)).

    scallop_mm: Height h of the ridge allowed [mm].
    diameter_mm: Ball diameter D [mm].
    Returns: Stepover s [mm].
    Raises ValueError: If an argument is not finite, negative, or the height exceeds D/2.

    >>> round(stepover_for_scallop_mm(0.016, 6.0), 2)
    0.62

    Source: Plane geometry; agrees with the stepover table of Dormer Pramet, milling catalogue 2021-22, p.
      114.
    """
    diameter = positive("diameter_mm", diameter_mm)
    height = not_negative("scallop_mm", scallop_mm)
    height = at_most("scallop_mm", height, "half of diameter_mm", diameter / 2.0)
    return result(2.0 * np.sqrt(height * (diameter - height)))


def feed_mark_mm(feed_per_tooth_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the depth of the waves a tooth leaves on a side wall: fz^2 / (4 D).

    feed_per_tooth_mm: Feed per tooth fz; the feed per turn where run-out lets one tooth finish alone [mm].
    diameter_mm: Cutter diameter D [mm].
    Returns: Ideal depth of the waves, without vibration [mm].
    Raises ValueError: If an argument is not finite, negative, or fz exceeds D.

    Note: First term of the exact scallop; within 1 % for fz below D/5.

    >>> round(1000 * feed_mark_mm(0.1, 6.0), 2)
    0.42

    Source: A. Ghosh, A. K. Mallik, Manufacturing Science, p. 272 (as transcribed in published notes).
    """
    diameter = positive("diameter_mm", diameter_mm)
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    return result(at_most("feed_per_tooth_mm", tooth, "diameter_mm", diameter) ** 2 / (4.0 * diameter))


def mark_pitch_mm(
    feed_per_tooth_mm: Numbers, flutes: Numbers, runout_mm: Numbers, diameter_mm: Numbers
) -> Result:
    """Give the spacing of feed marks on a side wall: fz, or the feed per turn once one tooth finishes alone.

    feed_per_tooth_mm: Feed per tooth fz [mm].
    flutes: Number of teeth [-].
    runout_mm: Total indicator reading [mm].
    diameter_mm: Cutter diameter D [mm].
    Returns: Spacing of the marks [mm].
    Raises ValueError: If an argument is not finite or out of range.

    Note: One tooth wipes out the marks of the others as soon as it stands out by more than the depth its
      own wave, one turn wide, reaches; on a router run-out is nearly always above that.

    >>> mark_pitch_mm(0.1, 2, 0.02, 6.0), mark_pitch_mm(0.1, 2, 0.0, 6.0)
    (0.2, 0.1)

    Source: P. Koch, Wood Machining Processes (rule from memory); plane geometry of two arcs.
    """
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    turn = tooth * whole("flutes", flutes)
    alone = not_negative("runout_mm", runout_mm) > turn**2 / (4.0 * positive("diameter_mm", diameter_mm))
    return result(np.where(alone, turn, tooth))


def vee_scallop_mm(stepover_mm: Numbers, tip_diameter_mm: Numbers, included_angle_deg: Numbers) -> Result:
    """Give the height of the ridge between two passes of a vee cutter on a flat floor.

    stepover_mm: Distance of the passes [mm].
    tip_diameter_mm: Flat at the point [mm].
    included_angle_deg: Included angle [deg].
    Returns: Height of the ridge; 0 while the flat reaches over the stepover [mm].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(vee_scallop_mm(0.5, 0.1, 90.0), 3)
    0.2

    Source: Plane geometry of a cone.
    """
    angle = np.radians(between("included_angle_deg", included_angle_deg, 0.0, 179.0, open_low=True))
    gap = not_negative("stepover_mm", stepover_mm) - not_negative("tip_diameter_mm", tip_diameter_mm)
    return result(np.maximum(gap, 0.0) / 2.0 / np.tan(angle / 2.0))


def tilt_step_mm(stepover_mm: Numbers, tilt_mm_per_m: Numbers) -> Result:
    """Give the step between two passes of a flat cutter when the spindle leans across the passes.

    stepover_mm: Distance of the passes [mm].
    tilt_mm_per_m: Lean of the spindle, in millimetres on one metre [mm/m].
    Returns: Height of the step [mm].
    Raises ValueError: If an argument is not finite or negative.

    >>> tilt_step_mm(15.0, 1.0)
    0.015

    Source: Plane geometry, small angle.
    """
    lean = not_negative("tilt_mm_per_m", tilt_mm_per_m) / 1000.0
    return result(not_negative("stepover_mm", stepover_mm) * lean)
