"""Describes a table row line by line: field, value, unit, source and how far to trust it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final, NamedTuple

from millcalc.tables.models import AxisValues, Band, ChipLoad, EdgeSet, PowerPoint, Row, Spindle, Value
from millcalc.tables.reading import GIVEN
from millcalc.tables.rows import file_of, load_row
from millcalc.tables.yaml_lines import load_marked


class Line(NamedTuple):
    """One line of the description of a table row.

    field: Dotted name as in the table file.
    text: The value with its spread, without the unit.
    unit: Unit, empty for a plain number or text.
    source: Key of sources.yaml, empty for plain texts.
    confidence: How far to trust it, empty for plain texts.
    note: Remark.
    """

    field: str
    text: str
    unit: str = ""
    source: str = ""
    confidence: str = ""
    note: str = ""


_UNITS: Final = (
    ("_n_mm2", "N/mm2"),
    ("_n_mm", "N/mm"),
    ("_n_um", "N/um"),
    ("_mm_min", "mm/min"),
    ("_m_min", "m/min"),
    ("_mm_s2", "mm/s2"),
    ("_kg_m3", "kg/m3"),
    ("_mm", "mm"),
    ("_um", "um"),
    ("_deg", "deg"),
    ("_hz", "Hz"),
    ("rpm", "rev/min"),
    ("_w", "W"),
    ("_s", "s"),
    ("thrust_n", "N"),
    ("per_diameter", "mm per mm of diameter"),
)


def unit_of(field: str) -> str:
    """Tell the unit of a table field from its name.

    field: Field name, dotted or not.
    Returns: Unit as shown, empty for a number without one.

    >>> unit_of("spindle.stiffness_n_um"), unit_of("mc")
    ('N/um', '')
    """
    if field.split(".")[-1] == "flutes":
        return ""
    return next((unit for suffix, unit in _UNITS if field.endswith(suffix)), "")


def describe(kind: str, name: str, *, start: Path | None = None) -> list[Line]:
    """Describe a row by name or alias.

    kind: ``materials``, ``cutters`` or ``machines``.
    name: File stem or alias, in any case.
    start: Working folder; None takes the current one.
    Returns: Every field that holds something, in the order of the model.
    Raises InputError: Unknown name, or a table that cannot be used.
    """
    row = load_row(kind, name, start=start)
    lines = describe_row(row)
    if not any(line.source == GIVEN["source"] for line in lines):
        return lines
    own = _named_in(load_marked(file_of(kind, name, start=start))[0])
    return [
        line._replace(source="", confidence="typical, not given")
        if line.source == GIVEN["source"] and not own & _ancestry(line.field)
        else line
        for line in lines
    ]


def _named_in(data: object, at: str = "") -> set[str]:
    """Dotted names of the fields that a file gives, without the groups that hold only further fields."""
    if not isinstance(data, dict):
        return {at}
    found: set[str] = set()
    for key, value in data.items():
        name = f"{at}.{key}" if at else str(key)
        whole = isinstance(value, dict) and "value" not in value and not set(value) & set("xyz")
        found |= _named_in(value, name) if whole else {name}
    return found


def _ancestry(field: str) -> set[str]:
    """A dotted name and the groups it lies in, without places in lists."""
    parts = re.sub(r"\[\d+\]", "", field).split(".")
    return {".".join(parts[:length]) for length in range(1, len(parts) + 1)}


def describe_row(row: Row) -> list[Line]:
    """Describe a loaded row.

    row: The row.
    Returns: Every field that holds something, in the order of the model.
    """
    return list(_lines(row, "", "", ""))


def _number(value: float) -> str:
    """A number without needless digits."""
    return f"{value:.10g}"


def _lines(row: Row, at: str, source: str, confidence: str) -> Iterator[Line]:
    """Lines of a group; plain fields carry the group's own source."""
    source = str(getattr(row, "source", None) or source)
    confidence = str(getattr(row, "confidence", None) or confidence)
    if isinstance(row, ChipLoad):
        source, confidence = row.per_diameter.source, row.per_diameter.confidence
    skipped = {"source", "confidence", "iso_group_source", "power_source", "power_confidence"}
    for name in type(row).model_fields:
        value = getattr(row, name)
        if name in skipped or value is None or value == () or value == "":
            continue
        field = f"{at}.{name}" if at else name
        if name == "power" and isinstance(row, Spindle):
            yield Line(field, _power(value), "W", row.power_source, row.power_confidence)
        elif name == "iso_group":
            yield Line(field, value, "", str(getattr(row, "iso_group_source", "")))
        else:
            yield from _field(field, value, source, confidence)


