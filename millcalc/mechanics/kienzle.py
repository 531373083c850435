"""Specific cutting force, power and torque after Kienzle.

Kienzle fits were made on chips of about 0.05 to 1 mm. Below that they are extrapolated and run high against
milling data (about 1.6 to 1.9 times at 0.02 mm in aluminium): the safe side for power, too much for deflection.
"""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import Numbers, Result, between, finite, not_negative, positive, result, whole
from millcalc.mechanics.unit_power import unit_power_w as unit_power_w

FIT_LOW_MM = 0.05
"""Thinnest chip of the usual Kienzle fits [mm]; below it the value is an extrapolation (high side)."""
FIT_HIGH_MM = 1.0
"""Thickest chip of the usual Kienzle fits [mm]."""


def specific_force_n_mm2(
    kc11_n_mm2: Numbers, mc: Numbers, chip_mm: Numbers, cap_mm: Numbers | None = None
) -> Result:
    """Give the specific cutting force at a chip thickness: kc = kc1.1 h^(-mc).

    kc11_n_mm2: Specific force kc1.1 at a chip 1 mm thick and 1 mm wide [N/mm2].
    mc: Exponent; 0 for a constant specific force [-].
    chip_mm: Chip thickness h [mm].
    cap_mm: Chip thickness below which the value is held; None to extrapolate on [mm].
    Returns: Specific cutting force kc, numerically also the energy in mJ/mm3 [N/mm2].
    Raises ValueError: If an argument is not finite or not positive, or the exponent is outside 0 to 0.95.

    Note: Valid from about 0.05 to 1 mm; see :func:`is_extrapolated`. Sharp edge, reference rake.

    >>> round(specific_force_n_mm2(1350.0, 0.21, 0.1))
    2189

    Source: O. Kienzle, VDI-Z 94 (1952) 299 (from memory); form as printed by Dijet, catalogue 2018, p. F007
      and Sandvik Coromant, page on specific cutting force.
    """
    exponent = between("mc", mc, 0.0, 0.95)
    chip = positive("chip_mm", chip_mm)
    if cap_mm is not None:
        chip = np.maximum(chip, positive("cap_mm", cap_mm))
    return result(positive("kc11_n_mm2", kc11_n_mm2) * chip**-exponent)


def is_extrapolated(chip_mm: Numbers) -> Result:
    """Tell whether a chip lies outside the range in which Kienzle values are usually measured.

    chip_mm: Chip thickness h [mm].
    Returns: True below 0.05 mm or above 1 mm.
    Raises ValueError: If the thickness is not finite or not positive.

    >>> is_extrapolated(0.02), is_extrapolated(0.2)
    (True, False)

    Source: Range: estimate from the tables compared in this project; see the module's note.
    """
    chip = positive("chip_mm", chip_mm)
    outside = (chip < FIT_LOW_MM) | (chip > FIT_HIGH_MM)
    return bool(outside) if outside.ndim == 0 else outside


def rake_factor(rake_deg: Numbers, reference_rake_deg: Numbers = 0.0) -> Result:
    """Give the correction of the specific force for another rake: 1 - (rake - reference) / 66.7.

    rake_deg, reference_rake_deg: Rake of the cutter, and the rake for which kc1.1 was measured [deg].
    Returns: Factor on the specific force [-].
    Raises ValueError: If an argument is not finite, or the two differ by more than 30 deg (outside the
      rule).

    >>> round(rake_factor(10.0), 2)
    0.85

    Source: H. Tschaetsch, Praxis der Zerspantechnik (from memory): 1.5 % a degree.
    """
    difference = finite("rake_deg", rake_deg) - finite("reference_rake_deg", reference_rake_deg)
    return result(1.0 - between("rake_deg minus reference_rake_deg", difference, -30.0, 30.0) / 66.7)


def cutting_power_w(
    specific_force_n_mm2: Numbers, axial_depth_mm: Numbers, radial_width_mm: Numbers, feed_mm_min: Numbers
) -> Result:
    """Give the power at the cutting edges: P = kc ap ae vf / 60000.

    specific_force_n_mm2: Specific cutting force kc at the mean chip [N/mm2].
    axial_depth_mm, radial_width_mm: Axial depth ap and radial width ae [mm].
    feed_mm_min: Feed vf [mm/min].
    Returns: Power at the edges; divide by an efficiency for the power drawn [W].
    Raises ValueError: If an argument is not finite, or out of range.

    >>> round(cutting_power_w(2152.0, 1.0, 6.0, 540.0))
    116

    Source: Dormer Pramet, milling catalogue 2021-22, p. 783; Dijet, catalogue 2018, p. F007.
    """
    depth = not_negative("axial_depth_mm", axial_depth_mm)
    width = not_negative("radial_width_mm", radial_width_mm)
    rate = depth * width * not_negative("feed_mm_min", feed_mm_min)
    return result(positive("specific_force_n_mm2", specific_force_n_mm2) * rate / 60000.0)


