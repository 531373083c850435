"""The log file: add, read, edit, take out and bring back entries; each change in one transaction and kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Final, Self

from millcalc.cutlog import unchanged
from millcalc.cutlog.backup import daily_backup
from millcalc.cutlog.connect import put_all_in_one_file
from millcalc.cutlog.guard import guarded
from millcalc.cutlog.models import Change, Entry, Stored
from millcalc.cutlog.notes import is_sound, make_anew, mend_after
from millcalc.cutlog.opening import open_connection
from millcalc.cutlog.query import Query, condition_of
from millcalc.cutlog.rows import (
    COLUMN_OF,
    INSERT,
    SELECTED,
    Raw,
    SqlValue,
    checked_values,
    insert_row,
    moment_of,
    new_uid,
    problem_of,
    stored_of,
    time_text,
    with_uid,
)
from millcalc.cutlog.where import account_name
from millcalc.errors import LogError

_LAST_NUMBER: Final = """SELECT max(coalesce((SELECT max(seq) FROM sqlite_sequence WHERE name = 'cuts'), 0),
    coalesce((SELECT max(number) FROM cuts), 0))"""
_LARGEST_NUMBER: Final = 2**63 - 1


class Log:
    """An open log of cuts; use it as a context manager.

    path: The log file.
    create: Make it when it is not there.
    readonly: Never write.
    who: Name kept with each change; the account's when None.
    left_out: Why entries that could not be read were left out of what was read so far, by number.
    Raises LogError: When the file cannot be used; see :func:`millcalc.cutlog.opening.open_connection`.
    """

    def __init__(
        self, path: Path | str, *, create: bool = True, readonly: bool = False, who: str | None = None
    ) -> None:
        self.path = Path(path)
        self.readonly = readonly
        self.who = account_name() if who is None else who
        self.connection = open_connection(self.path, create=create, readonly=readonly)
        self.left_out: dict[int, LogError] = {}
        self._written = readonly
        self._closed = False

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; all that was written stands in that one file then, unless others still read it."""
        if self._closed:
            return
        self._closed = True
        with guarded(self.path):
            try:
                if not self.readonly:
                    put_all_in_one_file(self.connection)
            finally:
                self.connection.close()
                if not self.readonly and unchanged.is_noted(self.path):
                    unchanged.note_as_left(self.path)

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction that holds the writer's lock from its first statement; all or nothing."""
        with guarded(self.path):
            if not self._written:
                self._written = True
                some = self.connection.execute("SELECT 1 FROM cuts LIMIT 1").fetchone()
                if some and daily_backup(self.connection, self.path) and not is_sound(self.connection):
                    make_anew(self.connection)
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield self.connection
                self.connection.execute("COMMIT")
            except BaseException as error:
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                mend_after(error, self.connection, self.path)
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
            (last,) = connection.execute(_LAST_NUMBER).fetchone()
            for number, entry in enumerate(map(with_uid, entries), last + 1):
                connection.execute(INSERT, insert_row(number, entry))
                self._note_change(batch, number, "", None, "added")
                stored.append(Stored(number, entry))
        return stored

    def raw(self, number: int) -> Raw:
        """One row as it stands, also when it cannot be read as an entry or was taken out.

        number: Its number [-].
        Returns: The row.
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
        return Raw.of(row)

    def get(self, number: int) -> Stored:
        """One entry, also when it was taken out.

        number: Its number [-].
        Returns: The entry.
        Raises LogError: When there is none of that number, or it cannot be read.
        """
        return stored_of(self.raw(number), self.path)

    def find(self, query: Query | None = None) -> list[Stored]:
        """Entries, newest cut first.

        query: Which ones; the newest 20 when left out.
        Returns: At most ``query.limit``.
        """
        return list(self.iterate(query or Query()))

    def iterate(self, query: Query) -> Iterator[Stored]:
        """Entries one after another, newest cut first, for output larger than memory.

        query: Which ones; a negative limit asks for all.
        Yields: The entry; those that cannot be read are put into ``left_out`` instead.
        """
        most = query.limit + query.offset if query.limit >= 0 else -1
        with guarded(self.path):
            condition, values = condition_of(query, self.connection, most=most)
            cursor = self.connection.execute(
                f"SELECT {SELECTED} FROM cuts WHERE {condition}"
                " ORDER BY cut_at DESC, number DESC LIMIT ? OFFSET ?",
                [*values, query.limit, query.offset],
            )
            for row in cursor:
                raw = Raw.of(row)
                try:
                    stored = stored_of(raw, self.path)
                except LogError as error:
                    self.left_out[raw.number] = error
                else:
                    yield stored

    def count(self, query: Query | None = None) -> int:
        """Number of entries, whatever the limit says.

        query: Which ones; all that stand when left out.
        Returns: How many [-].
        """
        with guarded(self.path):
            condition, values = condition_of(query or Query(), self.connection)
            found = self.connection.execute(f"SELECT count(*) FROM cuts WHERE {condition}", values)
            return int(found.fetchone()[0])

    def edit(self, number: int, values: Mapping[str, Any]) -> LogError | None:
        """Change fields of an entry, also of one that cannot be read; what stood there before is kept.

        number: Its number [-].
        values: New values by field name.
        Returns: Why the entry still cannot be read, when it could not before; None when it can.
        Raises LogError: Unknown number or field, or a value that cannot be.
        """
        if "uid" in values:
            raise LogError("uid", "any other field; the uid names the entry in every copy", field="uid")
        checked = checked_values(values, str(self.path))
        with self.writing():
            old = self.raw(number)
            readable = problem_of(old, self.path) is None
            new = {**old.values, **checked, **({} if old.named else {"uid": new_uid()})}
            made = Raw(number, old.removed, None, new).sealed()
            problem = problem_of(made, self.path)
            if problem is not None and readable:
                raise problem
            if new != old.values or not old.as_written or self._cell_differs(made):
                self._store_row(self._new_batch("edit"), old, made)
        return problem

    def _cell_differs(self, made: Raw) -> bool:
        row = self.connection.execute("SELECT cell FROM cuts WHERE number = ?", (made.number,)).fetchone()
        return bool(row[0] != made.cell())

    def _store_row(self, batch: int, old: Raw, new: Raw) -> None:
        changed = {name: value for name, value in new.values.items() if value != old.values[name]}
        for name, value in changed.items():
            field = "when" if name == "cut_at" else name
            self._note_change(batch, old.number, field, old.values[name], value)
        if not old.as_written:
            self._note_change(batch, old.number, "seal", old.seal, new.seal)
        changed |= {"cell": new.cell(), "seal": new.seal}
        assignments = ", ".join(f"{column} = ?" for column in changed)
        self.connection.execute(
            f"UPDATE cuts SET {assignments} WHERE number = ?",  # columns are our own names
            [*changed.values(), old.number],
        )

    def remove(self, number: int) -> None:
        """Take an entry out, also one that cannot be read; it stays in the file and :meth:`undo` brings it back.

        number: Its number [-].
        Raises LogError: When there is no such entry, or it is out already.
        """
        with self.writing():
            if self.raw(number).removed:
                raise LogError(
                    f"entry {number}, which is out already",
                    "an entry that stands",
                    file=str(self.path),
                    field="NUMBER",
                )
            self._set_removed(self._new_batch("remove"), number, True)

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
            self._take_back(batch, changes)
            numbers = sorted({number for number, _, _ in changes if isinstance(number, int)})
        shown = ", ".join(map(str, numbers[:5])) + (" ..." if len(numbers) > 5 else "")
        what = {"add": "addition", "edit": "edit", "remove": "removal"}.get(action, action)
        return f"{what} of {str(at)[:16].replace('T', ' ')} UTC taken back (entry {shown})"

    def _take_back(self, batch: int, changes: Sequence[tuple[int, str, SqlValue]]) -> None:
        edits: dict[int, dict[str, Any]] = {}
        for number, field, before in changes:
            if field == "":
                if not self.raw(number).removed:
                    self._set_removed(batch, number, True)
            elif field == "removed":
                self._set_removed(batch, number, bool(before))
            elif field == "seal" or field in COLUMN_OF:
                edits.setdefault(number, {})[COLUMN_OF.get(field, field)] = before
            else:
                raise LogError("a change of no field", "a history as millcalc wrote it", file=str(self.path))
        # what stood there may be what damage had made of it: taking back a repair puts that back too
        self.connection.execute("PRAGMA ignore_check_constraints = ON")
        try:
            for number, values in edits.items():
                old = self.raw(number)
                new = {**old.values, **{name: value for name, value in values.items() if name != "seal"}}
                made = Raw(number, old.removed, values.get("seal"), new)
                self._store_row(batch, old, made if "seal" in values else made.sealed())
        finally:
            self.connection.execute("PRAGMA ignore_check_constraints = OFF")

    def history(self, number: int) -> list[Change]:
        """All changes of one entry, oldest first.

        number: Its number [-].
        Returns: Empty for an entry from a log older than version 2.
        """
        self.raw(number)
        with guarded(self.path):
            rows = self.connection.execute(
                """SELECT at, who, action, number, field, before, after
                FROM changes JOIN batches USING (batch) WHERE number = ? ORDER BY change""",
                (number,),
            ).fetchall()
        return [
            Change(
                moment_of(at),
                *(str(who), str(action), cut, str(field)),
                None if before is None else str(before),
                None if after is None else str(after),
            )
            for at, who, action, cut, field, before, after in rows
        ]
