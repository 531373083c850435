"""Reads pulls (force against dial) from option texts and CSV files."""

from __future__ import annotations

import re
from dataclasses import dataclass

from millcalc.errors import InputError
from millcalc.measure import tuning
from millcalc.units import force_n, length_mm

AXES = ("x", "y", "z")
_HEAD = re.compile(r"^\s*([+-]?)\s*([xyzXYZ])\s*(?:@\s*([^:]+?))?\s*:\s*(.*)$", re.S)


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


def run_from_text(
    text: str, force_unit: str = "kg", dial_unit: str = "mm", place: str = "--pull", drop_unit: str = "mm"
) -> Run:
    """Read one series such as ``x@120 mm: 0=0 2=0.025 4=0.05 6=0.075 4=0.054 2=0.028``.

    text: Axis, drop, then ``pull=reading`` pairs in the order they were read.
    force_unit: Unit of bare pulls: ``kg``, ``n`` or ``lbf``.
    dial_unit: Unit of bare readings: ``mm``, ``um``, ``thou`` or ``in``.
    place: Name of the option for error texts.
    drop_unit: Unit of a bare drop: ``mm`` or ``in``.
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
    drop = None if match[3] is None else read_number(match[3], "drop", place, length_mm, drop_unit)
    forces, readings = [], []
    for number, pair in enumerate(match[4].replace(",", " ").split(), start=1):
        pull, equals, reading = pair.partition("=")
        if not equals:
            raise InputError(
                repr(pair), "pull=reading, with a point for decimals", field=f"{place}, pair {number}"
            )
        negative = pull.startswith("-")
        value = read_number(pull.lstrip("+-"), "pull", f"{place}, pair {number}", force_n, force_unit)
        forces.append(sign * (-value if negative else value))
        readings.append(signed_length(reading, dial_unit, f"{place}, pair {number}"))
    return checked(Run(match[2].lower(), drop, tuple(forces), tuple(readings), place))


def read_number(text: str, what: str, place: str, read, unit: str) -> float:  # type: ignore[no-untyped-def]
    """Read one number with its unit.

    text, unit: As written, and the unit of one without.
    what, place: Field and place for the error.
    read: The reader of the quantity.
    Returns: The number, in what the reader gives.
    Raises InputError: Naming place and field.
    """
    try:
        return float(read(text, unit))
    except ValueError as error:
        raise InputError(str(error), field=f"{place}: {what}") from None


def signed_length(text: str, unit: str, place: str) -> float:
    """Read what a dial shows.

    text, unit: As written, and the unit of one without.
    place: Place for the error.
    Returns: Reading, negative the other way [mm].
    Raises InputError: Naming the place.
    """
    try:
        return length_mm(text, unit, negative=True, what="dial reading")
    except ValueError as error:
        raise InputError(str(error), field=place) from None


def checked(run: Run) -> Run:
    """Refuse series that no household test makes.

    run: The series.
    Returns: The same.
    Raises InputError: A pull or reading beyond what is sensible.
    """
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