def drive_power_w(power_w: Numbers, efficiency: Numbers) -> Result:
    """Give the power a drive takes in to deliver a power: P / efficiency.

    power_w: Power delivered [W].
    efficiency: Share that arrives, above 0 and at most 1 [-].
    Returns: Power taken in [W].
    Raises ValueError: If an argument is not finite or out of range.

    >>> drive_power_w(300.0, 0.75)
    400.0

    Source: Dormer Pramet, milling catalogue 2021-22, p. 783 (efficiency usually 0.75).
    """
    share = between("efficiency", efficiency, 0.0, 1.0, open_low=True)
    return result(not_negative("power_w", power_w) / share)


def torque_nm(power_w: Numbers, speed_rpm: Numbers) -> Result:
    """Give the torque of a power at a speed: T = 60 P / (2 pi n).

    power_w: Power [W].
    speed_rpm: Spindle speed n [rev/min].
    Returns: Torque [Nm].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(torque_nm(7500.0, 100.0))
    716

    Source: Definition of power.
    """
    return result(60.0 * not_negative("power_w", power_w) / (2.0 * np.pi * positive("speed_rpm", speed_rpm)))


def mean_tangential_n(
    specific_force_n_mm2: Numbers,
    axial_depth_mm: Numbers,
    radial_width_mm: Numbers,
    feed_per_tooth_mm: Numbers,
    flutes: Numbers,
    diameter_mm: Numbers,
) -> Result:
    """Give the tangential force averaged over a turn: kc z ap ae fz / (pi D).

    specific_force_n_mm2: Specific cutting force kc at the mean chip [N/mm2].
    axial_depth_mm, radial_width_mm: Axial depth ap and radial width ae [mm].
    feed_per_tooth_mm: Feed per tooth fz [mm].
    flutes: Number of teeth z [-].
    diameter_mm: Cutter diameter D [mm].
    Returns: Mean tangential force, all teeth together [N].
    Raises ValueError: If an argument is not finite or out of range.

    Note: Equals the cutting power over the cutting speed.

    >>> round(mean_tangential_n(2152.0, 1.0, 6.0, 0.03, 1, 6.0), 1)
    20.6

    Source: Follows from P = kc Q and P = F vc.
    """
    area = not_negative("axial_depth_mm", axial_depth_mm) * not_negative("radial_width_mm", radial_width_mm)
    feed = whole("flutes", flutes) * not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    kc = positive("specific_force_n_mm2", specific_force_n_mm2)
    return result(kc * area * feed / (np.pi * positive("diameter_mm", diameter_mm)))


def tooth_tangential_n(specific_force_n_mm2: Numbers, axial_depth_mm: Numbers, chip_mm: Numbers) -> Result:
    """Give the tangential force on one tooth at a chip thickness: Ft = kc ap h.

    specific_force_n_mm2: Specific cutting force kc at that chip [N/mm2].
    axial_depth_mm: Axial depth ap [mm].
    chip_mm: Chip thickness h [mm].
    Returns: Tangential force on the tooth, straight edge [N].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(tooth_tangential_n(specific_force_n_mm2(800.0, 0.25, 0.03), 1.0, 0.03), 1)
    57.7

    Source: O. Kienzle, VDI-Z 94 (1952) 299 (from memory).
    """
    kc = positive("specific_force_n_mm2", specific_force_n_mm2)
    return result(kc * not_negative("axial_depth_mm", axial_depth_mm) * not_negative("chip_mm", chip_mm))


def teeth_in_cut(flutes: Numbers, engagement_rad: Numbers) -> Result:
    """Give the average number of teeth in the cut: z phi / (2 pi).

    flutes: Number of teeth z [-].
    engagement_rad: Engagement angle phi [rad].
    Returns: Average number of teeth in the cut, straight flutes [-].
    Raises ValueError: If an argument is not finite or out of range.

    >>> teeth_in_cut(2, np.pi)
    1.0

    Source: T. L. Schmitz, K. S. Smith, Machining Dynamics (from memory).
    """
    angle = between("engagement_rad", engagement_rad, 0.0, 2.0 * np.pi)
    return result(whole("flutes", flutes) * angle / (2.0 * np.pi))
