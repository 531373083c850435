"""Between an entry and its row in the file."""

from __future__ import annotations

import json
import uuid
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from millcalc.cutlog.cells import cell_of_values
from millcalc.cutlog.models import Entry, Stored, field_names, plain_errors
from millcalc.errors import LogError

SqlValue = str | int | float | None
FIELDS: Final = field_names()
COLUMNS: Final = tuple("cut_at" if name == "when" else name for name in FIELDS)
SELECTED: Final = ", ".join(("number", "removed", *COLUMNS))


def time_text(when: datetime) -> str:
    """A moment as the log writes it: UTC, always 32 characters, so that text order is time order.

    when: With a time zone.
    Returns: For example ``2025-10-12T08:30:00.000000+00:00``.
    """
    return when.astimezone(UTC).isoformat(timespec="microseconds")


def to_sql(name: str, value: Any) -> SqlValue:
    """One field as SQLite stores it.

    name: Field of an entry.
    value: Its value.
    Returns: Lists and mappings become JSON text.
    """
    if name == "when":
        return time_text(value)
    if name == "shares":
        return json.dumps(value, sort_keys=True)
    if name == "symptoms":
        return json.dumps(list(value))
    if value is None or isinstance(value, (str, int, float)):
        return value
    raise TypeError(f"{name}: {type(value).__name__}")


def from_sql(name: str, value: Any) -> Any:
    """One stored value as the entry model takes it.

    name: Field of an entry.
    value: As stored.
    Returns: Ready for validation.
    """
    if name in ("shares", "symptoms"):
        return json.loads(value)
    return value


def with_uid(entry: Entry) -> Entry:
    """The entry with a new name of its own where it has none.

    entry: With or without ``uid``.
    Returns: With ``uid``.
    """
    return entry if entry.uid else entry.model_copy(update={"uid": uuid.uuid4().hex})


def cell_of(entry: Entry) -> int | None:
    """Cell of the search grid the entry lies in.

    entry: The cut.
    Returns: None when a needed value is unknown.
    """
    return cell_of_values(entry.diameter_mm, entry.kc11_n_mm2, entry.axial_depth_mm, entry.largest_chip_mm)


def row_of(entry: Entry) -> list[SqlValue]:
    """Stored values of an entry in the order of ``COLUMNS``.

    entry: The cut.
    Returns: One value a column.
    """
    return [to_sql(name, getattr(entry, name)) for name in FIELDS]


def stored_of(row: Sequence[Any], path: Path) -> Stored:
    """A row of ``SELECTED`` as an entry.

    row: Number, removed flag, then the columns.
    path: The log file, for the message.
    Returns: Validated.
    Raises LogError: When the row does not hold what an entry holds: the file was altered or damaged.
    """
    try:
        values = {name: from_sql(name, value) for name, value in zip(FIELDS, row[2:], strict=True)}
        return Stored(number=int(row[0]), entry=Entry.model_validate(values), removed=bool(row[1]))
    except ValidationError as error:
        field, found, accepted = plain_errors(error)[0]
        raise LogError(
            found,
            accepted,
            "run `millcalc log verify`; correct the entry with `millcalc log edit`, or go back to a backup",
            file=str(path),
            field=f"entry {row[0]}: {field}",
        ) from error
    except (ValueError, TypeError) as error:
        raise LogError(
            f"an entry that cannot be read ({error})",
            "an entry as millcalc wrote it",
            "run `millcalc log verify`, and go back to the newest backup beside the log",
            file=str(path),
            field=f"entry {row[0]}",
        ) from error


def entry_from(values: Mapping[str, Any], where: str | None = None, line: int | None = None) -> Entry:
    """Build an entry from plain values, with every problem named.

    values: Fields of an entry.
    where: File the values came from.
    line: Line in that file, 1-based [-].
    Returns: The cut.
    Raises LogError: For the first problem; the message of :class:`~millcalc.errors.ManyErrors` holds all of
      them.
    """
    from millcalc.errors import ManyErrors

    try:
        return Entry.model_validate(dict(values))
    except ValidationError as error:
        problems = [
            LogError(found, accepted, file=where, line=line, field=field)
            for field, found, accepted in plain_errors(error)
        ]
        if len(problems) == 1:
            raise problems[0] from error
        raise ManyErrors(problems) from error
