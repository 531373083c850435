"""Entries for the tests of the log: cuts of a sensor mounting plate, made to measure."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from millcalc.cutlog.models import Entry

START = datetime(2025, 3, 1, 9, 0, tzinfo=UTC)


def cut(**fields: Any) -> Entry:
    """A slot in the 6 mm sensor plate, with the given fields put in."""
    known: dict[str, Any] = {
        "when": START,
        "machine": "shed gantry",
        "cutter": "flat 6 mm",
        "diameter_mm": 6.0,
        "flutes": 1,
        "stickout_mm": 20.0,
        "material": "aluminium plate",
        "kc11_n_mm2": 800.0,
        "operation": "slot",
        "cooling": "brush",
        "speed_rpm": 18_000.0,
        "feed_mm_min": 720.0,
        "axial_depth_mm": 0.6,
        "radial_width_mm": 6.0,
        "outcome": "good",
    }
    return Entry.model_validate({**known, **fields})


def days(number: float) -> timedelta:
    """A span of days."""
    return timedelta(days=number)
