"""Chip thickness: how thick the chip is that a tooth takes."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import (
    FloatArray,
    Numbers,
    Result,
    at_most,
    not_negative,
    positive,
    result,
)
from millcalc.mechanics.engagement import engagement_angle_rad


def width_ratio(radial_width_mm: Numbers, diameter_mm: Numbers) -> FloatArray:
    """Give ae/D as an array after checking both.

    radial_width_mm, diameter_mm: Radial width ae and cutter diameter D [mm].
    Returns: Ratio, above 0 and at most 1 [-].
    Raises ValueError: If an argument is not finite, not positive, or ae exceeds D.
    """
    diameter = positive("diameter_mm", diameter_mm)
    width = positive("radial_width_mm", radial_width_mm)
    return np.asarray(at_most("radial_width_mm", width, "diameter_mm", diameter) / diameter)


def max_chip_mm(feed_per_tooth_mm: Numbers, radial_width_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the largest chip thickness: 2 fz sqrt(r (1 - r)) with r = ae/D below one half, else fz.

    feed_per_tooth_mm: Feed per tooth fz [mm].
    radial_width_mm, diameter_mm: Radial width ae and cutter diameter D [mm].
    Returns: Largest undeformed chip thickness [mm].
    Raises ValueError: If an argument is not finite, not positive, or ae exceeds D.

    Note: Circular tooth path (fz much smaller than D), straight edge, straight wall, no run-out.

    >>> round(max_chip_mm(0.05, 0.6, 6.0), 4)
    0.03

    Source: Y. Altintas, Manufacturing Automation, 2nd ed., Cambridge 2012, chapter 2 (from memory); agrees
      to the printed digits with a tool maker's milling catalogue 2021-22, p. 114.
    """
    half = np.minimum(width_ratio(radial_width_mm, diameter_mm), 0.5)
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    return result(2.0 * tooth * np.sqrt(half * (1.0 - half)))


def mean_chip_mm(feed_per_tooth_mm: Numbers, radial_width_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the mean chip thickness over the arc of cut: hm = 2 fz (ae/D) / phi.

    feed_per_tooth_mm: Feed per tooth fz [mm].
    radial_width_mm, diameter_mm: Radial width ae and cutter diameter D [mm].
    Returns: Mean undeformed chip thickness; 2 fz / pi in a slot [mm].
    Raises ValueError: If an argument is not finite, not positive, or ae exceeds D.

    Note: Cut from the edge of the work (side milling) or a slot; not for a face cut with the cutter
      centred.

    >>> round(mean_chip_mm(0.05, 6.0, 6.0), 4)
    0.0318

    Source: H. Tschaetsch, Praxis der Zerspantechnik (from memory).
    """
    ratio = width_ratio(radial_width_mm, diameter_mm)
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    angle = np.asarray(engagement_angle_rad(radial_width_mm, diameter_mm))
    return result(2.0 * tooth * ratio / angle)


def thinning_factor(radial_width_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the factor on the feed per tooth that restores the chip thickness of a half-width cut.

    radial_width_mm, diameter_mm: Radial width ae and cutter diameter D [mm].
    Returns: 1 / (2 sqrt(r (1 - r))) with r = ae/D below one half, else 1 [-].
    Raises ValueError: If an argument is not finite, not positive, or ae exceeds D.

    Note: Use it only while force, feed and acceleration stay inside their limits, and not in corners, where
      the engagement grows.

    >>> round(thinning_factor(0.6, 6.0), 2)
    1.67

    Source: A tool maker's milling catalogue 2021-22, p. 114 (tabulated factors),
      https://docs.steelcam.org/dormer-pramet/katalog-dormer-pramet-frezerovanie-2021-2022-page115
    """
    half = np.minimum(width_ratio(radial_width_mm, diameter_mm), 0.5)
    return result(1.0 / (2.0 * np.sqrt(half * (1.0 - half))))


def least_chip_mm(edge_radius_um: Numbers, ratio: Numbers) -> Result:
    """Give the chip thickness below which an edge rubs and ploughs: a share of its edge radius.

    edge_radius_um: Cutting-edge radius [um].
    ratio: Smallest chip over edge radius [-].
    Returns: Smallest chip that is cut [mm].
    Raises ValueError: If an argument is not finite or not positive.

    Note: Published ratios are 0.14 to 0.43 over many materials; a worn edge has several times the radius.

    >>> round(least_chip_mm(5.0, 0.35), 5)
    0.00175

    Source: Cheng et al., International Journal of Advanced Manufacturing Technology 97 (2018) 3119
      (abstract).
    """
    return result(positive("edge_radius_um", edge_radius_um) * positive("ratio", ratio) / 1000.0)
