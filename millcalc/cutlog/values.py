"""The fields of an entry as a person or a spreadsheet writes them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, Final

from millcalc import units

OUTCOME_WORDS: Final[Mapping[str, str]] = {
    "usable": "acceptable",
    "ok": "acceptable",
    "bad": "failed",
    "stopped": "failed",
}


def value_of(field: str, text: str, unit: str = "") -> Any:
    """Read the text of a field as a person writes it.

    field: Field of an entry, ``share_`` and a limit, or ``feed_per_tooth_mm``.
    text: For example ``0.6``, ``1/8 in``, ``35 in/min``, ``chatter, poor-wall``.
    unit: Unit of a bare number; empty for the field's own.
    Returns: What the entry model takes.
    Raises ValueError: When it cannot be read.
    """
    read = _reader_of(field)
    if read is not None:
        return read(text, unit)
    if field == "symptoms":
        parts = text.replace(",", ";").split(";")
        return [part.strip() for part in parts if part.strip()]
    if field == "outcome":
        return OUTCOME_WORDS.get(text.lower(), text.lower())
    if field == "when":
        try:
            return datetime.fromisoformat(text)
        except ValueError:
            raise ValueError("a date like 2025-10-12 or 2025-10-12T14:30") from None
    return text


def _reader_of(field: str) -> Callable[[str, str], Any] | None:
    """How the text of a number is read; None for text that stays text."""
    if field.startswith("share_") or field in ("kc11_n_mm2", "mc", "override_percent"):
        return _plain_number
    if field == "feed_mm_min":
        return _feed
    if field == "speed_rpm":
        return lambda text, unit: units.speed_rpm(f"{text} {unit}".strip())
    if field == "flutes":
        return _whole
    if field.endswith("_mm"):
        return _length
    if field.endswith("_n"):
        return lambda text, unit: units.force_n(text, unit) if unit else float(text)
    if field.endswith("_w"):
        return lambda text, unit: units.power_w(text, unit) if unit else float(text)
    if field.endswith(("_min", "_minutes", "_metres")):
        return _plain_number
    return None


def _length(text: str, unit: str) -> float:
    return units.length_mm(text, unit or "mm", negative=True)


def _feed(text: str, unit: str) -> float:
    return units.feed_mm_min(text, unit or "mm/min")


def _plain_number(text: str, unit: str) -> float:
    if unit:
        raise ValueError(f"unit {unit!r} for a field that has only one")
    return float(text)


def _whole(text: str, unit: str) -> float:
    number = _plain_number(text, unit)
    if number != int(number):
        raise ValueError(f"{text!r} is not a whole number")
    return int(number)
