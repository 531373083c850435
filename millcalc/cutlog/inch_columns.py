"""Columns of a CSV in inches: names, values and how they are read back."""

from __future__ import annotations

from typing import Final

from millcalc import quantity

_THOU: Final = ("deflection_mm",)  # a few thousandths at most
_ENDINGS: Final = (("_mm_min", "_in_min", quantity.FEED, "in/min"), ("_mm", "_in", quantity.LENGTH, "in"),
                   ("_n", "_lbf", quantity.FORCE, "lbf"), ("_w", "_hp", quantity.POWER, "hp"))  # fmt: skip


def inch_column(field: str) -> tuple[str, float, str] | None:
    """A field of an entry as a column in inches.

    field: Field, with its unit in its name.
    Returns: Name of the column, what one of the field's unit is in the column's, and that unit; None for a
      field that has no inches.

    >>> inch_column("feed_mm_min")[0], inch_column("deflection_mm")[2], inch_column("speed_rpm")
    ('feed_in_min', 'thou', None)
    """
    if field in _THOU:
        return field.removesuffix("_mm") + "_thou", float(1 / quantity.LENGTH["thou"]), "thou"
    for ending, inch, table, unit in _ENDINGS:
        if field.endswith(ending):
            return field.removesuffix(ending) + inch, float(1 / table[unit]), unit
    return None


def fields_in_inches(fields: tuple[str, ...]) -> dict[str, tuple[str, str]]:
    """Fields by the name their column has in inches.

    fields: Fields of an entry.
    Returns: Field and unit by column.
    """
    found = ((field, inch_column(field)) for field in fields)
    return {inch[0]: (field, inch[2]) for field, inch in found if inch is not None}
