"""Between an entry and its row in the file."""

from __future__ import annotations

import json
import re
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from millcalc.cutlog.cells import cell_of_values
from millcalc.cutlog.models import Entry, Stored, field_names, plain_errors
from millcalc.cutlog.seal import seal_of
from millcalc.errors import LogError

SqlValue = str | int | float | bytes | None
FIELDS: Final = field_names()
COLUMNS: Final = tuple("cut_at" if name == "when" else name for name in FIELDS)
SELECTED: Final = ", ".join(("number", "removed", "seal", *COLUMNS))
INSERT: Final = (
    f"INSERT INTO cuts (number, {', '.join(COLUMNS)}, cell, seal)"
    f" VALUES ({', '.join('?' * (len(COLUMNS) + 3))})"
)
COLUMN_OF: Final = dict(zip(FIELDS, COLUMNS, strict=True))


def time_text(when: datetime) -> str:
    """A moment as the log writes it: UTC, always 32 characters, so that text order is time order.

    when: With a time zone.
    Returns: For example ``2025-10-12T08:30:00.000000+00:00``.
    """
    return when.astimezone(UTC).isoformat(timespec="microseconds")


def moment_of(text: object) -> datetime | None:
    """A moment as the log wrote it, read back.

    text: As stored.
    Returns: With its time zone; None for what is no such moment.
    """
    try:
        when = datetime.fromisoformat(str(text))
    except ValueError:
        return None
    return when if when.tzinfo is not None and 1900 < when.year < 9000 else None


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
    Raises ValueError: For text that is not JSON, or not a time as the log writes it.
    """
    if name in ("shares", "symptoms"):
        return json.loads(value)
    if name == "when":
        moment = moment_of(value)
        if moment is None or time_text(moment) != value:
            raise ValueError(f"{str(value)[:40]!r} is no time as the log writes it")
        return moment
    return value


def with_uid(entry: Entry) -> Entry:
    """The entry with a new name of its own where it has none.

    entry: With or without ``uid``.
    Returns: With ``uid``.
    """
    return entry if entry.uid else entry.model_copy(update={"uid": new_uid()})


def new_uid() -> str:
    """A name that no other entry has.

    Returns: 32 hexadecimal digits.
    """
    return uuid.uuid4().hex


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


def insert_row(number: int, entry: Entry) -> list[SqlValue]:
    """Values for ``INSERT``: the number, those of the entry, its cell of the search grid, its checksum.

    number: Its number [-].
    entry: The cut.
    Returns: One value a question mark.
    """
    row = row_of(entry)
    seal = seal_of({"number": number, **dict(zip(COLUMNS, row, strict=True))})
    return [number, *row, cell_of(entry), seal]


@dataclass(frozen=True, slots=True)
class Raw:
    """A row as it stands in the file, whether or not it can be read as an entry.

    number: Number of the entry [-].
    removed: Whether it was taken out.
    seal: Its checksum as written.
    values: Stored values by column.
    """

    number: int
    removed: bool
    seal: int | None
    values: Mapping[str, SqlValue]

    @classmethod
    def of(cls, row: Sequence[Any]) -> Raw:
        """From a row of ``SELECTED``.

        row: Number, removed flag, checksum, then the columns.
        Returns: The same, named.
        """
        return cls(int(row[0]), bool(row[1]), row[2], dict(zip(COLUMNS, row[3:], strict=True)))

    @property
    def named(self) -> bool:
        """Whether it has a name that tells it from all others in every copy."""
        return re.fullmatch("[0-9a-f]{32}", str(self.values["uid"])) is not None

    @property
    def right_seal(self) -> int:
        """The checksum of the number and the values as they stand."""
        return seal_of({"number": self.number, **self.values})

    @property
    def as_written(self) -> bool:
        """Whether the checksum says that these values were written under this number."""
        return self.seal == self.right_seal

    def sealed(self) -> Raw:
        """The same with its right checksum.

        Returns: As it is to be written.
        """
        return replace(self, seal=self.right_seal)

    def entry(self) -> Entry:
        """The values as an entry, whatever the checksum says.

        Returns: Validated.
        Raises ValueError: When they are none; a pydantic ``ValidationError`` or the reason why one cannot
          be read.
        """
        try:
            return Entry.model_validate(
                {name: from_sql(name, self.values[COLUMN_OF[name]]) for name in FIELDS}
            )
        except (TypeError, RecursionError) as error:
            raise ValueError(str(error)) from error

    def cell(self) -> int | None:
        """Cell of the search grid the row lies in.

        Returns: None when a needed value is unknown or cannot be read.
        """
        try:
            return cell_of(self.entry())
        except ValueError:
            return None


def stored_of(raw: Raw, path: Path) -> Stored:
    """A row as an entry.

    raw: The row.
    path: The log file, for the message.
    Returns: Validated.
    Raises LogError: When the row does not hold what an entry holds, or not what was written: the file was
      altered or damaged.
    """
    file, field = str(path), f"entry {raw.number}"
    try:
        entry = raw.entry()
    except ValidationError as error:
        name, found, accepted = plain_errors(error)[0]
        remedy = _remedy(raw.number, name.split(".")[0])
        raise LogError(found, accepted, remedy, file=file, field=f"{field}: {name}") from error
    except ValueError as error:
        reason = f"an entry that cannot be read ({str(error)[:80]})"
        raise LogError(
            reason, "an entry as millcalc wrote it", _remedy(raw.number), file=file, field=field
        ) from error
    if not raw.as_written:
        raise LogError(
            "values that were not written so: the checksum differs",
            "an entry as millcalc wrote it",
            _remedy(raw.number),
            file=file,
            field=field,
        )
    return Stored(raw.number, entry, raw.removed)


def _remedy(number: int, name: str = "") -> str:
    """What to do about an entry that cannot be read, whichever field it is."""
    value = f"{name}=VALUE" if name in FIELDS else "FIELD=VALUE"
    value = "outcome=OUTCOME" if name == "uid" else value  # any edit gives a new one
    return (
        f"`millcalc log show {number}` shows what stands there; put it right with `millcalc log edit {number} "
        f"--set {value}`, or take it out with `millcalc log remove {number}`"
    )


def problem_of(raw: Raw, path: Path) -> LogError | None:
    """Why a row is no entry.

    raw: The row.
    path: The log file, for the message.
    Returns: What :func:`stored_of` would raise; None for one that can be read.
    """
    try:
        stored_of(raw, path)
    except LogError as error:
        return error
    return None


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


ANY_CUT: Final = {"when": datetime(2000, 1, 1, tzinfo=UTC), "machine": "-", "cutter": "-", "material": "-"}


def checked_values(values: Mapping[str, Any], where: str) -> dict[str, SqlValue]:
    """Single fields as they are stored, each looked at by itself.

    values: By field name.
    where: The log file, for the message.
    Returns: By column.
    Raises LogError: For an unknown field or a value that cannot be; all of them as
      :class:`~millcalc.errors.ManyErrors`.
    """
    entry = entry_from({**ANY_CUT, "outcome": "good", **values}, where)
    return {COLUMN_OF[name]: to_sql(name, getattr(entry, name)) for name in values}
