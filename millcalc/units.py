"""The only place that converts units: what a person writes to numbers inside, and back to what is shown.

Inside everything is mm, mm/min, rev/min, degrees, N, W. A text may carry its own unit (``"1/4 in"``); a bare
number takes the unit the caller names. Shown numbers are rounded the way a person sets a machine: feeds and
depths *down* to a sensible step, so that rounding never passes a limit, and never with meaningless digits.

Takes texts and numbers, gives numbers and texts; imports the standard library only.
"""

from __future__ import annotations

from millcalc import quantity as q
from millcalc.units_beside import show_chips, show_cutting_speeds, show_edge_speed, show_forces
from millcalc.units_show import (
    MM_PER_INCH,
    System,
    depth_to_set_mm,
    feed_to_set_mm_min,
    show_angle,
    show_chip,
    show_chip_load,
    show_cutting_speed,
    show_depth,
    show_feed,
    show_feed_as_is,
    show_force,
    show_length,
    show_number,
    show_power,
    show_removal,
    show_speed,
    speed_to_set_rpm,
)

__all__ = [
    "MM_PER_INCH",
    "System",
    "acceleration_mm_s2",
    "angle_deg",
    "area_mm2",
    "chip_load_mm",
    "cutting_speed_m_min",
    "density_kg_m3",
    "depth_to_set_mm",
    "feed_mm_min",
    "feed_to_set_mm_min",
    "force_n",
    "length_mm",
    "mass_kg",
    "power_w",
    "show_angle",
    "show_chip",
    "show_chip_load",
    "show_chips",
    "show_cutting_speed",
    "show_cutting_speeds",
    "show_depth",
    "show_edge_speed",
    "show_feed",
    "show_feed_as_is",
    "show_force",
    "show_forces",
    "show_length",
    "show_number",
    "show_power",
    "show_removal",
    "show_speed",
    "speed_rpm",
    "speed_to_set_rpm",
    "stress_n_mm2",
    "time_s",
]


def length_mm(value: object, default: str = "mm", *, negative: bool = False, what: str = "length") -> float:
    """Read a length.

    value: ``6``, ``"6 mm"``, ``"1/4 in"``, ``'1 1/2"'``, ``"0.002 in"``.
    default: Unit of a bare number.
    negative: Whether a value below zero is accepted, as for a coordinate.
    what: Name of the quantity in the error text.
    Returns: Length [mm].
    Raises ValueError: If it is empty, not a number, not finite, below zero, or has an unknown unit.

    >>> length_mm("1/4 in")
    6.35
    >>> length_mm(6)
    6.0
    """
    return q.read_quantity(value, q.LENGTH, default, what, '"6 mm" or "1/4 in"', negative)


def chip_load_mm(value: object, default: str = "mm", *, what: str = "chip load") -> float:
    """Read a feed per tooth.

    value: ``0.03``, ``"0.03 mm/tooth"``, ``"0.001 in"``.
    default: Unit of a bare number.
    what: Name of the quantity in the error text.
    Returns: Feed per tooth [mm].
    Raises ValueError: As for :func:`length_mm`.
    """
    return q.read_quantity(value, q.CHIP_LOAD, default, what, '"0.03 mm" or "0.001 in"', False)


def feed_mm_min(value: object, default: str = "mm/min", *, what: str = "feed") -> float:
    """Read a feed.

    value: ``900``, ``"900 mm/min"``, ``"35 in/min"``, ``"15 mm/s"``.
    default: Unit of a bare number.
    what: Name of the quantity in the error text.
    Returns: Feed [mm/min].
    Raises ValueError: As for :func:`length_mm`.

    >>> feed_mm_min("35 in/min")
    889.0
    >>> feed_mm_min("15 mm/s")
    900.0
    """
    return q.read_quantity(value, q.FEED, default, what, '"900 mm/min" or "35 in/min"', False)


def speed_rpm(value: object, *, what: str = "spindle speed") -> float:
    """Read a spindle speed; a bare number is rev/min.

    value: ``12000``, ``"12000 rpm"``, ``"12 000 1/min"``.
    what: Name of the quantity in the error text.
    Returns: Speed [rev/min].
    Raises ValueError: As for :func:`length_mm`.
    """
    return q.read_quantity(value, q.SPEED, "rpm", what, '"12000 rpm"', False)


def cutting_speed_m_min(value: object, default: str = "m/min", *, what: str = "cutting speed") -> float:
    """Read a cutting speed.

    value: ``300``, ``"300 m/min"``, ``"1000 ft/min"``.
    default: Unit of a bare number.
    what: Name of the quantity in the error text.
    Returns: Cutting speed [m/min].
    Raises ValueError: As for :func:`length_mm`.
    """
    return q.read_quantity(value, q.CUTTING_SPEED, default, what, '"300 m/min" or "1000 ft/min"', False)


