"""Numbers as a person sets and reads them: rounded to a sensible step, never with digits that mean nothing.

Feeds, depths and chip loads round *down*, so that rounding never carries a value past a limit.
A missing or undefined value (None, NaN) is shown as ``unknown``. Every function takes the value in the unit
used inside and names the system it is shown in. Part of :mod:`millcalc.units`; import from there.
"""

from __future__ import annotations

import math
from decimal import Decimal
from typing import Final, Literal

System = Literal["mm", "in"]

N_PER_LBF: Final = 0.45359237 * 9.80665  # exact: pound and standard gravity; NIST SP 811, appendix B.8
MM_PER_INCH: Final = 25.4  # exact: international yard and pound agreement, 1959; NIST SP 811, appendix B.8
M_PER_FOOT: Final = 12 * MM_PER_INCH / 1000  # exact, the same agreement
UNKNOWN: Final = "unknown"
# feed below which a step is typed, and the step; below the first, a step in the second digit [mm/min, in/min]
_FEED_STEPS: Final = {
    "mm": ((10.0, 0.1), (20.0, 0.5), (100.0, 1.0), (200.0, 5.0), (500.0, 10.0), (2000.0, 20.0)),
    "in": ((1.0, 0.01), (2.0, 0.05), (10.0, 0.1), (20.0, 0.5)),
}
_WIDEST_FEED_STEP: Final = {"mm": 50.0, "in": 1.0}
_SLACK: Final = 1e-9  # of a step: a value that lies on a step stays there in spite of binary rounding


def _steps_down(value: float, step: float) -> float:
    """Largest whole multiple of `step` that does not pass `value`."""
    return float(math.floor(value / step + _SLACK) * Decimal(str(step)))


def _nearest(value: float, step: float) -> float:
    """The whole multiple of `step` closest to `value`, halves away from zero."""
    whole = math.floor(abs(value) / step + 0.5 + _SLACK)
    return math.copysign(float(whole * Decimal(str(step))), value) if whole else 0.0


