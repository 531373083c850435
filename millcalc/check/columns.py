"""The motion table with the engagement of each motion, column by column, for whoever writes it down.

One row a motion, one column a quantity, the unit at the end of each column's name; always in mm, so that a table
never depends on who reads it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import KIND_NAMES
from millcalc.stock.result import SIDE_NAMES, SKIP_NAMES

if TYPE_CHECKING:
    from millcalc.preflight.context import Context
    from millcalc.stock.result import Removal

Column = NDArray[Any]
Columns = dict[str, Callable[[slice], Column]]
SPINDLE_NAMES = ("off", "clockwise", "unknown", "counter-clockwise")  # by the motion table's number, -1 last
DIGITS = 6  # digits behind the point: a millionth of a millimetre, far below any machine
DIGITS_SINGLE = 3  # of what is stored in single precision


def motion_columns(ctx: Context) -> Columns:
    """How to make a slice of each column of the motion table, by its name.

    Returns: In order; each takes a slice of rows, and NaN or a gap is a value that is unknown.
    """
    table, facts, feeds, removal = ctx.program.motions, ctx.facts, ctx.feeds, ctx.removal
    columns: Columns = {
        "motion": lambda part: np.arange(part.start, part.stop),
        "line": lambda part: table.line[part],
        "tool": lambda part: _whole(facts.tool[part], facts.tool[part] >= 0),
        "kind": lambda part: _names(KIND_NAMES, table.kind[part]),
    }

    def number(name: str, values: NDArray[Any], factor: float = 1.0) -> None:
        columns[name] = lambda part: _rounded(values[part] * factor)

    for word, points in (("start", table.start_mm), ("end", table.end_mm), ("centre", table.centre_mm)):
        for axis, letter in enumerate("xyz"):
            number(f"{word}_{letter}_mm", points[:, axis])
    columns["sweep_deg"] = lambda part: _rounded(
        np.where(table.is_arc[part], np.degrees(table.sweep_rad[part]), np.nan)
    )
    columns["plane"] = lambda part: table.plane[part]
    number("length_mm", table.length_mm)
    columns["dwell_s"] = lambda part: _rounded(np.where(facts.standing[part], table.dwell_s[part], np.nan))
    columns["work_frame"] = lambda part: _names([f.name for f in ctx.program.frames], table.frame[part])
    columns["spindle"] = lambda part: _names(SPINDLE_NAMES, table.spindle_dir[part])
    number("spindle_rev_min", facts.rpm)
    number("feed_mm_min", facts.feed_mm_min)
    number("feed_per_tooth_mm", facts.chip_mm)
    for word, mean, time in (
        ("quick", "mean_quick_mm_min", "time_quick_s"),
        ("strict", "mean_strict_mm_min", "time_strict_s"),
    ):
        _or_empty(columns, f"mean_feed_{word}_mm_min", None if feeds is None else getattr(feeds, mean))
        _or_empty(columns, f"time_{word}_s", None if feeds is None else getattr(feeds, time))
    _cut_columns(columns, facts.cutting, removal)
    return columns


def _cut_columns(columns: Columns, cutting: NDArray[np.bool_], removal: Removal | None) -> None:
    columns["cuts"] = lambda part: cutting[part].astype(np.uint8)
    quantities = {
        "axial_depth_mm": "axial_depth_mm",
        "radial_width_mm": "radial_width_mm",
        "engagement_deg": "engagement_rad",
        "engagement_start_deg": "engagement_start_rad",
        "volume_mm3": "volume_mm3",
        "section_mm2": "section_mm2",
        "shank_contact_mm": "shank_contact_mm",
        "holder_contact_mm": "holder_contact_mm",
        "below_stock_mm": "bed_depth_mm",
    }
    for name, attribute in quantities.items():
        values = None if removal is None else getattr(removal, attribute)
        _or_empty(columns, name, values, np.degrees if name.endswith("_deg") else None, removal)
    for axis, letter in enumerate("xyz"):
        peak = None if removal is None else removal.peak_place_mm[:, axis]
        _or_empty(columns, f"greatest_at_{letter}_mm", peak, None, removal)
    if removal is None:
        columns["side"] = columns["simulated"] = _empty
        return
    columns["side"] = lambda part: _names(SIDE_NAMES, removal.side[part])
    columns["simulated"] = lambda part: _names(SKIP_NAMES, removal.skip_reason[part])


def _or_empty(
    columns: Columns,
    name: str,
    values: NDArray[Any] | None,
    convert: Callable[[Column], Column] | None = None,
    removal: Removal | None = None,
) -> None:
    """A column of numbers, empty where there are none or where the motion could not be simulated."""
    if values is None:
        columns[name] = _empty
        return

    def make(part: slice) -> Column:
        numbers = values[part].copy()
        if removal is not None:
            numbers[removal.skipped[part]] = np.nan
        return _rounded(convert(numbers) if convert else numbers)

    columns[name] = make


def _empty(part: slice) -> Column:
    return np.full(part.stop - part.start, np.nan)


def _rounded(values: NDArray[Any]) -> Column:
    digits = DIGITS if values.dtype == np.float64 else DIGITS_SINGLE
    numbers = np.round(values.astype(np.float64), digits) + 0.0  # no "-0.0"
    numbers[~np.isfinite(numbers)] = np.nan
    return numbers


def _whole(values: NDArray[Any], known: NDArray[np.bool_]) -> Any:
    """Whole numbers with gaps."""
    import pandas as pd

    return pd.arrays.IntegerArray(values.astype(np.int64), ~known)


def _names(names: Sequence[str], numbers: NDArray[Any]) -> Column:
    return np.asarray(np.array(names, dtype=object)[numbers])
