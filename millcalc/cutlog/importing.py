"""Read entries from CSV or JSON: columns are mapped by name, every bad row is named, nothing is guessed."""

from __future__ import annotations

import csv
import hashlib
import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, Final

from millcalc.cutlog.export import COMPUTED_COLUMN, CSV_COLUMNS, SCHEMA, SHARE_COLUMNS, unshielded
from millcalc.cutlog.guard import guarded
from millcalc.cutlog.inch_columns import fields_in_inches
from millcalc.cutlog.models import Entry
from millcalc.cutlog.rows import FIELDS, entry_from
from millcalc.cutlog.store import Log
from millcalc.cutlog.values import value_of
from millcalc.errors import InputError, LogError, ManyErrors
from millcalc.files import refuse_odd
from millcalc.mechanics.kinematics import feed_mm_min as feed_from_tooth

_DELIMITERS: Final = (",", ";", "\t")


@dataclass(frozen=True, slots=True)
class Column:
    """Where one column of the file goes.

    field: Field of an entry, ``share_`` and a limit, or ``feed_per_tooth_mm``.
    unit: Unit of bare numbers in the column; empty for the field's own.
    """

    field: str
    unit: str = ""


@dataclass(frozen=True)
class Reading:
    """What a file held.

    entries: Rows that are entries.
    errors: Rows that are not, with their line.
    ignored: Columns that were not mapped.
    """

    entries: tuple[Entry, ...]
    errors: tuple[InputError, ...] = ()
    ignored: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Imported:
    """What an import did, or in a dry run would do.

    added: New entries [-].
    known: Entries the log held already, left as they are [-].
    first, last: Numbers of the new entries; None in a dry run or when there are none [-].
    """

    added: int
    known: int
    first: int | None = None
    last: int | None = None


def parse_mapping(texts: Sequence[str]) -> dict[str, Column]:
    """Read ``COLUMN=FIELD`` or ``COLUMN=FIELD:UNIT``.

    texts: As typed, e.g. ``Depth=axial_depth_mm:in``.
    Returns: By column name in the file.
    Raises LogError: When a text has no ``=``, or the field does not exist.
    """
    found = {}
    for text in texts:
        column, equals, target = text.rpartition("=")
        field, _, unit = target.partition(":")
        if not equals or not column.strip():
            raise LogError(repr(text), "COLUMN=FIELD or COLUMN=FIELD:UNIT", field="--map")
        if field.strip() not in CSV_COLUMNS:
            raise LogError(f"field {field.strip()!r}", "one of: " + ", ".join(CSV_COLUMNS), field="--map")
        found[column.strip()] = Column(field.strip(), unit.strip())
    return found


def read_entries(
    path: Path, mapping: Mapping[str, Column] | None = None, defaults: Mapping[str, str] | None = None
) -> Reading:
    """Read a CSV or JSON file of cuts.

    path: The file; JSON when its name ends so, else CSV.
    mapping: Columns of the file with other names than the log's fields.
    defaults: Text for fields the file does not hold, e.g. the machine.
    Returns: Entries, and the rows that could not be used.
    Raises LogError: When the file as a whole cannot be used.
    """
    try:
        refuse_odd(path, kind=LogError)
        with path.open(encoding="utf-8-sig", newline="") as file:
            if path.suffix.lower() == ".json":
                return _read_json(file, path)
            return _read_csv(file, path, mapping or {}, defaults or {})
    except UnicodeDecodeError as error:
        raise LogError(
            f"bytes that are not UTF-8 text (at byte {error.start})",
            "a CSV or JSON file in UTF-8",
            "save it again as `CSV UTF-8`",
            file=str(path),
        ) from error
    except OSError as error:
        raise LogError(error.strerror or str(error), "a file that can be read", file=str(path)) from error


def _read_json(file: IO[str], path: Path) -> Reading:
    try:
        data = json.load(file)
    except (ValueError, RecursionError) as error:
        line = getattr(error, "lineno", None)
        raise LogError(f"text that is not JSON ({error})", "JSON", file=str(path), line=line) from error
    if (
        not isinstance(data, dict)
        or data.get("schema") != SCHEMA
        or not isinstance(data.get("entries"), list)
    ):
        raise LogError(
            "JSON of something else", f'an export of the log, with "schema": "{SCHEMA}"', file=str(path)
        )
    entries, errors = [], []
    for index, item in enumerate(data["entries"]):
        where = f"{path}: entries[{index}]"
        try:
            if not isinstance(item, dict):
                raise LogError(type(item).__name__, "an object with the fields of an entry", file=where)
            entries.append(entry_from(item, where))
        except InputError as error:
            errors.append(error)
    return Reading(_named(entries), tuple(errors))


def _read_csv(
    file: IO[str], path: Path, mapping: Mapping[str, Column], defaults: Mapping[str, str]
) -> Reading:
    head = file.readline()
    delimiter = max(_DELIMITERS, key=head.count)
    file.seek(0)
    reader = csv.reader(file, delimiter=delimiter, strict=True)
    try:
        names = [unshielded(name.strip()) for name in next(reader, [])]
        columns = _columns(names, mapping, path)
        entries, errors = [], []
        for line, cells in _lines(reader):
            try:
                entries.append(_entry_of(cells, columns, defaults, path, line))
            except ManyErrors as error:
                errors += list(error.errors)
            except InputError as error:
                errors.append(error)
    except csv.Error as error:
        raise LogError(
            f"text that is not CSV ({error})", "one header line, then a line a cut", file=str(path),
            line=reader.line_num,
        ) from error  # fmt: skip
    ignored = tuple(name for name, column in zip(names, columns, strict=True) if column is None and name)
    return Reading(_named(entries), tuple(errors), ignored)


