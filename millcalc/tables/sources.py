"""The sources behind the numbers, and the cautions: the two small tables every other one points at."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from millcalc.errors import InputError, TableError
from millcalc.tables.fields import each_error, raise_all
from millcalc.tables.locate import search_roots
from millcalc.tables.models import Caution, Row, Source
from millcalc.tables.yaml_lines import load_marked, shown, validate

Entry = TypeVar("Entry", bound=Row)


def load_sources(start: Path | None = None) -> dict[str, Source]:
    """Load the sources, the person's own added to the shipped ones.

    start: Working folder; None takes the current one.
    Returns: Sources by key; the person's own entry wins over a shipped one of the same key.
    Raises InputError: A sources.yaml that cannot be used.
    """
    return _gather("sources.yaml", Source, start)


def load_cautions(start: Path | None = None) -> dict[str, Caution]:
    """Load the cautions, the person's own added to the shipped ones.

    start: Working folder; None takes the current one.
    Returns: Cautions by key, in the order of the file.
    Raises InputError: A cautions.yaml that cannot be used.
    """
    return _gather("cautions.yaml", Caution, start)


def load_entries(path: Path, model: type[Entry]) -> dict[str, Entry]:
    """Load one file of ``key: {fields}`` entries.

    path: The file.
    model: Source or Caution.
    Returns: Entries by key.
    Raises InputError: The file or an entry cannot be used.
    """
    stamp = path.stat() if path.is_file() else None
    return dict(_entries(path, model, None if stamp is None else (stamp.st_mtime_ns, stamp.st_size)))


@lru_cache(maxsize=64)
def _entries(path: Path, model: type[Entry], stamp: tuple[int, int] | None) -> dict[str, Entry]:
    """Entries of a file in the state the stamp names."""
    data, marks = load_marked(path)
    if not isinstance(data, dict):
        found = "only comments" if data is None else shown(data)
        raise TableError(found, "entries of `key: {...}`", "see materials/README.md", file=str(path))
    result: dict[str, Entry] = {}
    errors: list[InputError] = []
    for key, entry in data.items():
        inside = {tuple(k[1:]): line for k, line in marks.items() if k[:1] == (key,)}
        try:
            result[str(key)] = validate(model, entry, inside, path)
        except InputError as problem:
            for single in each_error(problem):
                field = f"{key}.{single.field}" if single.field else str(key)
                errors.append(
                    TableError(
                        single.found,
                        single.accepted,
                        single.action,
                        file=single.file,
                        line=single.line,
                        field=field,
                    )
                )
    raise_all(errors)
    return result


def _gather(name: str, model: type[Entry], start: Path | None) -> dict[str, Entry]:
    """Entries of every file of that name, the first folder winning."""
    gathered: dict[str, Entry] = {}
    for root in reversed(search_roots(start)):
        if (root / name).exists():
            gathered.update(load_entries(root / name, model))
    return gathered