def _power(points: tuple[PowerPoint, ...]) -> str:
    return ", ".join(f"{_number(point.power_w)} at {_number(point.rpm)} rev/min" for point in points)


def _field(field: str, value: object, source: str, confidence: str) -> Iterator[Line]:
    """Lines of one field of any type."""
    unit = unit_of(field)
    if isinstance(value, Value):
        text = _number(value.value)
        if value.low is not None or value.high is not None:
            text += f" ({_number(value.lowest)} to {_number(value.highest)})"
        yield Line(field, text, unit, value.source, value.confidence, value.note)
    elif isinstance(value, Band):
        text = f"{_number(value.low)} to {_number(value.high)}"
        text += "" if value.start is None else f", start {_number(value.start)}"
        unit = unit or ("m/min" if field.startswith("cutting_speed_m_min.") else "")
        yield Line(field, text, unit, value.source, value.confidence, value.note)
    elif isinstance(value, AxisValues):
        text = f"X {_number(value.x)}, Y {_number(value.y)}, Z {_number(value.z)}"
        yield Line(field, text, unit, value.source, value.confidence, value.note)
    elif isinstance(value, EdgeSet):
        text = (
            f"Ktc {_number(value.ktc_n_mm2)}, Krc {_number(value.krc_n_mm2)}, Kac {_number(value.kac_n_mm2)}; "
            f"Kte {_number(value.kte_n_mm)}, Kre {_number(value.kre_n_mm)}, Kae {_number(value.kae_n_mm)}"
        )
        note = value.label + (" (nominal)" if value.nominal else "")
        yield Line(field, text, "N/mm2; N/mm", value.source, value.confidence, note)
    elif isinstance(value, Row):
        yield from _group(field, value, source, confidence)
    elif isinstance(value, tuple):
        yield from _entries(field, value, source, confidence)
    elif isinstance(value, bool):
        yield Line(field, "yes" if value else "no")
    elif isinstance(value, int | float):
        yield Line(field, _number(value), unit, source, confidence)
    else:
        yield Line(field, str(value))


def _group(field: str, value: Row, source: str, confidence: str) -> Iterator[Line]:
    """A group; one with a `text` is a statement and takes a single line."""
    text = getattr(value, "text", None)
    if isinstance(text, str):
        source, confidence = (
            str(getattr(value, "source", source)),
            str(getattr(value, "confidence", confidence)),
        )
        behaviour = getattr(value, "behaviour", None)
        yield Line(field, f"{behaviour}: {text}" if behaviour else text, "", source, confidence)
    else:
        yield from _lines(value, field, source, confidence)


def _entries(field: str, value: tuple[object, ...], source: str, confidence: str) -> Iterator[Line]:
    """A list: names on one line, groups each on their own."""
    if all(isinstance(entry, str) for entry in value):
        joiner = ", " if field in ("aliases", "cautions", "measured") else " "
        yield Line(field, joiner.join(str(entry) for entry in value))
        return
    if all(hasattr(entry, "mark") and hasattr(entry, "rpm") for entry in value):
        marks = ", ".join(f"{getattr(e, 'mark', '')} = {_number(getattr(e, 'rpm', 0.0))}" for e in value)
        yield Line(field, marks, "rev/min", source, confidence)
        return
    for index, entry in enumerate(value):
        yield from _field(f"{field}[{index + 1}]", entry, source, confidence)
