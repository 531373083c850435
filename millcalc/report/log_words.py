"""The fields of an entry in words, and their values with units: for reading; the names stay for ``--set``."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any, Final

from millcalc.units_show import (
    MM_PER_INCH,
    System,
    show_chip,
    show_feed_as_is,
    show_force,
    show_length,
    show_number,
    show_power,
    show_small,
    show_speed,
)

_WORDS: Final = {
    "when": "cut on",
    "bit": "which cutter of its kind",
    "bit_age_min": "minutes it had cut",
    "diameter_mm": "diameter",
    "shank_mm": "shank",
    "kc11_n_mm2": "specific cutting force kc1.1",
    "mc": "its exponent mc",
    "stock_thickness_mm": "thickness of the stock",
    "operation": "kind of cut",
    "speed_rpm": "spindle speed",
    "feed_mm_min": "feed in the program",
    "override_percent": "feed override",
    "axial_depth_mm": "depth (ap)",
    "radial_width_mm": "width (ae)",
    "chip_mm": "greatest chip",
    "feed_per_tooth_mm": "chip load",
    "cut_minutes": "time in the cut",
    "cut_metres": "way in the cut",
    "program_sha256": "fingerprint of it",
    "force_n": "force, computed",
    "power_w": "power, computed",
    "deflection_mm": "bending, computed",
    "shares": "limits used, computed",
    "chip_form": "form of the chips",
    "bit_after": "cutter afterwards",
    "size_error_mm": "size error",
}
_SHARES: Final = {
    "chip_high": "greatest chip",
    "chip_low": "smallest chip",
    "thrust": "axis push",
    "hold_down": "hold-down",
}
_SHOWN: Final[dict[str, Callable[[float, System], str]]] = {
    "feed_mm_min": show_feed_as_is,
    "deflection_mm": show_small,
    "chip_mm": show_chip,
    "feed_per_tooth_mm": show_chip,
    "kc11_n_mm2": lambda value, _: f"{value:g} N/mm²",
    "override_percent": lambda value, _: f"{value:g} %",
    "cut_minutes": lambda value, _: f"{show_number(value)} min",
    "bit_age_min": lambda value, _: f"{show_number(value)} min",
    "cut_metres": lambda value, units: (
        f"{show_number(value)} m" if units == "mm" else f"{show_number(value * 1000 / MM_PER_INCH / 12)} ft"
    ),
}


def field_word(name: str) -> str:
    """What a field says, for a reader.

    name: As in ``--set``.
    Returns: Its word.

    >>> field_word("axial_depth_mm"), field_word("stickout_mm"), field_word("hold_down")
    ('depth (ap)', 'stickout', 'hold-down')
    """
    return _WORDS.get(name) or name.removesuffix("_mm").replace("_", "-")


def field_value(name: str, value: Any, units: System) -> str:
    """A value with its unit, as a person reads it.

    name: Its field.
    value: As the entry holds it.
    units: ``mm`` or ``in``.
    Returns: The text.

    >>> field_value("axial_depth_mm", 0.645, "mm"), field_value("shares", {"thrust": 0.05}, "mm")
    ('0.645 mm', 'axis push 5 %')
    """
    if isinstance(value, datetime):
        return f"{value.astimezone():%Y-%m-%d %H:%M}"
    if isinstance(value, dict):
        return ", ".join(f"{_SHARES.get(key, key)} {100 * share:.0f} %" for key, share in value.items())
    if isinstance(value, tuple):
        return ", ".join(value)
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return str(value)
    if name in _SHOWN:
        return _SHOWN[name](value, units)
    for ending, show in (("_rpm", lambda v, _: show_speed(v)), ("_n", show_force), ("_w", show_power)):
        if name.endswith(ending):
            return show(value, units)
    if name.endswith("_mm"):
        return show_length(value, units, 0.001 if units == "mm" else 0.0001)
    return f"{value:g}"
