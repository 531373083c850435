"""The log file: add, read, edit, take out and bring back entries; each change in one transaction and kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

from millcalc.cutlog.backup import daily_backup
from millcalc.cutlog.connect import put_all_in_one_file
from millcalc.cutlog.guard import guarded
from millcalc.cutlog.models import Change, Entry, Stored
from millcalc.cutlog.opening import open_connection
from millcalc.cutlog.query import Query, condition_of
from millcalc.cutlog.rows import (
    COLUMNS,
    FIELDS,
    SELECTED,
    SqlValue,
    cell_of,
    entry_from,
    from_sql,
    row_of,
    stored_of,
    time_text,
    to_sql,
    with_uid,
)
from millcalc.cutlog.where import account_name
from millcalc.errors import LogError

_INSERT: Final = (
    f"INSERT INTO cuts ({', '.join(COLUMNS)}, cell) VALUES ({', '.join('?' * (len(COLUMNS) + 1))})"
)
_LARGEST_NUMBER: Final = 2**63 - 1


class Log:
    """An open log of cuts; use it as a context manager.

    path: The log file.
    create: Make it when it is not there.
    readonly: Never write.
    who: Name kept with each change; the account's when None.
    Raises LogError: When the file cannot be used; see :func:`millcalc.cutlog.opening.open_connection`.
    """

    def __init__(
        self, path: Path | str, *, create: bool = True, readonly: bool = False, who: str | None = None
    ) -> None:
        self.path = Path(path)
        self.readonly = readonly
        self.who = account_name() if who is None else who
        self.connection = open_connection(self.path, create=create, readonly=readonly)
        self._written = readonly

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; all that was written stands in that one file then, unless others still read it."""
        with guarded(self.path):
            try:
                if not self.readonly:
                    put_all_in_one_file(self.connection)
            finally:
                self.connection.close()

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction that holds the writer's lock from its first statement; all or nothing."""
        with guarded(self.path):
            if not self._written:
                self._written = True
                if self.connection.execute("SELECT 1 FROM cuts LIMIT 1").fetchone():
                    daily_backup(self.connection, self.path)
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield self.connection
                self.connection.execute("COMMIT")
            except BaseException:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                raise

    def _new_batch(self, action: str, undoes: int | None = None) -> int:
        cursor = self.connection.execute(
            "INSERT INTO batches (at, who, action, undoes) VALUES (?, ?, ?, ?)",
            (time_text(datetime.now(UTC)), self.who, action, undoes),
        )
        return int(cursor.lastrowid or 0)

    def _note_change(self, batch: int, number: int, field: str, before: SqlValue, after: SqlValue) -> None:
        self.connection.execute(
            "INSERT INTO changes (batch, number, field, before, after) VALUES (?, ?, ?, ?, ?)",
            (batch, number, field, before, after),
        )

    def add(self, entry: Entry) -> Stored:
        """Add one entry.

        entry: The cut.
        Returns: With its number.
        Raises LogError: When it cannot be written, or the log already holds this ``uid``.
        """
        return self.add_many([entry], "add")[0]

    def add_many(self, entries: Iterable[Entry], action: str = "import") -> list[Stored]:
        """Add entries in one transaction: all of them or none.

        entries: The cuts.
        action: ``add`` or ``import``; one undo takes them all out again.
        Returns: With their numbers.
        Raises LogError: When one of them cannot be written.
        """
        stored = []
        with self.writing() as connection:
            batch = self._new_batch(action)
            for entry in map(with_uid, entries):
                cursor = connection.execute(_INSERT, [*row_of(entry), cell_of(entry)])
                number = int(cursor.lastrowid or 0)
                self._note_change(batch, number, "", None, "added")
                stored.append(Stored(number, entry))
        return stored

    def get(self, number: int) -> Stored:
        """One entry, also when it was taken out.

        number: Its number [-].
        Returns: The entry.
        Raises LogError: When there is none of that number.
        """
        row = None
        if 0 < number <= _LARGEST_NUMBER:
            with guarded(self.path):
                row = self.connection.execute(
                    f"SELECT {SELECTED} FROM cuts WHERE number = ?", (number,)
                ).fetchone()
        if row is None:
            raise LogError(
                f"no entry {number}",
                "a number that `millcalc log list` shows",
                file=str(self.path),
                field="NUMBER",
            )
        return stored_of(row, self.path)

    def find(self, query: Query | None = None) -> list[Stored]:
        """Entries, newest cut first.

        query: Which ones; the newest 20 when left out.
        Returns: At most ``query.limit``.
        """
        return list(self.iterate(query or Query()))

    def iterate(self, query: Query) -> Iterator[Stored]:
        """Entries one after another, newest cut first, for output larger than memory.

        query: Which ones; a negative limit asks for all.
        Yields: The entry.
        """
        condition, values = condition_of(query)
        with guarded(self.path):
            cursor = self.connection.execute(
                f"SELECT {SELECTED} FROM cuts WHERE {condition}"
                " ORDER BY cut_at DESC, number DESC LIMIT ? OFFSET ?",
                [*values, query.limit, query.offset],
            )
            for row in cursor:
                yield stored_of(row, self.path)

    def count(self, query: Query | None = None) -> int:
        """Number of entries, whatever the limit says.

        query: Which ones; all that stand when left out.
        Returns: How many [-].
        """
        condition, values = condition_of(query or Query())
        with guarded(self.path):
            (number,) = self.connection.execute(
                f"SELECT count(*) FROM cuts WHERE {condition}", values
            ).fetchone()
        return int(number)

    def edit(self, number: int, values: Mapping[str, Any]) -> Stored:
        """Change fields of an entry; what stood there before is kept in the history.

        number: Its number [-].
        values: New values by field name.
        Returns: The entry as it now stands.
        Raises LogError: Unknown number or field, or a value that cannot be.
        """
        if "uid" in values:
            raise LogError("uid", "any other field; the uid names the entry in every copy", field="uid")
        with self.writing():
            old = self.get(number)
            new = entry_from({**old.entry.model_dump(), **values}, str(self.path))
            if new != old.entry:
                self._store_fields(self._new_batch("edit"), old, new)
        return Stored(number, new, old.removed)

    def _store_fields(self, batch: int, old: Stored, new: Entry) -> None:
        changed = {}
        for name, column in zip(FIELDS, COLUMNS, strict=True):
            before, after = to_sql(name, getattr(old.entry, name)), to_sql(name, getattr(new, name))
            if before != after:
                changed[column] = after
                self._note_change(batch, old.number, name, before, after)
        changed["cell"] = cell_of(new)
        assignments = ", ".join(f"{column} = ?" for column in changed)
        self.connection.execute(
            f"UPDATE cuts SET {assignments} WHERE number = ?",  # columns are our own names
            [*changed.values(), old.number],
        )

    def remove(self, number: int) -> Stored:
        """Take an entry out; it stays in the file and :meth:`undo` brings it back.

        number: Its number [-].
        Returns: The entry, removed.
        Raises LogError: When there is no such entry, or it is out already.
        """
        with self.writing():
            old = self.get(number)
            if old.removed:
                raise LogError(
                    f"entry {number}, which is out already",
                    "an entry that stands",
                    file=str(self.path),
                    field="NUMBER",
                )
            self._set_removed(self._new_batch("remove"), number, True)
        return Stored(number, old.entry, True)

    def _set_removed(self, batch: int, number: int, removed: bool) -> None:
        self._note_change(batch, number, "removed", int(not removed), int(removed))
        self.connection.execute("UPDATE cuts SET removed = ? WHERE number = ?", (int(removed), number))

    def undo(self) -> str:
        """Take back the latest change that was not taken back yet; itself a change that is kept.

        Returns: What was taken back, in words.
        Raises LogError: When there is nothing left, or an entry no longer is what the change made of it.
        """
        with self.writing() as connection:
            found = connection.execute(
                """SELECT batch, action, at FROM batches AS b WHERE action <> 'undo'
                AND NOT EXISTS (SELECT 1 FROM batches AS u WHERE u.undoes = b.batch)
                ORDER BY batch DESC LIMIT 1"""
            ).fetchone()
            if found is None:
                raise LogError("nothing to take back", "a log with changes", file=str(self.path))
            undone, action, at = found
            batch = self._new_batch("undo", undone)
            changes = connection.execute(
                "SELECT number, field, before FROM changes WHERE batch = ? ORDER BY change DESC", (undone,)
            ).fetchall()
            edits: dict[int, dict[str, Any]] = {}
            for number, field, before in changes:
                if field == "":
                    if not self.get(number).removed:
                        self._set_removed(batch, number, True)
                elif field == "removed":
                    self._set_removed(batch, number, bool(before))
                else:
                    edits.setdefault(number, {})[field] = from_sql(field, before)
            for number, values in edits.items():
                old = self.get(number)
                self._store_fields(
                    batch, old, entry_from({**old.entry.model_dump(), **values}, str(self.path))
                )
            numbers = sorted({number for number, _, _ in changes})
        shown = ", ".join(map(str, numbers[:5])) + (" ..." if len(numbers) > 5 else "")
        what = {"add": "addition", "import": "import", "edit": "edit", "remove": "removal"}[action]
        return f"{what} of {at[:16].replace('T', ' ')} UTC taken back (entry {shown})"

    def history(self, number: int) -> list[Change]:
        """All changes of one entry, oldest first.

        number: Its number [-].
        Returns: Empty for an entry from a log older than version 2.
        """
        self.get(number)
        with guarded(self.path):
            rows = self.connection.execute(
                """SELECT at, who, action, number, field, before, after
                FROM changes JOIN batches USING (batch) WHERE number = ? ORDER BY change""",
                (number,),
            ).fetchall()
        return [
            Change(
                datetime.fromisoformat(at),
                *(who, action, cut, field),
                None if before is None else str(before),
                None if after is None else str(after),
            )
            for at, who, action, cut, field, before, after in rows
        ]
