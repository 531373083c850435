"""Drilling: torque, power and thrust of a drill, and how deep holes are pecked."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import (
    FloatArray,
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


_CHISEL_TABLE = np.array(  # chisel edge over diameter, A, B, J [-]; Machinery's Handbook, 31st ed., table 7
    [
        [0.03, 1.000, 1.100, 0.001],
        [0.05, 1.005, 1.140, 0.003],
        [0.08, 1.015, 1.200, 0.006],
        [0.10, 1.020, 1.235, 0.010],
        [0.13, 1.040, 1.270, 0.017],
        [0.15, 1.080, 1.310, 0.022],
        [0.18, 1.085, 1.355, 0.030],
        [0.20, 1.105, 1.380, 0.040],
        [0.25, 1.155, 1.445, 0.065],
        [0.30, 1.235, 1.500, 0.090],
        [0.35, 1.310, 1.575, 0.120],
        [0.40, 1.395, 1.620, 0.160],
    ]
)


def handbook_drill_load(
    work_factor: Numbers,
    feed_per_rev_mm: Numbers,
    diameter_mm: Numbers,
    chisel_ratio: Numbers = 0.18,
    wear_factor: Numbers = 1.0,
) -> tuple[Result, Result]:
    """Give thrust and torque of a twist drill by the metric formulas of the handbook.

    work_factor: Work material factor Kd of the handbook; 7000 aluminium and leaded brass, 24 000 steel of
      200 HB (both from memory) [-].
    feed_per_rev_mm: Feed per revolution [mm].
    diameter_mm: Drill diameter [mm].
    chisel_ratio: Chisel edge over diameter, 0.03 (split point) to 0.40; 0.18 for a plain drill [-].
    wear_factor: 1 for a sharp drill, 1.3 for normal wear [-].
    Returns: thrust_n: 0.05 Kd Ff FT B W + 0.007 Kd D^2 J W with Ff = f^0.8 and FT = D^0.8 in millimetres
      [N]. torque_nm: 0.000025 Kd Ff FM A W with FM = D^1.8 in millimetres [Nm].
    Raises ValueError: If an argument is not finite or out of range.

    Note: The constants A, B, J are linear between the rows of the table. The powers 0.8 and 1.8 reproduce
      the handbook's tables of feed and diameter factors.

    >>> [round(value, 2) for value in handbook_drill_load(7000.0, 0.1, 5.0)]
    [309.14, 0.55]

    Source: Machinery's Handbook, 31st ed., pp. 1152-1153, formulas and tables 7 to 9.
    """
    kd = positive("work_factor", work_factor) * positive("wear_factor", wear_factor)
    feed = not_negative("feed_per_rev_mm", feed_per_rev_mm) ** 0.8
    size = positive("diameter_mm", diameter_mm)
    low, high = float(_CHISEL_TABLE[0, 0]), float(_CHISEL_TABLE[-1, 0])
    ratio = between("chisel_ratio", chisel_ratio, low, high)
    a, b, j = (_constant(ratio, column) for column in (1, 2, 3))
    thrust = 0.05 * kd * feed * size**0.8 * b + 0.007 * kd * size**2 * j
    torque = 0.000025 * kd * feed * size**1.8 * a
    return result(thrust), result(torque)


def _constant(ratio: FloatArray, column: int) -> FloatArray:
    return np.asarray(np.interp(ratio, _CHISEL_TABLE[:, 0], _CHISEL_TABLE[:, column]))


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


def peck_count(
    depth_mm: float, diameter_mm: float, first_diameters: float = 2.0, next_diameters: float = 1.0
) -> int:
    """Give how many strokes a hole needs when the first and the following ones have a set depth.

    depth_mm, diameter_mm: Depth of the hole and drill diameter [mm].
    first_diameters, next_diameters: Depth of the first and of each later stroke, in diameters [-].
    Returns: Number of strokes [-].
    Raises ValueError: If an argument is not finite or not positive.

    >>> peck_count(6.0, 3.0), peck_count(15.0, 3.0)
    (1, 4)

    Source: Kennametal Greenfield, technical tips: the first two diameters need no peck; later depths common
      practice.
    """
    depth = float(positive("depth_mm", depth_mm))
    diameter = float(positive("diameter_mm", diameter_mm))
    first = float(positive("first_diameters", first_diameters)) * diameter
    step = float(positive("next_diameters", next_diameters)) * diameter
    return 1 + int(np.ceil(max(depth - first, 0.0) / step - 1e-9))
