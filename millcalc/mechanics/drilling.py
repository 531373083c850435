"""Drilling: torque, power and thrust of a drill, and how deep holes are pecked."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import (
    Numbers,
    Result,
    between,
    not_negative,
    positive,
    result,
    whole,
)


def drill_chip_mm(feed_per_rev_mm: Numbers, lips: Numbers, point_angle_deg: Numbers) -> Result:
    """Give the chip thickness of a drill: (f / z) sin(point/2).

    feed_per_rev_mm: Feed per revolution f [mm].
    lips: Cutting lips z [-].
    point_angle_deg: Point angle [deg].
    Returns: Chip thickness on the lips [mm].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(drill_chip_mm(0.1, 2, 118.0), 4)
    0.0429

    Source: H. Tschaetsch, Praxis der Zerspantechnik (from memory).
    """
    half = np.radians(between("point_angle_deg", point_angle_deg, 0.0, 180.0, open_low=True)) / 2.0
    return result(not_negative("feed_per_rev_mm", feed_per_rev_mm) / whole("lips", lips) * np.sin(half))


def drill_torque_nm(specific_force_n_mm2: Numbers, feed_per_rev_mm: Numbers, diameter_mm: Numbers) -> Result:
    """Give the torque of drilling into the full: kc f D^2 / 8000.

    specific_force_n_mm2: Specific cutting force kc at the chip of the lips [N/mm2].
    feed_per_rev_mm: Feed per revolution f [mm].
    diameter_mm: Drill diameter D [mm].
    Returns: Torque of the lips, without rubbing in the hole [Nm].
    Raises ValueError: If an argument is not finite or out of range.

    Note: Chips that pack in a deep hole add friction which is not in it.

    >>> round(drill_torque_nm(1500.0, 0.1, 5.0), 3)
    0.469

    Source: H. Tschaetsch, Praxis der Zerspantechnik (from memory).
    """
    kc = positive("specific_force_n_mm2", specific_force_n_mm2)
    feed = not_negative("feed_per_rev_mm", feed_per_rev_mm)
    return result(kc * feed * positive("diameter_mm", diameter_mm) ** 2 / 8000.0)


def drill_thrust_n(
    specific_force_n_mm2: Numbers,
    feed_per_rev_mm: Numbers,
    diameter_mm: Numbers,
    point_angle_deg: Numbers = 118.0,
    thrust_ratio: Numbers = 0.5,
    chisel_share: Numbers = 0.5,
) -> Result:
    """Give the push a drill needs: lips k kc f D/2 sin(point/2), plus the share of the chisel edge.

    specific_force_n_mm2: Specific cutting force kc at the chip of the lips [N/mm2].
    feed_per_rev_mm: Feed per revolution f [mm].
    diameter_mm: Drill diameter D [mm].
    point_angle_deg: Point angle [deg].
    thrust_ratio: Feed force over cutting force of the lips k [-].
    chisel_share: Share of the whole push that the chisel edge takes, below 0.9; 0 for a split point [-].
    Returns: Thrust [N].
    Raises ValueError: If an argument is not finite or out of range.

    Note: A sharp drill. The ratio 0.5 and a chisel share of about one half are handbook rules; a blunt
      drill needs twice as much.

    >>> round(drill_thrust_n(1500.0, 0.1, 5.0))
    321

    Source: H. Tschaetsch, Praxis der Zerspantechnik (from memory).
    """
    half = np.radians(between("point_angle_deg", point_angle_deg, 0.0, 180.0, open_low=True)) / 2.0
    kc = positive("specific_force_n_mm2", specific_force_n_mm2)
    area = not_negative("feed_per_rev_mm", feed_per_rev_mm) * positive("diameter_mm", diameter_mm) / 2.0
    lips = positive("thrust_ratio", thrust_ratio) * kc * area * np.sin(half)
    return result(lips / (1.0 - between("chisel_share", chisel_share, 0.0, 0.9)))


def deep_hole_factors(depth_mm: Numbers, diameter_mm: Numbers) -> tuple[Result, Result]:
    """Give the factors on speed and feed for a deep hole drilled with a plain twist drill.

    depth_mm, diameter_mm: Depth of the hole and drill diameter [mm].
    Returns: Factors on the cutting speed and on the feed per revolution, at most 1 [-].
    Raises ValueError: If an argument is not finite or out of range, or the hole is deeper than 8 diameters
      (off the table).

    Note: High-speed steel, no coolant through the drill; linear between the rows.

    >>> [round(factor, 2) for factor in deep_hole_factors(15.0, 5.0)]
    [0.9, 0.9]

    Source: Machinery's Handbook and ASM handbook tables for deep holes (from memory).
    """
    ratio = not_negative("depth_mm", depth_mm) / positive("diameter_mm", diameter_mm)
    ratio = between("depth_mm / diameter_mm", ratio, 0.0, 8.0)
    speed = np.interp(ratio, [2.0, 3.0, 4.0, 5.0, 6.0, 8.0], [1.0, 0.9, 0.8, 0.7, 0.65, 0.6])
    feed = np.interp(ratio, [2.0, 3.0, 4.0, 5.0], [1.0, 0.9, 0.9, 0.8])
    return result(np.asarray(speed)), result(np.asarray(feed))
