"""Power by the unit-power form of handbooks and by the rule of thumb of catalogues."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import Numbers, Result, between, not_negative, positive, result


def unit_power_w(
    unit_power_j_mm3: Numbers,
    removal_rate_mm3_min: Numbers,
    feed_factor: Numbers = 1.0,
    wear_factor: Numbers = 1.0,
    efficiency: Numbers = 1.0,
) -> Result:
    """Give the power by the unit-power form of handbooks: P = Kp C Q W / E.

    unit_power_j_mm3: Power constant Kp, the same number as in kW per cm3/s [J/mm3].
    removal_rate_mm3_min: Removal rate Q [mm3/min].
    feed_factor, wear_factor: Factors C for the feed and W for a worn edge [-].
    efficiency: Efficiency E of the drive; 1 for the power at the edges [-].
    Returns: Power at the motor, or at the edges with E = 1 [W].
    Raises ValueError: If an argument is not finite or out of range.

    >>> unit_power_w(3.0, 150_000.0)
    7500.0

    Source: Machinery's Handbook, 31st ed., p. 1147, table 1b (constants); factors of tables 2 to 4 from
      memory.
    """
    kp = positive("unit_power_j_mm3", unit_power_j_mm3)
    rate = not_negative("removal_rate_mm3_min", removal_rate_mm3_min) / 60.0
    factors = positive("feed_factor", feed_factor) * positive("wear_factor", wear_factor)
    return result(kp * factors * rate / between("efficiency", efficiency, 0.0, 1.0, open_low=True))


_FEED_FACTORS = (  # feed per tooth [mm], factor C [-]; Machinery's Handbook, table 2, from memory
    (0.02, 0.05, 0.07, 0.10, 0.12, 0.15, 0.18, 0.20, 0.25, 0.30, 0.40, 0.50),
    (1.70, 1.40, 1.30, 1.25, 1.20, 1.15, 1.11, 1.08, 1.04, 1.00, 0.94, 0.90),
)


def unit_power_feed_factor(feed_per_tooth_mm: Numbers) -> Result:
    """Give the factor C of the unit-power form for a feed per tooth, linear between table rows.

    feed_per_tooth_mm: Feed per tooth [mm].
    Returns: Factor C [-].
    Raises ValueError: If the feed is outside the table, 0.02 to 0.50 mm.

    >>> unit_power_feed_factor(0.10)
    1.25

    Source: Machinery's Handbook, table 2 of the chapter on estimating power (from memory).
    """
    feed = between("feed_per_tooth_mm", feed_per_tooth_mm, _FEED_FACTORS[0][0], _FEED_FACTORS[0][-1])
    return result(np.interp(feed, *_FEED_FACTORS))


def approximate_power_w(
    axial_depth_mm: Numbers, radial_width_mm: Numbers, feed_mm_min: Numbers, divisor: Numbers
) -> Result:
    """Give the machine power by the catalogue rule P[kW] = ap ae vf / x.

    axial_depth_mm, radial_width_mm: Axial depth ap and radial width ae [mm].
    feed_mm_min: Feed vf [mm/min].
    divisor: Divisor x of the material: 120 000 aluminium, 30 000 cast iron, 24 000 steel [mm3/(kW min)].
    Returns: Machine power, losses included [W].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(approximate_power_w(2.0, 10.0, 1000.0, 120_000.0))
    167

    Source: Dormer Pramet, milling catalogue 2021-22, p. 783.
    """
    area = not_negative("axial_depth_mm", axial_depth_mm) * not_negative("radial_width_mm", radial_width_mm)
    rate = area * not_negative("feed_mm_min", feed_mm_min)
    return result(1000.0 * rate / positive("divisor", divisor))
