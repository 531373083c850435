"""From a table file to plain data: finding it by name, laying it over the row it is based on, units, sources.

Takes names and folders, gives data with line marks; the models are filled in :mod:`millcalc.tables.rows`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any, Final, Literal

from millcalc.errors import InputError, ManyErrors, TableError
from millcalc.tables.models import Row, Source, each_model
from millcalc.tables.yaml_lines import Key, Marks, dotted, line_of, load_marked, shown

Kind = Literal["materials", "cutters", "machines"]
KINDS: Final[tuple[Kind, ...]] = ("materials", "cutters", "machines")
SINGULAR: Final[dict[str, str]] = {"materials": "material", "cutters": "cutter", "machines": "machine"}

_FIELDS: Final = {
    name: field.annotation for model in each_model(Row) for name, field in model.model_fields.items()
}
_TRUE_FALSE: Final = {name for name, annotation in _FIELDS.items() if annotation is bool}
_SOURCE_FIELDS: Final = {"source", "power_source", "iso_group_source"}


@dataclass
class Raw:
    """Plain data of one table file with the line of each value; base rows already laid under it."""

    path: Path
    data: dict[str | int, Any]
    marks: Marks

    def error(self, key: Key, found: str, accepted: str, action: str = "") -> TableError:
        """Make an error at a value.

        Parameters
        ----------
        key : tuple
            Path of the value.
        found, accepted, action : str
            See `InputError`.

        Returns
        -------
        TableError
            With file, line and field filled in.
        """
        line = line_of(key, self.marks)
        return TableError(found, accepted, action, file=str(self.path), line=line, field=dotted(key) or None)


def each_error(problem: InputError) -> list[InputError]:
    """Take an error apart into the single ones it reports.

    Parameters
    ----------
    problem : InputError
        One error, or several together.

    Returns
    -------
    list of InputError
        The single errors.
    """
    return list(problem.errors) if isinstance(problem, ManyErrors) else [problem]


def raise_all(errors: list[InputError]) -> None:
    """Raise what was found: one error as itself, several together in the order of the file.

    Parameters
    ----------
    errors : list of InputError
        May be empty: then nothing happens.

    Raises
    ------
    InputError
        The only error, or a ManyErrors.
    """
    if len(errors) == 1:
        raise errors[0]
    if errors:
        raise ManyErrors(sorted(errors, key=lambda error: (error.file or "", error.line or 0)))


def slug(name: str) -> str:
    """Write a name the way names are compared: small letters, hyphens for blanks and underscores.

    Parameters
    ----------
    name : str
        Name as typed, or a file stem.

    Returns
    -------
    str
        Comparable name.

    Example
    -------
    >>> slug(" AL_6061 T6 ")
    'al-6061-t6'
    """
    return re.sub(r"[\s_]+", "-", name.strip().lower())


def files_of(kind: Kind, roots: tuple[Path, ...]) -> dict[str, Path]:
    """Index the table files of a kind by comparable name, the first folder winning.

    Parameters
    ----------
    kind : str
        ``materials``, ``cutters`` or ``machines``.
    roots : tuple of Path
        Folders in the order searched.

    Returns
    -------
    dict
        Comparable name to file.
    """
    found: dict[str, Path] = {}
    for root in roots:
        folder = root / kind
        if folder.is_dir():
            for path in sorted(folder.iterdir()):
                if path.suffix.lower() in (".yaml", ".yml"):
                    found.setdefault(slug(path.stem), path)
    return found


def aliases_of(files: Mapping[str, Path]) -> tuple[dict[str, str], list[InputError]]:
    """Index the other names of table rows.

    Parameters
    ----------
    files : mapping
        Comparable name to file.

    Returns
    -------
    aliases : dict
        Comparable alias to comparable name.
    errors : list of InputError
        Files that could not be read, whose aliases are therefore unknown.
    """
    aliases: dict[str, str] = {}
    errors: list[InputError] = []
    for name, path in files.items():
        try:
            data, _ = load_marked(path)
        except InputError as problem:
            errors.append(problem)
            continue
        given = data.get("aliases") if isinstance(data, dict) else None
        for alias in given if isinstance(given, list) else []:
            aliases.setdefault(slug(str(alias)), name)
    return aliases, errors


def find(kind: Kind, name: str, roots: tuple[Path, ...]) -> Path:
    """Find the table file of a name or alias.

    Parameters
    ----------
    kind : str
        ``materials``, ``cutters`` or ``machines``.
    name : str
        File stem or alias, in any case.
    roots : tuple of Path
        Folders in the order searched.

    Returns
    -------
    Path
        The table file.

    Raises
    ------
    TableError
        Unknown name, with the closest names.
    """
    files = files_of(kind, roots)
    wanted = slug(name)
    if wanted in files:
        return files[wanted]
    mentioning = {name: path for name, path in files.items() if _mentions(path, wanted)}
    aliases, _ = aliases_of(mentioning)
    if wanted in aliases:
        return files[aliases[wanted]]
    aliases, unread = aliases_of(files)
    raise unknown_name(kind, name, files, aliases, unread)


def _mentions(path: Path, wanted: str) -> bool:
    """Whether a name stands anywhere in a file; a quick look before the YAML is read."""
    try:
        with path.open("rb") as handle:
            text = handle.read(200_000).decode("utf-8", "replace")
    except OSError:
        return True
    return wanted in slug(text)


def unknown_name(
    kind: Kind,
    name: str,
    files: Mapping[str, Path],
    aliases: Mapping[str, str],
    unread: list[InputError],
) -> TableError:
    """Make the error for a name no table has, offering the closest ones.

    Parameters
    ----------
    kind : str
        ``materials``, ``cutters`` or ``machines``.
    name : str
        The name as typed.
    files, aliases : mapping
        What is known.
    unread : list of InputError
        Table files that could not be read.

    Returns
    -------
    TableError
        With up to four names.
    """
    known = [*files, *aliases]
    wanted = slug(name)
    close = get_close_matches(wanted, known, n=6, cutoff=0.6) if wanted else []
    close += [entry for entry in sorted(files) if len(wanted) >= 3 and wanted in entry and entry not in close]
    best = list(dict.fromkeys(aliases.get(entry, entry) for entry in close))[:4]
    accepted = f"closest: {', '.join(best)}" if best else f"one of the {len(files)} {kind} of the tables"
    action = f"choose one (`millcalc tables {kind}` lists them) or write {kind}/{wanted or 'NAME'}.yaml"
    if unread:
        action += f"; {len(unread)} table file(s) could not be read, first: {unread[0]}"
    return TableError(f"unknown {SINGULAR[kind]} '{name}'", accepted, action)


def read_raw(kind: Kind, path: Path, roots: tuple[Path, ...], seen: tuple[Path, ...] = ()) -> Raw:
    """Read a table file and lay it over the row it names in ``based_on``.

    Parameters
    ----------
    kind : str
        ``materials``, ``cutters`` or ``machines``.
    path : Path
        Table file.
    roots : tuple of Path
        Folders in the order searched.
    seen : tuple of Path
        Files already on the way, to notice a circle.

    Returns
    -------
    Raw
        Merged data with ``name`` filled in and ``based_on`` taken out.

    Raises
    ------
    InputError
        The file or its base cannot be used.
    """
    data, marks = load_marked(path)
    if not isinstance(data, dict):
        found = "only comments" if data is None else shown(data)
        raise TableError(found, "a table of 'field: value' lines", "see materials/README.md", file=str(path))
    raw = Raw(path, data, marks)
    errors: list[InputError] = []
    name = data.setdefault("name", path.stem)
    if slug(str(name)) != slug(path.stem):
        errors.append(
            raw.error(("name",), shown(name), f"the file's name, {path.stem}", "leave the line out")
        )
    data["name"] = slug(path.stem)
    if "based_on" in data:
        base = _base_of(kind, raw, roots, (*seen, path.resolve()))
        raw = _lay_over(base, raw, errors)
    raise_all(errors)
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


def _lay_over(base: Raw, over: Raw, errors: list[InputError]) -> Raw:
    """The base row with the fields of a table put in its place; carried fields point at ``based_on``."""
    line = line_of(("based_on",), over.marks) or 1
    marks: Marks = {key: line for key in base.marks}
    given = {key: value for key, value in over.data.items() if key != "based_on"}
    if base.data.get("name") != given.get("name"):
        base.data.pop("aliases", None)
    merged = _merged(base.data, given, (), over, errors)
    marks.update(over.marks)
    return Raw(over.path, merged, marks)


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


def _is_leaf(group: Mapping[str | int, Any]) -> bool:
    """Whether a group is one sourced value, which is only ever replaced whole."""
    return "source" in group and not any(isinstance(value, dict | list) for value in group.values())


def _is_number(key: str | int, value: object) -> bool:
    """Whether a field holds a number, or a list of numbers that bring no source themselves."""
    if isinstance(value, list):
        return any(_plain_group(entry) for entry in value)
    if isinstance(value, bool):
        return False
    return isinstance(value, int | float) or (isinstance(value, str) and _reader(str(key)) is not None)


def _plain_group(entry: object) -> bool:
    """Whether a list entry is a group without a source of its own, inside or below."""
    return isinstance(entry, dict) and not any(key and key[-1] == "source" for key, _ in walk(entry))


def walk(value: object, key: Key = ()) -> Iterator[tuple[Key, object]]:
    """Go through data, each value with its path, groups before what they hold.

    Parameters
    ----------
    value : object
        Plain data.
    key : tuple
        Path of the value.

    Yields
    ------
    tuple
        Path and value.
    """
    yield key, value
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from walk(inner, (*key, name))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from walk(inner, (*key, index))


def _reader(name: str) -> Any:
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


def convert_units(raw: Raw) -> list[InputError]:
    """Turn texts with units, such as ``1/4 in``, into numbers in the unit of their field, in place.

    Parameters
    ----------
    raw : Raw
        Data of a table; changed.

    Returns
    -------
    list of InputError
        Texts that are no quantity, and true/false where none belongs.
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
        reader = _reader(str(owner))
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

    Parameters
    ----------
    raw : Raw
        Data of a table.
    sources : mapping
        Known sources by key.

    Returns
    -------
    list of InputError
        Unknown keys, and values called published whose source is not.
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
