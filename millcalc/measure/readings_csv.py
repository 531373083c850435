"""Reads pulls (force against dial) from CSV files."""

from __future__ import annotations

import csv
import io
from pathlib import Path

from millcalc.errors import InputError
from millcalc.files import refuse_odd
from millcalc.measure.readings import AXES, Run, checked, read_number, signed_length
from millcalc.units import force_n, length_mm

_COLUMNS = (
    "axis, drop_mm, and pull_kg, pull_n or pull_lbf, and dial_mm, dial_um or dial_thou; run is optional"
)


def runs_from_csv(path: Path) -> tuple[Run, ...]:
    """Read series from a CSV file with one reading a line.

    path: File with a head line; readings of one axis, drop and ``run`` stand in the order they were read.
    Returns: In the order of the file.
    Raises InputError: If the file or a line cannot be used.
    """
    name = str(path)
    refuse_odd(path)
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError("a file that is not UTF-8 text", "CSV with a head line", file=name) from None
    except OSError as error:
        raise InputError(f"no readable file ({error.strerror})", "a CSV file", file=name) from None
    separator = ";" if ";" in text.partition("\n")[0] else ","
    rows = csv.DictReader(io.StringIO(text), delimiter=separator)
    fields = [field.strip().lower() for field in rows.fieldnames or ()]
    force_field = next((f for f in fields if f in ("pull_kg", "pull_kgf", "pull_n", "pull_lbf")), None)
    dial_field = next((f for f in fields if f in ("dial_mm", "dial_um", "dial_thou", "dial_in")), None)
    if "axis" not in fields or force_field is None or dial_field is None:
        raise InputError(", ".join(fields) or "an empty file", f"columns {_COLUMNS}", file=name, line=1)
    gathered: dict[tuple[str, float | None, str], tuple[list[float], list[float]]] = {}
    for row in rows:
        values = {(key or "").strip().lower(): (value or "").strip() for key, value in row.items() if key}
        if not any(values.values()):
            continue
        place = f"{name}:{rows.line_num}"
        axis = values.get("axis", "").lower()
        if axis not in AXES:
            raise InputError(repr(axis), "x, y or z", file=name, line=rows.line_num, field="axis")
        drop = values.get("drop_mm", "")
        drop_mm = read_number(drop, "drop", place, length_mm, "mm") if drop else None
        pull = values[force_field]
        unit = {"pull_kg": "kg", "pull_kgf": "kg", "pull_n": "n", "pull_lbf": "lbf"}[force_field]
        force = read_number(pull.lstrip("+-"), force_field, place, force_n, unit)
        key = (axis, drop_mm, values.get("run", ""))
        forces, readings = gathered.setdefault(key, ([], []))
        forces.append(-force if pull.startswith("-") else force)
        readings.append(signed_length(values[dial_field], dial_field.removeprefix("dial_"), place))
    if not gathered:
        raise InputError("no readings", f"one reading a line: {_COLUMNS}", file=name)
    return tuple(
        checked(Run(axis, drop, tuple(forces), tuple(dial), name))
        for (axis, drop, _), (forces, dial) in gathered.items()
    )