def plain(value: float) -> str:
    """A float as the shortest decimal, without exponent and without trailing zeros."""
    text = format(Decimal(repr(value)), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _small_step(value: float) -> float:
    """A step of one in the second significant digit, for values below the usual steps."""
    return float(Decimal(1).scaleb(math.floor(math.log10(value)) - 1))


def feed_to_set_mm_min(
    feed_mm_min: float, units: System = "mm", rounding: Literal["down", "up"] = "down"
) -> float:
    """Round a feed to the step a person would type, no more than a twentieth of it from 2 mm/min on.

    feed_mm_min: Feed [mm/min].
    units: ``mm``: steps of 0.5, 1, 5, 10, 20, 50 mm/min by size; ``in``: steps of 0.05, 0.1, 0.5 or 1 in/min.
    rounding: ``up`` where the feed must not be slower, else ``down``.
    Returns: The rounded feed, never above the given one, or never below it [mm/min].
    Raises ValueError: If the feed is negative or not finite.

    >>> feed_to_set_mm_min(547.3), feed_to_set_mm_min(93.8), feed_to_set_mm_min(93.8, rounding="up")
    (540.0, 93.0, 94.0)
    """
    _require(feed_mm_min, "feed")
    shown = feed_mm_min if units == "mm" else feed_mm_min / MM_PER_INCH
    step = next((step for below, step in _FEED_STEPS[units] if shown < below), _WIDEST_FEED_STEP[units])
    if 0 < shown < _FEED_STEPS[units][0][0]:
        step = _small_step(shown)
    if rounding == "up":
        rounded = -_steps_down(-shown, step)
        return rounded if units == "mm" else max(rounded * MM_PER_INCH, feed_mm_min)
    rounded = _steps_down(shown, step)
    return rounded if units == "mm" else min(rounded * MM_PER_INCH, feed_mm_min)


def depth_to_set_mm(depth_mm: float, units: System = "mm") -> float:
    """Round a depth or width of cut down to the step a person would type.

    depth_mm: Depth or width [mm].
    units: ``mm``: steps of 0.05 mm, below 0.5 mm of 0.01 mm; ``in``: 0.002 in, below 0.5 mm 0.0005 in.
    Returns: The rounded depth, never above the given one [mm].
    Raises ValueError: If the depth is negative or not finite.

    >>> depth_to_set_mm(0.487), depth_to_set_mm(0.187)
    (0.48, 0.18)
    """
    _require(depth_mm, "depth")
    fine = depth_mm < 0.5 * (1 - _SLACK)  # under a point the cut goes with the square of its depth
    if units == "mm":
        shown, step = depth_mm, 0.01 if fine else 0.05
    else:
        shown, step = depth_mm / MM_PER_INCH, 0.0005 if fine else 0.002
    if 0 < shown < step:
        step = _small_step(shown)
    rounded = _steps_down(shown, step)
    return rounded if units == "mm" else min(rounded * MM_PER_INCH, depth_mm)


def speed_to_set_rpm(speed_rpm: float, rounding: Literal["down", "nearest", "up"] = "nearest") -> float:
    """Round a spindle speed to 100 rev/min, below 10 000 to 10 rev/min, below 100 to 1 rev/min.

    speed_rpm: Spindle speed [rev/min].
    rounding: ``down`` where an upper limit governs, ``up`` where a lower one does, else ``nearest``.
    Returns: The rounded speed [rev/min].
    Raises ValueError: If the speed is negative or not finite.
    """
    _require(speed_rpm, "spindle speed")
    step = 100.0 if speed_rpm >= 10_000 else 10.0 if speed_rpm >= 100 else 1.0
    if rounding == "nearest":
        return _nearest(speed_rpm, step)
    if rounding == "down":
        return _steps_down(speed_rpm, step)
    return -float(math.floor(-speed_rpm / step + _SLACK) * Decimal(str(step)))


def _require(value: float, what: str) -> None:
    """Refuse a value that cannot be rounded to something a person sets."""
    if not math.isfinite(value) or value < 0:
        raise ValueError(f"{what}: found {value}; a finite number not below zero is needed")


def show_number(value: float | None, digits: int = 2) -> str:
    """A bare number to so many significant digits, nearest, without exponent.

    value: The number, in whatever unit the caller writes after it [-].
    digits: Significant digits [-].
    Returns: ``34``, ``0.012``, ``1200`` or ``unknown``.

    >>> show_number(33.71), show_number(0.01234), show_number(1234.0)
    ('34', '0.012', '1200')
    """
    if value is None or not math.isfinite(value):
        return UNKNOWN
    if value == 0:
        return "0"
    exponent = math.floor(math.log10(abs(value))) - (digits - 1)
    return plain(float(round(Decimal(repr(float(value))), -exponent)))


def show_length(value_mm: float | None, units: System = "mm", step: float | None = None) -> str:
    """A length or coordinate to the nearest step, with its unit.

    value_mm: Length [mm].
    units: ``mm`` or ``in``.
    step: Step in the shown unit; None takes 0.01 mm or 0.0005 in (0.001 in from 1 in on), as fine as a
      router's zero is.
    Returns: ``6.35 mm``, ``0.25 in`` or ``unknown``.

    >>> show_length(6.35, "in"), show_length(-0.30000001)
    ('0.25 in', '-0.3 mm')
    """
    if value_mm is None or not math.isfinite(value_mm):
        return UNKNOWN
    shown = value_mm if units == "mm" else value_mm / MM_PER_INCH
    usual = 0.01 if units == "mm" else 0.0005 if abs(shown) < 1 else 0.001
    return f"{plain(_nearest(shown, step or usual))} {units}"


def show_depth(value_mm: float | None, units: System = "mm") -> str:
    """A depth or width of cut to set, rounded down by :func:`depth_to_set_mm`, with its unit.

    value_mm: Depth [mm].
    units: ``mm`` or ``in``.
    Returns: ``0.48 mm``, ``0.019 in`` or ``unknown``.
    Raises ValueError: If the depth is negative.
    """
    if value_mm is None or not math.isfinite(value_mm):
        return UNKNOWN
    rounded = depth_to_set_mm(value_mm, units)
    return f"{plain(_tidy(rounded, units))} {units}"


def show_feed(value_mm_min: float | None, units: System = "mm") -> str:
    """A feed to set, rounded down by :func:`feed_to_set_mm_min`, with its unit.

    value_mm_min: Feed [mm/min].
    units: ``mm`` or ``in``.
    Returns: ``540 mm/min``, ``21 in/min`` or ``unknown``.
    Raises ValueError: If the feed is negative.

    >>> show_feed(547.3), show_feed(547.3, "in")
    ('540 mm/min', '21 in/min')
    """
    if value_mm_min is None or not math.isfinite(value_mm_min):
        return UNKNOWN
    rounded = feed_to_set_mm_min(value_mm_min, units)
    return f"{plain(_tidy(rounded, units))} {units}/min"


def show_feed_as_is(value_mm_min: float | None, units: System = "mm") -> str:
    """A feed that was given or read, to the nearest 1 mm/min or 0.1 in/min, with its unit.

    value_mm_min: Feed [mm/min].
    units: ``mm`` or ``in``.
    Returns: ``347 mm/min``, ``13.7 in/min`` or ``unknown``; three digits below twenty steps.

    Note: Shows what :func:`feed_to_set_mm_min` gives without change.

    >>> show_feed_as_is(347.2), show_feed_as_is(347.2, "in"), show_feed_as_is(3.456)
    ('347 mm/min', '13.7 in/min', '3.46 mm/min')
    """
    if value_mm_min is None or not math.isfinite(value_mm_min):
        return UNKNOWN
    shown, step = (value_mm_min, 1.0) if units == "mm" else (value_mm_min / MM_PER_INCH, 0.1)
    text = show_number(shown, 3) if abs(shown) < 20 * step else plain(_nearest(shown, step))
    return f"{text} {units}/min"


def show_chip_load(value_mm: float | None, units: System = "mm") -> str:
    """A feed per tooth to the nearest 0.001 mm or 0.0001 in, with its unit.

    value_mm: Feed per tooth [mm].
    units: ``mm`` or ``in``.
    Returns: ``0.03 mm/tooth``, ``0.0011 in/tooth`` or ``unknown``; two digits where it is smaller than the
      step, ``under 0.0001 mm/tooth`` where it is smaller than a tenth of it.
    Raises ValueError: If the chip load is negative.
    """
    if value_mm is None or not math.isfinite(value_mm):
        return UNKNOWN
    _require(value_mm, "chip load")
    shown, step = (value_mm, 0.001) if units == "mm" else (value_mm / MM_PER_INCH, 0.0001)
    if 0 < shown < step / 10:
        return f"under {plain(step / 10)} {units}/tooth"
    if 0 < shown < step:
        step = _small_step(shown)
    return f"{plain(_nearest(shown, step))} {units}/tooth"


def show_chip(value_mm: float | None, units: System = "mm") -> str:
    """A chip thickness to the nearest 0.001 mm or 0.0001 in, with its unit.

    value_mm: Chip thickness [mm].
    units: ``mm`` or ``in``.
    Returns: ``0.03 mm``, ``0.0011 in`` or ``unknown``.
    Raises ValueError: If the chip thickness is negative.
    """
    return show_chip_load(value_mm, units).removesuffix("/tooth")


def show_speed(value_rpm: float | None) -> str:
    """A spindle speed, rounded by :func:`speed_to_set_rpm`, with its unit.

    value_rpm: Spindle speed [rev/min].
    Returns: ``18300 rpm`` or ``unknown``.
    Raises ValueError: If the speed is negative.
    """
    if value_rpm is None or not math.isfinite(value_rpm):
        return UNKNOWN
    return f"{plain(speed_to_set_rpm(value_rpm))} rpm"


def show_cutting_speed(value_m_min: float | None, units: System = "mm") -> str:
    """A cutting speed to two significant digits, with its unit.

    value_m_min: Cutting speed [m/min].
    units: ``mm`` shows m/min, ``in`` shows sfm, surface feet a minute.
    Returns: ``340 m/min``, ``1100 sfm`` or ``unknown``.
    """
    if value_m_min is None or not math.isfinite(value_m_min):
        return UNKNOWN
    if units == "mm":
        return f"{show_number(value_m_min)} m/min"
    return f"{show_number(value_m_min / M_PER_FOOT)} sfm"


def show_angle(value_deg: float | None) -> str:
    """An angle to 0.1 degree below 10 degrees, else to 1 degree, with its unit.

    value_deg: Angle [deg].
    Returns: ``2.5 deg`` or ``unknown``.
    """
    if value_deg is None or not math.isfinite(value_deg):
        return UNKNOWN
    return f"{plain(_nearest(value_deg, 0.1 if abs(value_deg) < 10 else 1.0))} deg"


def show_force(value_n: float | None, units: System = "mm") -> str:
    """A force to two significant digits, with its unit; published coefficients carry no more.

    value_n: Force [N].
    units: ``mm`` shows N, ``in`` shows lbf.
    Returns: ``34 N``, ``7.6 lbf`` or ``unknown``.
    """
    if value_n is None or not math.isfinite(value_n):
        return UNKNOWN
    if units == "mm":
        return f"{show_number(value_n)} N"
    return f"{show_number(value_n / N_PER_LBF)} lbf"


def show_power(value_w: float | None, units: System = "mm") -> str:
    """A power to two significant digits, with its unit.

    value_w: Power [W].
    units: ``mm`` shows W, ``in`` shows hp.
    Returns: ``45 W``, ``0.06 hp`` or ``unknown``.
    """
    if value_w is None or not math.isfinite(value_w):
        return UNKNOWN
    if units == "mm":
        return f"{show_number(value_w)} W"
    return f"{show_number(value_w / 745.6999)} hp"  # NIST SP 811, appendix B.8: 550 ft lbf/s


def show_stiffness(value_n_um: float, units: System = "mm") -> str:
    """A stiffness to two significant digits, with its unit.

    value_n_um: Stiffness [N/um].
    units: ``mm`` shows N/µm, ``in`` shows lbf/thou.
    Returns: ``0.54 N/µm`` or ``3.1 lbf/thou``.
    """
    if units == "mm":
        return f"{show_number(value_n_um)} N/µm"
    return f"{show_number(value_n_um / N_PER_LBF * MM_PER_INCH)} lbf/thou"


def show_small(value_mm: float, units: System) -> str:
    """A deflection as shown: micrometres, or thousandths of an inch.

    value_mm: Deflection [mm].
    units: ``mm`` or ``in``.
    Returns: Two digits and the unit.
    """
    if units == "mm":
        return f"{show_number(1000 * value_mm)} µm"
    return f"{show_number(1000 * value_mm / MM_PER_INCH)} thou"


def show_removal(value_cm3_min: float, units: System = "mm") -> str:
    """A removal rate to two significant digits, with its unit.

    value_cm3_min: Removal rate [cm3/min].
    units: ``mm`` shows cm³/min, ``in`` shows in³/min.
    Returns: ``2 cm³/min`` or ``0.12 in³/min``.
    """
    if units == "mm":
        return f"{show_number(value_cm3_min)} cm³/min"
    return f"{show_number(value_cm3_min / (MM_PER_INCH / 10) ** 3)} in³/min"


def _tidy(value_mm: float, units: System) -> float:
    """The shown number of a value that was already rounded in `units`, free of binary dust."""
    return value_mm if units == "mm" else round(value_mm / MM_PER_INCH, 9)
