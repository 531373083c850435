"""Write entries to a file other programs open: CSV for a spreadsheet, JSON, Parquet."""

from __future__ import annotations

import csv
import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import IO, Any, Final

from millcalc.cutlog.inch_columns import inch_column
from millcalc.cutlog.models import LIMIT_KINDS, Entry
from millcalc.cutlog.query import Query
from millcalc.cutlog.rows import FIELDS, time_text
from millcalc.cutlog.store import Log
from millcalc.errors import LogError
from millcalc.files import new_file
from millcalc.units_show import System

SCHEMA: Final = "millcalc-log/1"
SHARE_COLUMNS: Final = tuple(f"share_{kind}" for kind in LIMIT_KINDS)
COMPUTED_COLUMN: Final = "feed_per_tooth_mm"
CSV_COLUMNS: Final = (*(name for name in FIELDS if name != "shares"), COMPUTED_COLUMN, *SHARE_COLUMNS)
_FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "'")


def shielded(text: str) -> str:
    """A text cell that no spreadsheet takes for a formula: an apostrophe goes before the risky first letters.

    text: Any text.
    Returns: Read back by :func:`unshielded`.
    """
    return "'" + text if text.startswith(_FORMULA_STARTS) else text


def unshielded(text: str) -> str:
    """A text cell without the apostrophe that :func:`shielded` put before it.

    text: A cell.
    Returns: The text that was meant.
    """
    return text[1:] if text[:1] == "'" and text[1:2] in _FORMULA_STARTS else text


def csv_head(units: System = "mm") -> list[str]:
    """Names of the columns.

    units: ``mm``, or ``in`` for columns such as ``feed_in_min``.
    Returns: In the order of ``CSV_COLUMNS``.
    """
    inches = [inch_column(name) if units == "in" else None for name in CSV_COLUMNS]
    return [name if inch is None else inch[0] for name, inch in zip(CSV_COLUMNS, inches, strict=True)]


def csv_row(entry: Entry, units: System = "mm") -> list[str]:
    """Cells of an entry in the order of ``CSV_COLUMNS``.

    entry: The cut.
    units: ``mm`` or ``in``.
    Returns: Empty where unknown.
    """
    cells = []
    for name in FIELDS:
        value = getattr(entry, name)
        if name == "shares":
            continue
        if name == "when":
            cells.append(time_text(value))
        elif name == "symptoms":
            cells.append("; ".join(value))
        elif value is None:
            cells.append("")
        elif units == "in" and (inch := inch_column(name)) is not None:
            cells.append(repr(value * inch[1]))
        else:
            cells.append(shielded(value) if isinstance(value, str) else repr(value))
    fz, inch = entry.feed_per_tooth_mm, inch_column(COMPUTED_COLUMN)
    scale = inch[1] if units == "in" and inch is not None else 1.0
    cells.append("" if fz is None else f"{fz * scale:.6g}")
    cells += [repr(entry.shares[kind]) if kind in entry.shares else "" for kind in LIMIT_KINDS]
    return cells


def plain_entry(entry: Entry) -> dict[str, Any]:
    """An entry as JSON-ready data, unknown fields left out.

    entry: The cut.
    Returns: Strings, numbers, lists and dicts only.
    """
    data = entry.model_dump(mode="json", exclude_none=True)
    return {name: value for name, value in data.items() if value not in ("", [], {})}


def export_log(
    log: Log, target: Path, query: Query, form: str, *, force: bool = False, units: System = "mm"
) -> int:
    """Write all entries of a query to a file, whole or not at all.

    log: Open log.
    target: File to write.
    query: Which entries; its limit is not applied.
    form: ``csv``, ``json`` or ``parquet``.
    force: Replace a file that is there.
    units: ``mm``, or ``in`` for a CSV in inches.
    Returns: Entries written [-].
    Raises LogError: When the form has no inches, the file is there already or cannot be written, or Parquet needs
      a library that is missing.
    """
    writers: dict[str, Callable[[Iterator[Entry], Path], int]] = {
        "csv": lambda entries, path: _write_csv(entries, path, units),
        "json": _write_json,
        "parquet": _write_parquet,
    }
    if form not in writers:
        raise LogError(f"format {form!r}", ", ".join(writers), field="--format")
    if units == "in" and form != "csv":
        raise LogError(
            f"inches in {form}", "a .csv", f"leave --units out: {form} keeps millimetres", field="--units"
        )
    if target.exists() and not force:
        raise LogError("a file of that name", "a new name, or --force to replace it", file=str(target))
    entries = (stored.entry for stored in log.iterate(replace(query, limit=-1, offset=0)))
    try:
        with new_file(target, replace=force, inputs=(log.path,), kind=LogError) as part:
            number = writers[form](entries, part)
    except OSError as error:
        raise LogError(
            error.strerror or str(error), "a folder that can be written to, with room", file=str(target)
        ) from error
    return number


def write_csv(entries: Iterator[Entry], file: IO[str], units: System = "mm") -> int:
    """Write entries as CSV to an open text file.

    entries: The cuts.
    file: Opened with ``newline=""``.
    units: ``mm`` or ``in``.
    Returns: Entries written [-].
    """
    writer = csv.writer(file)
    writer.writerow(csv_head(units))
    number = 0
    for entry in entries:
        writer.writerow(csv_row(entry, units))
        number += 1
    return number


def _write_csv(entries: Iterator[Entry], path: Path, units: System) -> int:
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        return write_csv(entries, file, units)


def _write_json(entries: Iterator[Entry], path: Path) -> int:
    number = 0
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.write(f'{{"schema": {json.dumps(SCHEMA)}, "entries": [')
        for entry in entries:
            file.write(",\n" if number else "\n")
            file.write(json.dumps(plain_entry(entry), ensure_ascii=False))
            number += 1
        file.write("\n]}\n")
    return number


def _write_parquet(entries: Iterator[Entry], path: Path) -> int:
    import pandas

    from millcalc.cutlog.stats import frame_of

    frame = frame_of(entries)
    try:
        frame.to_parquet(path, index=False)
    except ImportError as error:
        raise LogError(
            "no library that writes Parquet",
            "csv or json",
            f"`pip install pyarrow` beside pandas {pandas.__version__} adds it",
            field="--format",
        ) from error
    return len(frame)
