"""Loads materials, cutters and machines by name, with every problem of a file reported at its line."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Final, NamedTuple, TypeVar, cast

from millcalc.errors import InputError, TableError
from millcalc.tables.bounds import refuse_odd_sizes
from millcalc.tables.checks import problems
from millcalc.tables.fields import Raw, check_sources, convert_units, each_error, raise_all
from millcalc.tables.locate import is_shipped, search_roots
from millcalc.tables.models import Cutter, Machine, Material, Row
from millcalc.tables.names import KINDS, Kind, aliases_of, files_of, find, slug
from millcalc.tables.reading import read_raw
from millcalc.tables.sources import load_cautions, load_sources
from millcalc.tables.yaml_errors import NEEDED
from millcalc.tables.yaml_lines import load_marked, validate

MODELS: Final[dict[Kind, type[Row]]] = {"materials": Material, "cutters": Cutter, "machines": Machine}
Model = TypeVar("Model", bound=Row)


class Summary(NamedTuple):
    """One line of a list of table rows.

    name, title: Name for the command line, name for reading.
    group: Family of a material, kind of a cutter, drive of a machine.
    aliases: Other names.
    path: The file.
    shipped: False for the person's own tables.
    """

    name: str
    title: str
    group: str
    aliases: tuple[str, ...]
    path: Path
    shipped: bool


def load_material(name: str, *, start: Path | None = None) -> Material:
    """Load a work material by name or alias.

    name: File stem or alias, in any case.
    start: Working folder; None takes the current one.
    Returns: The frozen row.
    Raises InputError: Unknown name, or a table that cannot be used.

    >>> load_material("6082").name
    'al-6082-t6'
    """
    return cast(Material, load_row("materials", name, start=start))


def load_cutter(name: str, *, start: Path | None = None) -> Cutter:
    """Load a cutter by name or alias.

    name: File stem or alias, in any case.
    start: Working folder; None takes the current one.
    Returns: The frozen row.
    Raises InputError: Unknown name, or a table that cannot be used.

    >>> load_cutter("flat-6mm-1f").diameter_mm
    6.0
    """
    return cast(Cutter, load_row("cutters", name, start=start))


def load_machine(name: str, *, start: Path | None = None) -> Machine:
    """Load a machine by name or alias.

    name: File stem or alias, in any case.
    start: Working folder; None takes the current one.
    Returns: The frozen row.
    Raises InputError: Unknown name, or a table that cannot be used.

    >>> load_machine("gantry-1500w").typical
    True
    """
    return cast(Machine, load_row("machines", name, start=start))


def load_row(kind: str, name: str, *, start: Path | None = None) -> Row:
    """Load a row of any kind by name or alias.

    kind: ``materials``, ``cutters`` or ``machines``.
    name: File stem or alias, in any case.
    start: Working folder; None takes the current one.
    Returns: The frozen row.
    Raises InputError: Unknown name, or a table that cannot be used.
    """
    wanted = _kind(kind)
    roots = search_roots(start)
    return row_from(wanted, find(wanted, name, roots), start=start)


def row_from(kind: Kind, path: Path, *, start: Path | None = None) -> Row:
    """Load a row from its file, whether or not the file lies in a searched folder.

    kind: ``materials``, ``cutters`` or ``machines``.
    path: Table file.
    start: Working folder; None takes the current one.
    Returns: The frozen row.
    Raises InputError: Everything found wrong in the file, together.

    Note: A shipped row is read once, and again when its file changed; a person's own every time, for it may stand on
      any other.
    """
    load_sources(start)  # what is wrong in the person's own sources is told whatever row is asked for
    if is_shipped(path) and path.is_file():
        stamp = path.stat()
        row = _shipped(kind, path, stamp.st_mtime_ns, stamp.st_size)
        if row is not None:
            return row
    return _read(kind, path, start)


@lru_cache(maxsize=256)
def _shipped(kind: Kind, path: Path, _changed_ns: int, _size: int) -> Row | None:
    """A shipped row in the state its file has; None where it stands on another row."""
    data, _ = load_marked(path)
    return None if isinstance(data, dict) and "based_on" in data else _read(kind, path, None)


def _read(kind: Kind, path: Path, start: Path | None) -> Row:
    raw = read_raw(kind, path, search_roots(start))
    errors = [*raw.errors, *convert_units(raw)]
    errors += refuse_odd_sizes(raw)
    broken = {error.field for error in errors}
    errors += check_sources(raw, load_sources(start))
    row: Row | None = None
    try:
        row = validate(MODELS[kind], raw.data, raw.marks, path)
    except InputError as problem:
        errors += [single for single in each_error(problem) if single.field not in broken]
        if kind == "cutters" and "based_on" not in raw.data and "source" not in raw.data:
            # the rest of such a cutter is typical of its kind once what is wrong in it is mended
            errors = [single for single in errors if single.accepted != NEEDED] or errors
    if row is not None:
        errors += [raw.error(key, found, accepted) for key, found, accepted in problems(row)]
        if isinstance(row, Material):
            errors += _cautions(raw, row, start)
    raise_all(errors)
    assert row is not None
    return row


def _cautions(raw: Raw, row: Material, start: Path | None) -> list[InputError]:
    """Caution keys that no cautions.yaml has."""
    if not row.cautions:
        return []
    known = load_cautions(start)
    return [
        raw.error(("cautions", index), f"unknown caution '{key}'", f"one of: {', '.join(known)}")
        for index, key in enumerate(row.cautions)
        if key not in known
    ]


def list_names(kind: str, *, start: Path | None = None) -> list[str]:
    """List the names of a kind, shipped and the person's own.

    kind: ``materials``, ``cutters`` or ``machines``.
    start: Working folder; None takes the current one.
    Returns: Names in alphabetical order.
    Raises TableError: No such kind.
    """
    return sorted(files_of(_kind(kind), search_roots(start)))


def file_of(kind: str, name: str, *, start: Path | None = None) -> Path:
    """Find the file a name or alias is loaded from.

    kind: ``materials``, ``cutters`` or ``machines``.
    name: File stem or alias, in any case.
    start: Working folder; None takes the current one.
    Returns: The table file.
    Raises TableError: Unknown name, with the closest ones.
    """
    wanted = _kind(kind)
    return find(wanted, name, search_roots(start))


def summaries(kind: str, *, start: Path | None = None) -> tuple[list[Summary], list[InputError]]:
    """Summarise every row of a kind, for a list; rows are not checked in full here.

    kind: ``materials``, ``cutters`` or ``machines``.
    start: Working folder; None takes the current one.
    Returns: rows: In alphabetical order. errors: Files that could not be read.
    """
    wanted = _kind(kind)
    roots = search_roots(start)
    field = {"materials": "family", "cutters": "kind", "machines": "drive"}[wanted]
    rows: list[Summary] = []
    errors: list[InputError] = []
    for name, path in sorted(files_of(wanted, roots).items()):
        try:
            raw = read_raw(wanted, path, roots)
        except InputError as problem:
            errors += each_error(problem)
            continue
        errors += raw.errors
        data = raw.data
        aliases = data.get("aliases")
        other = tuple(str(alias) for alias in aliases) if isinstance(aliases, list) else ()
        title, group = str(data.get("title", name)), str(data.get(field, ""))
        rows.append(Summary(name, title, group, other, path, is_shipped(path)))
    return rows, errors


def alias_clashes(kind: str, *, start: Path | None = None) -> list[str]:
    """List aliases that cannot be reached because a name or another row's alias has them already.

    kind: ``materials``, ``cutters`` or ``machines``.
    start: Working folder; None takes the current one.
    Returns: One sentence a clash.
    """
    files = files_of(_kind(kind), search_roots(start))
    known, _ = aliases_of(files)
    clashes = [
        f"alias {alias} of {name} is the name of a row" for alias, name in known.items() if alias in files
    ]
    for name, path in files.items():
        try:
            data, _ = load_marked(path)
        except InputError:
            continue
        given = data.get("aliases") if isinstance(data, dict) else None
        for alias in given if isinstance(given, list) else []:
            if known.get(slug(str(alias))) != name:
                clashes.append(f"alias {alias} of {name} already belongs to {known.get(slug(str(alias)))}")
    return clashes


def _kind(kind: str) -> Kind:
    """The kind, checked."""
    for known in KINDS:
        if kind == known:
            return known
    raise TableError(f"unknown kind of table '{kind}'", ", ".join(KINDS))
