"""Opening the log file: is it one, is it whole, is it of this version; create it or bring it forward."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from millcalc.cutlog import schema
from millcalc.cutlog.backup import clear_part_files, version_backup
from millcalc.cutlog.connect import beside, connect, finish_roll_back, text_or_bytes, use_write_ahead_log
from millcalc.cutlog.guard import DamagedLog, guarded
from millcalc.cutlog.notes import make_anew, needs_care
from millcalc.cutlog.sound import refuse_damaged, refuse_headless
from millcalc.cutlog.ways_out import way_out
from millcalc.errors import LogError
from millcalc.files import refuse_odd


def _not_there(path: Path) -> LogError:
    return LogError(
        "no log",
        "a log that exists",
        "log a first cut with `millcalc log add`, or name the file with --log",
        file=str(path),
    )


def open_connection(path: Path, *, create: bool, readonly: bool) -> sqlite3.Connection:
    """Open the log, made or brought forward where that is needed and allowed.

    path: The log file.
    create: Make the file, and its folder, when it is not there.
    readonly: Open without writing anything; an older version is then read through a copy in memory.
    Returns: In autocommit mode; transactions are begun explicitly.
    Raises LogError: Absent, a folder, damaged, not a log, newer than this program, or not to be written.

    Note: The write-ahead log with ``synchronous = FULL``: a committed change survives a killed process and
      a power cut, as far as the disk keeps its promises. Where a file system cannot share memory (some
      network drives), SQLite stays with its rollback journal, which is as safe and lets fewer programs work
      at once.
    """
    refuse_odd(path, kind=LogError)
    if path.is_dir():
        raise LogError("a folder", "a file", "name a file inside it, e.g. cuts.db", file=str(path))
    refuse_odd(path, kind=LogError)
    if not path.exists():
        if not create or readonly:
            raise _not_there(path)
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise LogError(
                f"a folder that cannot be made ({error.strerror or error})",
                "a folder you may write",
                "name another file with --log",
                file=str(path),
            ) from error
    refuse_headless(path)
    with guarded(path):
        finish_roll_back(path)
        if readonly:
            return _open_readonly(path)
        if path.exists():
            clear_part_files(path)
            _refuse_unfit(path)
        return _open_writable(path)


def _refuse_unfit(path: Path) -> None:
    """Look at a file that is there before anything may write to it: is it a log of ours, and is it whole."""
    if path.stat().st_size > 0:
        with closing(connect(path, "mode=ro")) as connection:
            _checked_version(connection, path)
    refuse_damaged(path)


def _open_readonly(path: Path) -> sqlite3.Connection:
    if path.stat().st_size == 0:
        raise _not_there(path)
    try:
        connection = connect(path, "mode=ro")
        version = _checked_version(connection, path)
    except sqlite3.OperationalError:
        # A write-protected folder does not let SQLite make its shared-memory file; without a pending
        # write-ahead log the file alone is the whole truth.
        pending = beside(path, "-wal")
        if pending.exists() and pending.stat().st_size > 0:
            raise
        connection = connect(path, "mode=ro&immutable=1")
        version = _checked_version(connection, path)
    if version == schema.VERSION:
        return connection
    copy = sqlite3.connect(":memory:", isolation_level=None)
    copy.text_factory = text_or_bytes
    with closing(connection):
        connection.backup(copy)
    copy.execute("BEGIN")
    schema.bring_forward(copy, index=False)
    copy.execute("COMMIT")
    copy.execute("PRAGMA query_only = ON")
    return copy


def _open_writable(path: Path) -> sqlite3.Connection:
    connection = connect(path, "mode=rwc")
    try:
        version = _checked_version(connection, path)
        use_write_ahead_log(connection)
        connection.execute("PRAGMA synchronous = FULL")
        if version < schema.VERSION:
            if version > 0:
                version_backup(connection, path, version)
            connection.execute("BEGIN EXCLUSIVE")
            try:
                _checked_version(connection, path)  # another process may have been first
                schema.bring_forward(connection)
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise
        elif needs_care(connection):
            make_anew(connection)
    except BaseException:
        connection.close()
        raise
    return connection


def _checked_version(connection: sqlite3.Connection, path: Path) -> int:
    """Version of the file, 0 for a new one; refuses what is not a log or is newer."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    if tables == 0 and version == 0 and application in (0, schema.APPLICATION_ID):
        return 0
    if application != schema.APPLICATION_ID:
        raise LogError(
            "a database of something else",
            "a log that millcalc wrote",
            "name another file with --log; this one was not touched",
            file=str(path),
        )
    if version > schema.VERSION:
        raise LogError(
            f"a log of version {version}",
            f"version {schema.VERSION} or older",
            "install the newer millcalc that wrote it; the file was not touched",
            file=str(path),
        )
    if version < 1:
        raise DamagedLog(
            "a log whose header lost its version",
            f"version 1 to {schema.VERSION}",
            f"the file was not touched; {way_out(path)}",
            file=str(path),
        )
    return int(version)
