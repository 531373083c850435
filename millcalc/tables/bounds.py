"""Numbers that no tool, material or machine has are refused at their field, before anything is computed with them."""

from __future__ import annotations

import math
from typing import Final

from millcalc.errors import InputError
from millcalc.tables.fields import INNER_KEYS, Raw, walk
from millcalc.tables.yaml_lines import Key, shown

# Smallest and largest size of a number that is not zero, by how its field's name ends, the longer ending first; the
# rest of a table by the last. Ten times and more beyond what any table of ours holds. Estimate.
BOUNDS: Final[tuple[tuple[str, float, float, str], ...]] = (
    ("tip_diameter_mm", 1e-3, 100.0, "mm"),
    ("diameter_mm", 0.02, 1000.0, "mm"),
    ("shank_mm", 0.2, 200.0, "mm"),
    ("length_mm", 0.02, 2000.0, "mm"),
    ("overall_mm", 1.0, 2000.0, "mm"),
    ("_mm_min", 1.0, 1e6, "mm/min"),
    ("_m_min", 0.1, 1e5, "m/min"),
    ("_mm_s2", 1.0, 1e6, "mm/s2"),
    ("_n_mm2", 1e-2, 1e5, "N/mm2"),
    ("_n_mm", 1e-4, 1e5, "N/mm"),
    ("_n_um", 1e-3, 1e5, "N/um"),
    ("_kg_m3", 1.0, 3e4, "kg/m3"),
    ("rpm", 1.0, 1e6, "rev/min"),
    ("_hz", 0.1, 1e5, "Hz"),
    ("_um", 1e-3, 1e4, "um"),
    ("_mm", 1e-5, 1e5, "mm"),
    ("_w", 0.1, 1e5, "W"),
    ("_n", 1e-2, 1e6, "N"),
    ("", 1e-6, 1e6, ""),
)


def refuse_odd_sizes(raw: Raw) -> list[InputError]:
    """Find numbers beyond what their field can be.

    raw: Data of a table, texts with units already turned into numbers.
    Returns: One error a number; zero and what is no number are left to the field.
    """
    errors: list[InputError] = []
    for key, value in walk(raw.data):
        if isinstance(value, bool) or not isinstance(value, int | float):
            continue
        if value == 0 or (isinstance(value, float) and not math.isfinite(value)):
            continue
        _, low, high, unit = _bound(key)
        if not low <= abs(value) <= high:
            errors.append(raw.error(key, shown(value), f"from {low:g} to {high:g} {unit}".rstrip()))
    return errors


def _bound(key: Key) -> tuple[str, float, float, str]:
    """The row for a field: by its own name, or that of the group whose inner value it is."""
    names = [str(part) for part in key if not isinstance(part, int) and part not in INNER_KEYS]
    name = names[-1] if names else ""
    return next(row for row in BOUNDS if name.endswith(row[0]))
