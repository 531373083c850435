"""How long a volume of chips takes, for the volume that a person counts in."""

from __future__ import annotations

from typing import Final

from millcalc.units_show import MM_PER_INCH, System

_CM3: Final = {"mm": 1.0, "in": (MM_PER_INCH / 10) ** 3}
VOLUME: Final = {"mm": "cm³", "in": "in³"}
VOLUME_WORDS: Final = {"mm": "a cubic centimetre", "in": "a cubic inch"}


def volume_time_s(time_s_cm3: float, units: System) -> float:
    """Time for the volume of :data:`VOLUME`.

    time_s_cm3: Time for each cubic centimetre [s/cm3].
    units: ``mm`` or ``in``.
    Returns: Time [s].

    >>> round(volume_time_s(10.0, "in"), 2)
    163.87
    """
    return time_s_cm3 * _CM3[units]
