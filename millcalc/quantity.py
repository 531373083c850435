"""A quantity as a person writes it, split into its amount and its unit. Part of :mod:`millcalc.units`.

Amounts are exact fractions until the last step, so ``1/4 in`` is exactly 6.35 mm. A decimal comma, a fraction
without a unit, an unknown unit, a value below zero, NaN and infinity are refused; the text says
what to write.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction
from numbers import Real
from typing import Final

_INCH: Final = Fraction(
    "25.4"
)  # exact: international yard and pound agreement, 1959; NIST SP 811, appendix B.8
_POUND_KG: Final = Fraction("0.45359237")  # exact: NIST SP 811, appendix B.8
_GRAVITY_M_S2: Final = Fraction("9.80665")  # exact by definition: CGPM 1901, NIST SP 811, appendix B.8

LENGTH: Final = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "um": Fraction(1, 1000),
    "in": _INCH,
    "inch": _INCH,
    "inches": _INCH,
    '"': _INCH,
    "thou": _INCH / 1000,
}
CHIP_LOAD: Final = {
    "mm": Fraction(1),
    "mm/tooth": Fraction(1),
    "um": Fraction(1, 1000),
    "um/tooth": Fraction(1, 1000),
    "in": _INCH,
    '"': _INCH,
    "in/tooth": _INCH,
    "thou": _INCH / 1000,
}
FEED: Final = {
    "mm/min": Fraction(1),
    "cm/min": Fraction(10),
    "m/min": Fraction(1000),
    "mm/s": Fraction(60),
    "in/min": _INCH,
    '"/min': _INCH,
    "ipm": _INCH,
    "in/s": _INCH * 60,
}
SPEED: Final = {
    "rpm": Fraction(1),
    "rev/min": Fraction(1),
    "r/min": Fraction(1),
    "1/min": Fraction(1),
    "krpm": Fraction(1000),
}
CUTTING_SPEED: Final = {
    "m/min": Fraction(1),
    "m/s": Fraction(60),
    "ft/min": _INCH * 12 / 1000,
    "sfm": _INCH * 12 / 1000,
}
ANGLE: Final = {
    "deg": Fraction(1),
    "degree": Fraction(1),
    "degrees": Fraction(1),
    "°": Fraction(1),
    "rad": Fraction(180.0 / math.pi),
}
MASS: Final = {"kg": Fraction(1), "g": Fraction(1, 1000), "lb": _POUND_KG, "oz": _POUND_KG / 16}
FORCE: Final = {
    "n": Fraction(1),
    "kn": Fraction(1000),
    "kg": _GRAVITY_M_S2,
    "kgf": _GRAVITY_M_S2,
    "lb": _POUND_KG * _GRAVITY_M_S2,
    "lbf": _POUND_KG * _GRAVITY_M_S2,
}
AREA: Final = {
    "mm2": Fraction(1),
    "cm2": Fraction(100),
    "m2": Fraction(1_000_000),
    "in2": _INCH**2,
}
STRESS: Final = {
    "n/mm2": Fraction(1),
    "mpa": Fraction(1),
    "kpa": Fraction(1, 1000),
    "pa": Fraction(1, 1_000_000),
    "bar": Fraction(1, 10),
    "mbar": Fraction(1, 10_000),
    "psi": _POUND_KG * _GRAVITY_M_S2 / _INCH**2,
}
TIME: Final = {"s": Fraction(1), "ms": Fraction(1, 1000), "min": Fraction(60), "h": Fraction(3600)}
_HORSEPOWER_W: Final = 550 * (_INCH * 12 / 1000) * _POUND_KG * _GRAVITY_M_S2  # 550 ft lbf/s: NIST SP 811, B.8
POWER: Final = {"w": Fraction(1), "kw": Fraction(1000), "hp": _HORSEPOWER_W}
ACCELERATION: Final = {"mm/s2": Fraction(1), "m/s2": Fraction(1000), "in/s2": _INCH}
DENSITY: Final = {
    "kg/m3": Fraction(1),
    "g/cm3": Fraction(1000),
    "lb/ft3": _POUND_KG / (_INCH * 12 / 1000) ** 3,
}

_MAX_TEXT: Final = 60  # characters: longer than any quantity a person writes; bounds the work on hostile text
_DECIMAL: Final = r"(?:\d+\.?\d*|\.\d+)(?:e[+-]?\d{1,3})?"
_GROUPED: Final = r"\d{1,3}(?: \d{3})+(?:\.\d+)?"
_SHAPE: Final = re.compile(
    rf"(?P<sign>[+-]?) ?(?:(?:(?P<whole>\d+)[ -])?(?P<top>\d+) ?/ ?(?P<bottom>\d+)(?![\d.])"
    rf"|(?P<grouped>{_GROUPED})(?![\d.])|(?P<plain>{_DECIMAL}))(?P<unit>.*)",
    re.ASCII | re.DOTALL,
)
_TYPED: Final = {
    "″": '"', "”": '"', "“": '"', "''": '"', "′′": '"', "µ": "u", "μ": "u", "⁄": "/", "−": "-",
    "\u00a0": " ", "\u2009": " ", "\u202f": " ", "²": "2", "³": "3", "¼": " 1/4", "½": " 1/2", "¾": " 3/4",
    "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
}  # fmt: skip


def read_quantity(
    value: object, units: dict[str, Fraction], default: str, what: str, example: str, negative: bool
) -> float:
    """Read a number or a text.

    value: What the person wrote.
    units: Accepted units and how many base units each one is [-].
    default: Unit of a bare number.
    what: Name of the quantity in the error text.
    example: What an accepted text looks like.
    negative: Whether a value below zero is accepted.
    Returns: The amount in the base unit of `units`.
    Raises ValueError: If it cannot be read; the text says what was found and what to write.
    """
    if isinstance(value, bool) or not isinstance(value, Real | str):
        kind = "nothing" if value is None else f"{value!r}"[:_MAX_TEXT]
        raise ValueError(f"{what}: found {kind}; write a number with a unit, such as {example}")
    if isinstance(value, str):
        amount, unit = _split(value, units, default, what, example)
    else:
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            raise ValueError(f"{what}: found {number}; write a finite number, such as {example}")
        amount, unit = Fraction(repr(number)), default
    if amount < 0 and not negative:
        raise ValueError(
            f"{what}: found {str(value).strip()}, which is below zero; write it without the minus"
        )
    try:
        return float(amount * units[unit])
    except OverflowError:
        raise ValueError(f"{what}: found {value}, which is too large; write for example {example}") from None


def _split(
    text: str, units: dict[str, Fraction], default: str, what: str, example: str
) -> tuple[Fraction, str]:
    """Split a text into its amount and the name of its unit."""
    shown = text.strip()[:_MAX_TEXT]
    if not shown:
        raise ValueError(f"{what}: found nothing; write a number with a unit, such as {example}")
    if len(text.strip()) > _MAX_TEXT:
        raise ValueError(f"{what}: found a text of {len(text)} characters; write a number, such as {example}")
    typed = shown
    for odd, usual in _TYPED.items():
        typed = typed.replace(odd, usual)
    typed = " ".join(typed.lower().split())
    if re.match(r"[+-]? ?\d+,\d", typed):
        meant = typed.replace(",", ".", 1)
        if re.match(r"[+-]? ?\d{1,3},\d{3}(?!\d)", typed):
            meant += f" or {typed.replace(',', '')}, whichever is meant"
        raise ValueError(f"{what}: found a comma in {shown!r}; write {meant}")
    shape = _SHAPE.fullmatch(typed)
    if shape is None:
        raise ValueError(f"{what}: found {shown!r}, which is not a number; write for example {example}")
    unit = shape["unit"].strip().replace(" ", "").rstrip(".").replace("·", "").replace("^", "") or default
    if unit not in units and re.match(r"[\d./+-]", unit):
        raise ValueError(f"{what}: found {shown!r}, which is not a number; write for example {example}")
    if unit not in units:
        known = ", ".join(units)
        raise ValueError(f"{what}: found the unit {unit!r} in {shown!r}; accepted units: {known}")
    if shape["top"]:
        if int(shape["bottom"]) == 0:
            raise ValueError(f"{what}: found {shown!r}, a division by zero; write for example {example}")
        if not shape["unit"].strip() and unit == "mm":
            raise ValueError(
                f"{what}: found {shown!r}, a fraction without a unit; write {shown} in, or a decimal for mm"
            )
        amount = int(shape["whole"] or 0) + Fraction(int(shape["top"]), int(shape["bottom"]))
    else:
        amount = Fraction((shape["grouped"] or shape["plain"]).replace(" ", ""))
    return (-amount if shape["sign"] == "-" else amount), unit
