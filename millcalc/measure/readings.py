"""Reads pulls (force against dial) from option texts and CSV files."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from pathlib import Path

from millcalc.errors import InputError
from millcalc.files import refuse_odd
from millcalc.measure import tuning
from millcalc.units import force_n, length_mm

AXES = ("x", "y", "z")
_HEAD = re.compile(r"^\s*([+-]?)\s*([xyzXYZ])\s*(?:@\s*([^:]+?))?\s*:\s*(.*)$", re.S)
_COLUMNS = (
    "axis, drop_mm, and pull_kg, pull_n or pull_lbf, and dial_mm, dial_um or dial_thou; run is optional"
)


@dataclass(frozen=True, slots=True)
class Run:
    """One series of pulls in the order they were made.

    axis: ``x``, ``y`` or ``z``.
    drop_mm: Drop at which it was pulled; None when not given [mm].
    force_n: Pulls, with sign [N].
    dial_mm: Dial readings [mm].
    place: Where it was read from, for error texts.
    """

    axis: str
    drop_mm: float | None
    force_n: tuple[float, ...]
    dial_mm: tuple[float, ...]
    place: str


def run_from_text(text: str, force_unit: str = "kg", dial_unit: str = "mm", place: str = "--pull") -> Run:
    """Read one series such as ``x@120 mm: 0=0 2=0.025 4=0.05 6=0.075 4=0.054 2=0.028``.

    text: Axis, drop, then ``pull=reading`` pairs in the order they were read.
    force_unit: Unit of bare pulls: ``kg``, ``n`` or ``lbf``.
    dial_unit: Unit of bare readings: ``mm``, ``um``, ``thou`` or ``in``.
    place: Name of the option for error texts.
    Returns: Forces [N] and readings [mm].
    Raises InputError: If it cannot be read or is no possible reading.

    >>> run_from_text("y@100: 2=0.02 4=0.04").dial_mm
    (0.02, 0.04)
    """
    match = _HEAD.match(text)
    if match is None:
        raise InputError(
            repr(text),
            "axis@drop: pull=reading pull=reading ...",
            'for example "x@120: 0=0 2=0.025 4=0.05 6=0.075 8=0.1"',
            field=place,
        )
    sign = -1.0 if match[1] == "-" else 1.0
    drop = None if match[3] is None else _number(match[3], "drop", place, length_mm, "mm")
    forces, readings = [], []
    for number, pair in enumerate(match[4].replace(",", " ").split(), start=1):
        pull, equals, reading = pair.partition("=")
        if not equals:
            raise InputError(
                repr(pair), "pull=reading, with a point for decimals", field=f"{place}, pair {number}"
            )
        negative = pull.startswith("-")
        value = _number(pull.lstrip("+-"), "pull", f"{place}, pair {number}", force_n, force_unit)
        forces.append(sign * (-value if negative else value))
        readings.append(_signed_length(reading, dial_unit, f"{place}, pair {number}"))
    return _checked(Run(match[2].lower(), drop, tuple(forces), tuple(readings), place))


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
        drop_mm = _number(drop, "drop", place, length_mm, "mm") if drop else None
        pull = values[force_field]
        unit = {"pull_kg": "kg", "pull_kgf": "kg", "pull_n": "n", "pull_lbf": "lbf"}[force_field]
        force = _number(pull.lstrip("+-"), force_field, place, force_n, unit)
        key = (axis, drop_mm, values.get("run", ""))
        forces, readings = gathered.setdefault(key, ([], []))
        forces.append(-force if pull.startswith("-") else force)
        readings.append(_signed_length(values[dial_field], dial_field.removeprefix("dial_"), place))
    if not gathered:
        raise InputError("no readings", f"one reading a line: {_COLUMNS}", file=name)
    return tuple(
        _checked(Run(axis, drop, tuple(forces), tuple(dial), name))
        for (axis, drop, _), (forces, dial) in gathered.items()
    )


def _number(text: str, what: str, place: str, read, unit: str) -> float:  # type: ignore[no-untyped-def]
    try:
        return float(read(text, unit))
    except ValueError as error:
        raise InputError(str(error), field=f"{place}: {what}") from None


def _signed_length(text: str, unit: str, place: str) -> float:
    try:
        return length_mm(text, unit, negative=True, what="dial reading")
    except ValueError as error:
        raise InputError(str(error), field=place) from None


def _checked(run: Run) -> Run:
    """Refuse series that no household test makes."""
    strongest = max((abs(force) for force in run.force_n), default=0.0)
    if strongest > tuning.STRONGEST_PULL_N:
        raise InputError(
            f"a pull of {strongest:.0f} N ({strongest / 9.80665:.0f} kg)",
            f"at most {tuning.STRONGEST_PULL_N:.0f} N",
            "check the unit of the scale; do not pull a machine harder than it cuts",
            field=run.place,
        )
    largest = max((abs(reading) for reading in run.dial_mm), default=0.0)
    if largest > tuning.LARGEST_READING_MM:
        raise InputError(
            f"a reading of {largest:g} mm",
            f"at most {tuning.LARGEST_READING_MM:.0f} mm",
            "check the unit of the dial",
            field=run.place,
        )
    if run.drop_mm is not None and not 1 <= run.drop_mm < 2000:
        raise InputError(
            f"a drop of {run.drop_mm:g} mm", "1 mm or more and less than 2000 mm", field=run.place
        )
    return run