def _lines(reader: Any) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of every row that is not empty."""
    for cells in reader:
        if any(cell.strip() for cell in cells):
            yield reader.line_num, cells


def _columns(names: list[str], mapping: Mapping[str, Column], path: Path) -> list[Column | None]:
    """Target of each column, None for one that is not wanted."""
    missing = [name for name in mapping if name not in names]
    if missing:
        raise LogError(
            "the columns " + ", ".join(repr(name) for name in names),
            "a header that holds " + ", ".join(repr(name) for name in missing),
            "give --map the names as they stand in the first line",
            file=str(path),
            line=1,
        )
    inches = {name: Column(*found) for name, found in fields_in_inches(CSV_COLUMNS).items()}
    columns = [
        mapping.get(name) or (Column(name) if name in CSV_COLUMNS else inches.get(name)) for name in names
    ]
    fields = Counter(column.field for column in columns if column)
    twice = [field for field, count in fields.items() if count > 1]
    if twice:
        raise LogError(f"two columns for {twice[0]}", "one column a field", file=str(path), line=1)
    if not fields:
        raise LogError(
            "no column the log knows",
            "a header line with field names: " + ", ".join(CSV_COLUMNS[:8]) + ", ...",
            "map the columns with --map COLUMN=FIELD",
            file=str(path),
            line=1,
        )
    return columns


def _entry_of(
    cells: list[str], columns: list[Column | None], defaults: Mapping[str, str], path: Path, line: int
) -> Entry:
    if len(cells) > len(columns) and any(cell.strip() for cell in cells[len(columns) :]):
        raise LogError(f"{len(cells)} cells", f"{len(columns)}, as in the header", file=str(path), line=line)
    values: dict[str, Any] = {name: value for name, value in defaults.items() if value}
    shares: dict[str, float] = {}
    fz: float | None = None
    for column, cell in zip(columns, cells, strict=False):
        text = unshielded(cell).strip()
        if column is None or not text:
            continue
        try:
            value = value_of(column.field, text, column.unit)
        except (ValueError, OverflowError) as error:
            raise LogError(repr(text), str(error), file=str(path), line=line, field=column.field) from error
        if column.field in SHARE_COLUMNS:
            shares[column.field.removeprefix("share_")] = value
        elif column.field == COMPUTED_COLUMN:
            fz = value
        else:
            values[column.field] = value
    _finish(values, shares, fz, path, line)
    return entry_from(values, str(path), line)


def _finish(
    values: dict[str, Any], shares: dict[str, float], fz: float | None, path: Path, line: int
) -> None:
    """Put the shares together and turn a chip load into a feed, in place."""
    if shares:
        values["shares"] = shares
    flutes, speed = values.get("flutes"), values.get("speed_rpm")
    if fz is not None and "feed_mm_min" not in values and flutes and speed:
        override = float(values.get("override_percent", 100.0))
        try:
            values["feed_mm_min"] = float(feed_from_tooth(fz, flutes, speed)) * 100.0 / override
        except (ValueError, ZeroDivisionError) as error:
            raise LogError(str(error), file=str(path), line=line, field=COMPUTED_COLUMN) from error


def _named(entries: list[Entry]) -> tuple[Entry, ...]:
    """Entries without a uid get one made of their content, so that the same file twice adds nothing twice."""
    seen: Counter[str] = Counter()
    named = []
    for entry in entries:
        if not entry.uid:
            content = json.dumps([str(getattr(entry, name)) for name in FIELDS], ensure_ascii=True)
            seen[content] += 1
            digest = hashlib.sha256(f"{content}#{seen[content]}".encode()).hexdigest()
            entry = entry.model_copy(update={"uid": digest[:32]})
        named.append(entry)
    return tuple(named)


def import_entries(log: Log, entries: Sequence[Entry], *, dry_run: bool = False) -> Imported:
    """Add the entries the log does not hold yet, in one transaction.

    log: Open log.
    entries: As read; each with its ``uid``.
    dry_run: Only count.
    Returns: How many are new.
    Raises LogError: When they cannot be written; then none was.
    """
    known = _known_uids(log, entries)
    fresh = list({entry.uid: entry for entry in entries if entry.uid not in known}.values())
    if dry_run or not fresh:
        return Imported(len(fresh), len(entries) - len(fresh))
    stored = log.add_many(fresh, "import")
    return Imported(len(fresh), len(entries) - len(fresh), stored[0].number, stored[-1].number)


def _known_uids(log: Log, entries: Sequence[Entry]) -> set[str]:
    """Which of these the log already holds, also among entries that were taken out."""
    sql = "SELECT 1 FROM cuts WHERE uid = ?"
    with guarded(log.path):
        return {entry.uid for entry in entries if log.connection.execute(sql, (entry.uid,)).fetchone()}