def angle_deg(value: object, default: str = "deg", *, negative: bool = False, what: str = "angle") -> float:
    """Read an angle.

    value: ``3``, ``"3 deg"``, ``"0.05 rad"``.
    default: Unit of a bare number.
    negative: Whether a value below zero is accepted.
    what: Name of the quantity in the error text.
    Returns: Angle [deg].
    Raises ValueError: As for :func:`length_mm`.
    """
    return q.read_quantity(value, q.ANGLE, default, what, '"3 deg"', negative)


def mass_kg(value: object, default: str = "kg", *, what: str = "mass") -> float:
    """Read a mass.

    value: ``"2.5 kg"``, ``"800 g"``, ``"5 lb"``.
    default: Unit of a bare number.
    what: Name of the quantity in the error text.
    Returns: Mass [kg].
    Raises ValueError: As for :func:`length_mm`.
    """
    return q.read_quantity(value, q.MASS, default, what, '"2.5 kg"', False)


def force_n(value: object, default: str = "n", *, what: str = "force") -> float:
    """Read a force; kg and lb are what a hanging scale shows, under standard gravity.

    value: ``"40 N"``, ``"2.5 kg"``, ``"5 lbf"``.
    default: Unit of a bare number, in small letters.
    what: Name of the quantity in the error text.
    Returns: Force [N].
    Raises ValueError: As for :func:`length_mm`.

    >>> round(force_n("2.5 kg"), 2)
    24.52
    """
    return q.read_quantity(value, q.FORCE, default, what, '"40 N" or "4 kg"', False)


def area_mm2(value: object, default: str = "mm2", *, what: str = "area") -> float:
    """Read an area.

    value: ``"60 cm2"``, ``"9 in2"``.
    default: Unit of a bare number.
    what: Name of the quantity in the error text.
    Returns: Area [mm2].
    Raises ValueError: As for :func:`length_mm`.
    """
    return q.read_quantity(value, q.AREA, default, what, '"60 cm2"', False)


def stress_n_mm2(value: object, default: str = "n/mm2", *, what: str = "pressure") -> float:
    """Read a pressure or a shear strength.

    value: ``"80 kPa"``, ``"0.8 bar"``, ``"12 psi"``, ``"0.05 N/mm2"``.
    default: Unit of a bare number, in small letters.
    what: Name of the quantity in the error text.
    Returns: Pressure or stress [N/mm2].
    Raises ValueError: As for :func:`length_mm`.

    >>> stress_n_mm2("80 kPa")
    0.08
    """
    return q.read_quantity(value, q.STRESS, default, what, '"80 kPa"', False)


def time_s(value: object, default: str = "s", *, what: str = "time") -> float:
    """Read a duration.

    value: ``"3 s"``, ``"500 ms"``, ``"20 min"``.
    default: Unit of a bare number.
    what: Name of the quantity in the error text.
    Returns: Duration [s].
    Raises ValueError: As for :func:`length_mm`.
    """
    return q.read_quantity(value, q.TIME, default, what, '"3 s"', False)


def power_w(value: object, default: str = "w", *, what: str = "power") -> float:
    """Read a power.

    value: ``"800 W"``, ``"1.5 kW"``, ``"2 hp"``.
    default: Unit of a bare number, in small letters.
    what: Name of the quantity in the error text.
    Returns: Power [W].
    Raises ValueError: As for :func:`length_mm`.
    """
    return q.read_quantity(value, q.POWER, default, what, '"800 W" or "1.5 kW"', False)


def acceleration_mm_s2(value: object, default: str = "mm/s2", *, what: str = "acceleration") -> float:
    """Read an acceleration.

    value: ``"300 mm/s2"``, ``"0.3 m/s2"``.
    default: Unit of a bare number.
    what: Name of the quantity in the error text.
    Returns: Acceleration [mm/s2].
    Raises ValueError: As for :func:`length_mm`.
    """
    return q.read_quantity(value, q.ACCELERATION, default, what, '"300 mm/s2"', False)


def density_kg_m3(value: object, default: str = "kg/m3", *, what: str = "density") -> float:
    """Read a density.

    value: ``"720 kg/m3"``, ``"2.7 g/cm3"``.
    default: Unit of a bare number.
    what: Name of the quantity in the error text.
    Returns: Density [kg/m3].
    Raises ValueError: As for :func:`length_mm`.
    """
    return q.read_quantity(value, q.DENSITY, default, what, '"720 kg/m3"', False)
