"""What holds for fields of any table: texts with units become numbers, source keys must exist."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final

from millcalc.errors import InputError, ManyErrors, TableError
from millcalc.tables.models import Row, Source, each_model
from millcalc.tables.yaml_lines import Key, Marks, dotted, line_of, shown

_FIELDS: Final = {
    name: entry.annotation for model in each_model(Row) for name, entry in model.model_fields.items()
}
_TRUE_FALSE: Final = {name for name, annotation in _FIELDS.items() if annotation is bool}
_SOURCE_FIELDS: Final = {"source", "power_source", "iso_group_source"}


@dataclass
class Raw:
    """Plain data of one table file with the line of each value; base rows already laid under it.

    path: The file.
    data: Plain values.
    marks: Line of each value, 1-based [-].
    errors: What was wrong on the way here.
    """

    path: Path
    data: dict[str | int, Any]
    marks: Marks
    errors: list[InputError] = field(default_factory=list)

    def error(self, key: Key, found: str, accepted: str, action: str = "") -> TableError:
        """Make an error at a value.

        key: Path of the value.
        found, accepted, action: See `InputError`.
        Returns: With file, line and field filled in.
        """
        line = line_of(key, self.marks)
        return TableError(found, accepted, action, file=str(self.path), line=line, field=dotted(key) or None)


def each_error(problem: InputError) -> list[InputError]:
    """Take an error apart into the single ones it reports.

    problem: One error, or several together.
    Returns: The single errors.
    """
    return list(problem.errors) if isinstance(problem, ManyErrors) else [problem]


def raise_all(errors: list[InputError]) -> None:
    """Raise what was found: one error as itself, several together in the order of the file.

    errors: May be empty: then nothing happens.
    Raises InputError: The only error, or a ManyErrors.
    """
    if len(errors) == 1:
        raise errors[0]
    if errors:
        raise ManyErrors(sorted(errors, key=lambda error: (error.file or "", error.line or 0)))


def walk(value: object, key: Key = ()) -> Iterator[tuple[Key, object]]:
    """Go through data, each value with its path, groups before what they hold.

    value: Plain data.
    key: Path of the value.
    Yields: Path and value.
    """
    yield key, value
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from walk(inner, (*key, name))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from walk(inner, (*key, index))


def unit_reader(name: str) -> Any:
    """The function of units.py that reads a field's text, by the unit at the end of its name."""
    from millcalc import units

    if name.endswith("_n_mm") or name.endswith("_n_mm2"):
        return None
    for suffix, reader in (
        ("_mm_min", units.feed_mm_min),
        ("_m_min", units.cutting_speed_m_min),
        ("_mm_s2", units.acceleration_mm_s2),
        ("_mm", units.length_mm),
        ("_deg", units.angle_deg),
        ("rpm", units.speed_rpm),
        ("_kg_m3", units.density_kg_m3),
        ("_w", units.power_w),
    ):
        if name.endswith(suffix):
            return reader
    return None


_INNER: Final = {"value", "low", "high", "start", "x", "y", "z"}
_BANDS: Final = {"carbide_uncoated", "carbide_coated", "hss"}
INNER_KEYS: Final = _INNER | _BANDS  # names inside a field, which say nothing of its unit


def convert_units(raw: Raw) -> list[InputError]:
    """Turn texts with units, such as ``1/4 in``, into numbers in the unit of their field, in place.

    raw: Data of a table; changed.
    Returns: Texts that are no quantity, and true/false where none belongs.
    """
    errors: list[InputError] = []
    for key, value in list(walk(raw.data)):
        if not key or not isinstance(value, str | bool):
            continue
        last = key[-1]
        if isinstance(value, bool):
            if last not in _TRUE_FALSE and (isinstance(last, int) or last in _FIELDS):
                errors.append(raw.error(key, shown(value), "a number or text", "put text in quotes"))
                _put(raw.data, key, None)
            continue
        owner = last
        if last in _INNER and len(key) > 1:
            owner = key[-3] if key[-2] in _BANDS and len(key) > 2 else key[-2]
        reader = unit_reader(str(owner))
        if reader is None:
            continue
        try:
            _put(raw.data, key, reader(value))
        except ValueError as problem:
            errors.append(raw.error(key, shown(value), str(problem)))
    return errors


def _put(data: Any, key: Key, value: object) -> None:
    """Replace one value of nested data."""
    for part in key[:-1]:
        data = data[part]
    data[key[-1]] = value


def check_sources(raw: Raw, sources: Mapping[str, Source]) -> list[InputError]:
    """Look up every source key of a table, and hold `published` to published sources.

    raw: Data of a table.
    sources: Known sources by key.
    Returns: Unknown keys, and values called published whose source is not.
    """
    errors: list[InputError] = []
    for key, value in walk(raw.data):
        if not key or key[-1] not in _SOURCE_FIELDS or not isinstance(value, str):
            continue
        if value not in sources:
            close = get_close_matches(value, list(sources), n=3, cutoff=0.5)
            errors.append(
                raw.error(
                    key,
                    f"unknown source '{value}'",
                    f"closest: {', '.join(close)}" if close else "a key of sources.yaml",
                    "add it to a sources.yaml beside your tables, or use a known key",
                )
            )
            continue
        group: Any = raw.data
        for part in key[:-1]:
            group = group[part]
        claim = group.get("power_confidence" if key[-1] == "power_source" else "confidence")
        kind = sources[value].kind
        if claim in ("published", "measured") and kind != claim and key[-1] != "iso_group_source":
            errors.append(
                raw.error(
                    (*key[:-1], "confidence"),
                    f"confidence {claim} with the source '{value}', which is {kind}",
                    f"a {claim} source, or a weaker confidence",
                    f"write confidence: {kind}",
                )
            )
    return errors
