"""Several numbers of one kind beside each other, in words that differ where the numbers do.

Part of :mod:`millcalc.units`; import from there.
"""

from __future__ import annotations

from millcalc.units_show import (
    M_PER_FOOT,
    MM_PER_INCH,
    N_PER_LBF,
    System,
    plain,
    show_chip,
    show_cutting_speed,
    show_force,
)


def show_chips(one_mm: float, other_mm: float, units: System = "mm") -> tuple[str, str]:
    """Two different chip thicknesses in words that differ: with more digits where two hide the difference.

    one_mm, other_mm: Chip thicknesses [mm].
    units: ``mm`` or ``in``.
    Returns: Both, each with its unit.

    >>> show_chips(0.0049, 0.0053)
    ('0.0049 mm', '0.0053 mm')
    """
    scale = 1.0 if units == "mm" else MM_PER_INCH
    return _apart(
        show_chip(one_mm, units), show_chip(other_mm, units), one_mm / scale, other_mm / scale, units
    )


def show_cutting_speeds(one_m_min: float, other_m_min: float, units: System = "mm") -> tuple[str, str]:
    """Two different cutting speeds in words that differ: with more digits where two hide the difference.

    one_m_min, other_m_min: Cutting speeds [m/min].
    units: ``mm`` shows m/min, ``in`` shows sfm.
    Returns: Both, each with its unit.

    >>> show_cutting_speeds(184.0, 180.0)
    ('184 m/min', '180 m/min')
    """
    scale, unit = (1.0, "m/min") if units == "mm" else (M_PER_FOOT, "sfm")
    shown = show_cutting_speed(one_m_min, units), show_cutting_speed(other_m_min, units)
    return _apart(*shown, one_m_min / scale, other_m_min / scale, unit)


def show_forces(one_n: float, other_n: float, units: System = "mm") -> tuple[str, str]:
    """Two different forces in words that differ: with more digits where two hide the difference.

    one_n, other_n: Forces [N].
    units: ``mm`` shows N, ``in`` shows lbf.
    Returns: Both, each with its unit.

    >>> show_forces(87.4, 86.9)
    ('87.4 N', '86.9 N')
    """
    scale, unit = (1.0, "N") if units == "mm" else (N_PER_LBF, "lbf")
    return _apart(show_force(one_n, units), show_force(other_n, units), one_n / scale, other_n / scale, unit)


def show_edge_speed(speed_m_min: float, low_m_min: float, high_m_min: float, units: System = "mm") -> str:
    """A cutting speed beside the band of the material, in one phrase.

    speed_m_min, low_m_min, high_m_min: Cutting speed and the ends of the band [m/min].
    units: ``mm`` shows m/min, ``in`` shows sfm.
    Returns: The phrase.

    >>> show_edge_speed(249.0, 100.0, 550.0)
    '250 m/min at the edge (band 100 m/min to 550 m/min)'
    """
    at, low, high = (show_cutting_speed(value, units) for value in (speed_m_min, low_m_min, high_m_min))
    return f"{at} at the edge (band {low} to {high})"


def _apart(one_shown: str, other_shown: str, one: float, other: float, unit: str) -> tuple[str, str]:
    """Two values as shown; where unequal ones are shown alike, with the fewest digits that tell them apart."""
    if one_shown != other_shown or one == other:
        return one_shown, other_shown
    for digits in range(2, 9):
        near, far = (f"{plain(float(f'{value:.{digits}g}'))} {unit}" for value in (one, other))
        if near != far:
            return near, far
    return one_shown, other_shown
