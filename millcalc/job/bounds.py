"""Sizes that no workshop has: refused where they are read, before they overflow or ask for memory."""

from __future__ import annotations

from typing import Final

from millcalc.job.tuning import (
    LARGEST_AREA_MM2,
    LARGEST_DENSITY_KG_M3,
    LARGEST_FORCE_N,
    LARGEST_LENGTH_MM,
    LARGEST_SPEED_RPM,
    LARGEST_STRESS_N_MM2,
    SMALLEST_NUMBER,
)

# The first ending that fits decides; the fields themselves say which of them may be zero or negative.
_BOUNDS: Final = (
    ("_n_mm2", LARGEST_STRESS_N_MM2, "N/mm2"),
    ("_mm2", LARGEST_AREA_MM2, "mm2"),
    ("_mm", LARGEST_LENGTH_MM, "mm"),
    ("_kg_m3", LARGEST_DENSITY_KG_M3, "kg/m3"),
    ("_n", LARGEST_FORCE_N, "N"),
    ("rpm", LARGEST_SPEED_RPM, "rev/min"),
)


def out_of_bounds(name: str, value: float) -> tuple[str, str] | None:
    """What is wrong with the size of a number, whatever its field.

    name: Field name of the model; its ending says the unit.
    value: The number, in that unit.
    Returns: What was found and what is accepted; None when the size is one that a workshop can have.

    >>> out_of_bounds("x_mm", -1e308)
    ('-1e+308 mm', 'from -100000 to 100000 mm')
    >>> out_of_bounds("x_mm", 1e-300)
    ('1e-300 mm', '0, or a size of at least 1e-06 mm')
    >>> out_of_bounds("x_mm", -160.0) is None
    True
    """
    for ending, largest, unit in _BOUNDS:
        if not name.endswith(ending):
            continue
        if abs(value) > largest:
            return f"{value:g} {unit}", f"from {-largest:.0f} to {largest:.0f} {unit}"
        if 0 < abs(value) < SMALLEST_NUMBER:
            return f"{value:g} {unit}", f"0, or a size of at least {SMALLEST_NUMBER:g} {unit}"
        return None
    return None
