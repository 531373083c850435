"""Chip thickness of other cuts: face cuts with a centred cutter, inclined edges, slab milling."""

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
from millcalc.mechanics.chip import width_ratio


def centred_mean_chip_mm(
    feed_per_tooth_mm: Numbers,
    radial_width_mm: Numbers,
    diameter_mm: Numbers,
    lead_angle_deg: Numbers = 90.0,
) -> Result:
    """Give the mean chip of a face cut with the cutter centred on the width.

    feed_per_tooth_mm: Feed per tooth fz [mm].
    radial_width_mm, diameter_mm: Width of the cut ae and cutter diameter D [mm].
    lead_angle_deg: Angle kappa of the main edge against the machined face; 90 for a square shoulder [deg].
    Returns: sin(kappa) fz (ae/D) / arcsin(ae/D) [mm].
    Raises ValueError: If an argument is not finite or out of range, or ae exceeds D.

    >>> round(centred_mean_chip_mm(0.1, 22.0, 22.0), 4)
    0.0637

    Source: Dijet, catalogue 2018, p. F007.
    """
    ratio = width_ratio(radial_width_mm, diameter_mm)
    kappa = np.radians(between("lead_angle_deg", lead_angle_deg, 0.0, 90.0, open_low=True))
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    return result(np.sin(kappa) * tooth * ratio / np.arcsin(np.minimum(ratio, 1.0)))


def lead_angle_feed_mm(chip_mm: Numbers, lead_angle_deg: Numbers) -> Result:
    """Give the feed per tooth that makes a chip thickness on an inclined edge: fz = h / sin(kappa).

    chip_mm: Chip thickness h [mm].
    lead_angle_deg: Angle kappa of the edge against the machined face [deg].
    Returns: Feed per tooth fz [mm].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(lead_angle_feed_mm(0.08, 42.0), 2)
    0.12

    Source: Stellram, catalogue, p. 87.
    """
    kappa = np.radians(between("lead_angle_deg", lead_angle_deg, 0.0, 90.0, open_low=True))
    return result(not_negative("chip_mm", chip_mm) / np.sin(kappa))


def slab_max_chip_mm(
    feed_mm_min: Numbers, speed_rpm: Numbers, flutes: Numbers, depth_mm: Numbers, diameter_mm: Numbers
) -> Result:
    """Give the largest chip of slab milling: (2 f / (N z)) sqrt(t/D), for a depth t small against D.

    feed_mm_min: Table feed f [mm/min].
    speed_rpm: Spindle speed N [rev/min].
    flutes: Number of teeth z [-].
    depth_mm, diameter_mm: Depth of cut t, radial to the cutter, and cutter diameter D [mm].
    Returns: Largest chip thickness [mm].
    Raises ValueError: If an argument is not finite or out of range, or t exceeds D.

    Note: Leaves out the factor sqrt(1 - t/D) of :func:`max_chip_mm`; the two agree for t much smaller than
      D.

    >>> round(slab_max_chip_mm(100.0, 60.0, 10, 5.0, 75.0), 4)
    0.0861

    Source: A. Ghosh, A. K. Mallik, Manufacturing Science, chapter 4, examples 4.15 and 4.16.
    """
    teeth = whole("flutes", flutes) * positive("speed_rpm", speed_rpm)
    diameter = positive("diameter_mm", diameter_mm)
    depth = at_most("depth_mm", positive("depth_mm", depth_mm), "diameter_mm", diameter)
    return result(2.0 * not_negative("feed_mm_min", feed_mm_min) / teeth * np.sqrt(depth / diameter))
