"""Reads a table file and lays it over the row it is based on.

A changed number of a shipped table must bring its own source; one of a person's own without a source is given by them.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from millcalc.errors import InputError, TableError
from millcalc.tables.fields import Raw, unit_reader, walk
from millcalc.tables.locate import is_shipped
from millcalc.tables.names import Kind, find, slug
from millcalc.tables.typical import take_typical
from millcalc.tables.yaml_lines import Key, Marks, line_of, load_marked, shown

# source of a person's own number that names none
GIVEN: Final = {"source": "given-by-you", "confidence": "given by you"}


def read_raw(kind: Kind, path: Path, roots: tuple[Path, ...], seen: tuple[Path, ...] = ()) -> Raw:
    """Read a table file and lay it over the row it names in ``based_on``.

    kind: ``materials``, ``cutters`` or ``machines``.
    path: Table file.
    roots: Folders in the order searched.
    seen: Files already on the way, to notice a circle.
    Returns: Merged data with ``name`` filled in and ``based_on`` taken out; lesser faults in its
      ``errors``.
    Raises InputError: The file or its base cannot be used.
    """
    data, marks = load_marked(path)
    if not isinstance(data, dict):
        found = "only comments" if data is None else shown(data)
        raise TableError(found, "a table of 'field: value' lines", "see materials/README.md", file=str(path))
    raw = Raw(path, data, marks)
    name = data.setdefault("name", path.stem)
    if slug(str(name)) != slug(path.stem):
        raw.errors.append(
            raw.error(("name",), shown(name), f"the file's name, {path.stem}", "leave the line out")
        )
    data["name"] = slug(path.stem)
    own = not is_shipped(path)
    if kind == "cutters" and own:
        take_typical(data, path)
    if "based_on" in data:
        base = _base_of(kind, raw, roots, (*seen, path.resolve()))
        raw = _lay_over(base, raw, own)
    return raw


def _base_of(kind: Kind, raw: Raw, roots: tuple[Path, ...], seen: tuple[Path, ...]) -> Raw:
    """The row a table is based on; a table of the same name in a later folder counts as a base."""
    wanted = raw.data["based_on"]
    key: Key = ("based_on",)
    if not isinstance(wanted, str | int) or isinstance(wanted, bool):
        raise raw.error(key, shown(wanted), f"the name of one of the {kind}")
    usable = tuple(roots)
    if slug(str(wanted)) == slug(raw.path.stem):
        holding = [i for i, root in enumerate(roots) if raw.path.resolve().is_relative_to(root.resolve())]
        usable = roots[holding[0] + 1 :] if holding else roots
    try:
        path = find(kind, str(wanted), usable)
    except TableError as problem:
        raise raw.error(key, problem.found, problem.accepted, problem.action) from None
    if path.resolve() in seen:
        raise raw.error(key, f"a circle: {wanted} is based on this table", "a base that does not lead back")
    return read_raw(kind, path, roots, seen)


def _lay_over(base: Raw, over: Raw, own: bool) -> Raw:
    """The base row with the fields of a table put in its place; carried fields point at ``based_on``."""
    line = line_of(("based_on",), over.marks) or 1
    marks: Marks = {key: line for key in base.marks}
    given = {key: value for key, value in over.data.items() if key != "based_on"}
    if base.data.get("name") != given.get("name"):
        base.data.pop("aliases", None)
    errors = [*base.errors, *over.errors]
    merged = _merged(base.data, _given_by_you(base.data, given) if own else given, (), over, errors)
    marks.update(over.marks)
    return Raw(over.path, merged, marks, errors)


def _merged(
    base: Mapping[str | int, Any], over: Mapping[str | int, Any], at: Key, raw: Raw, errors: list[InputError]
) -> dict[str | int, Any]:
    """Base and new fields; a new number in a group with a source must bring its own source."""
    result = dict(base)
    for key, value in over.items():
        old = base.get(key)
        if isinstance(value, dict) and isinstance(old, dict) and not _is_leaf(old):
            result[key] = _merged(old, value, (*at, key), raw, errors)
        else:
            result[key] = value
    for key, value in over.items():
        owner = "power_source" if key == "power" else "source"
        trust = "power_confidence" if key == "power" else "confidence"
        if value != base.get(key) and _is_number(key, value) and owner in base:
            if owner in over and trust in over:
                continue
            errors.append(
                raw.error(
                    (*at, key),
                    f"{shown(value)} without its own source",
                    f"`{owner}:` and `{trust}:` beside the changed numbers",
                    "use own-measurement with confidence measured, if you measured it",
                )
            )
    return result


def _given_by_you(base: Mapping[str | int, Any], over: Mapping[str | int, Any]) -> dict[str | int, Any]:
    """The person's fields, with the source "given by you" where they changed a number and named none."""
    result: dict[str | int, Any] = dict(over)
    for key, value in over.items():
        old = base.get(key)
        if isinstance(old, dict) and _is_leaf(old):
            if isinstance(value, int | float | str) and not isinstance(value, bool) and "value" in old:
                result[key] = {"value": value, **GIVEN}
            elif isinstance(value, dict) and "source" not in value:
                left = ("low", "high", "note") if "value" in old else ("note",)
                result[key] = {**{k: v for k, v in old.items() if k not in left}, **value, **GIVEN}
        elif isinstance(old, dict) and isinstance(value, dict):
            result[key] = _given_by_you(old, value)
    for owner, trust, numbers in (
        ("power_source", "power_confidence", ("power",)),
        ("source", "confidence", tuple(key for key in over if key != "power")),
    ):
        changed = any(
            key in over and over[key] != base.get(key) and _is_number(key, over[key]) for key in numbers
        )
        if changed and owner in base and owner not in over and trust not in over:
            result |= {owner: GIVEN["source"], trust: GIVEN["confidence"]}
    return result


def _is_leaf(group: Mapping[str | int, Any]) -> bool:
    """Whether a group is one sourced value, which is only ever replaced whole."""
    return "source" in group and not any(isinstance(value, dict | list) for value in group.values())


def _is_number(key: str | int, value: object) -> bool:
    """Whether a field holds a number, or a list of numbers that bring no source themselves."""
    if isinstance(value, list):
        return any(_plain_group(entry) for entry in value)
    if isinstance(value, bool):
        return False
    return isinstance(value, int | float) or (isinstance(value, str) and unit_reader(str(key)) is not None)


def _plain_group(entry: object) -> bool:
    """Whether a list entry is a group without a source of its own, inside or below."""
    return isinstance(entry, dict) and not any(key and key[-1] == "source" for key, _ in walk(entry))
