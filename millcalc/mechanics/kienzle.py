"""Specific cutting force, power and torque after Kienzle.

Kienzle fits were made on chips of about 0.05 to 1 mm. Below that they are extrapolated and run high against
milling data (about 1.6 to 1.9 times at 0.02 mm in aluminium): the safe side for power, too much for deflection.
"""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import Numbers, Result, between, not_negative, positive, result


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

    Source: O. Kienzle, VDI-Z 94 (1952) 299 (from memory); form as printed in a tool maker's catalogue,
      2018, p. F007, https://docs.steelcam.org/dijet/obshij-katalog-dijet-2018-page551
    """
    exponent = between("mc", mc, 0.0, 0.95)
    chip = positive("chip_mm", chip_mm)
    if cap_mm is not None:
        chip = np.maximum(chip, positive("cap_mm", cap_mm))
    return result(positive("kc11_n_mm2", kc11_n_mm2) * chip**-exponent)


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
