"""Opening the log file: is it one, is it whole, is it of this version; create it or bring it forward."""

from __future__ import annotations

import os
import sqlite3
import time
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from millcalc.cutlog import schema
from millcalc.cutlog.guard import damaged, guarded
from millcalc.errors import LogError
from millcalc.files import refuse_odd

WAIT_S: Final = 15.0  # how long to wait for another writer [s]
_HEAD: Final = b"SQLite format 3\x00"  # first bytes of the file format, SQLite's own documentation


def _uri(path: Path, mode: str) -> str:
    uri = path.resolve().as_uri()
    if not uri.startswith("file:///"):  # a Windows share: SQLite wants its name in the path
        uri = "file:////" + uri.removeprefix("file://")
    return f"{uri}?{mode}"


def _connect(path: Path, mode: str) -> sqlite3.Connection:
    connection = sqlite3.connect(_uri(path, mode), uri=True, timeout=WAIT_S, isolation_level=None)
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


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
    _check_head(path)
    with guarded(path):
        return _open_readonly(path) if readonly else _open_writable(path)


def _check_head(path: Path) -> None:
    """Refuse a file that is neither empty nor begins as a database does: SQLite would take a short one for new."""
    try:
        with path.open("rb") as file:
            head = file.read(len(_HEAD))
    except OSError:
        return  # said with its reason where it is opened
    if head and head != _HEAD:
        raise damaged(path)


def _open_readonly(path: Path) -> sqlite3.Connection:
    if path.stat().st_size == 0:
        raise _not_there(path)
    try:
        connection = _connect(path, "mode=ro")
        version = _checked_version(connection, path)
    except sqlite3.OperationalError:
        # A write-protected folder does not let SQLite make its shared-memory file; without a pending
        # write-ahead log the file alone is the whole truth.
        pending = path.with_name(path.name + "-wal")
        if pending.exists() and pending.stat().st_size > 0:
            raise
        connection = _connect(path, "mode=ro&immutable=1")
        version = _checked_version(connection, path)
    if version == schema.VERSION:
        return connection
    copy = sqlite3.connect(":memory:", isolation_level=None)
    with closing(connection):
        connection.backup(copy)
    copy.execute("BEGIN")
    schema.bring_forward(copy)
    copy.execute("COMMIT")
    copy.execute("PRAGMA query_only = ON")
    return copy


def _open_writable(path: Path) -> sqlite3.Connection:
    connection = _connect(path, "mode=rwc")
    try:
        version = _checked_version(connection, path)
        _use_write_ahead_log(connection)
        connection.execute("PRAGMA synchronous = FULL")
        if version < schema.VERSION:
            if version > 0:
                back_up(connection, path, version)
            connection.execute("BEGIN EXCLUSIVE")
            try:
                _checked_version(connection, path)  # another process may have been first
                schema.bring_forward(connection)
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise
    except BaseException:
        connection.close()
        raise
    return connection


def _use_write_ahead_log(connection: sqlite3.Connection) -> None:
    """Switch to the write-ahead log; while another process is doing the same, wait for it."""
    until = time.monotonic() + WAIT_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.02)


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
        raise LogError(
            "a log whose header lost its version",
            f"version 1 to {schema.VERSION}",
            "go back to the newest backup beside it; the file was not touched",
            file=str(path),
        )
    return int(version)


def back_up(connection: sqlite3.Connection, path: Path, version: int) -> Path:
    """Copy the log beside itself, whole and checked, under a name that says its version and the time.

    connection: Open on the log, outside a transaction.
    path: The log file.
    version: Version of the log [-].
    Returns: The backup.
    """
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S")
    target = path.with_name(f"{path.name}.version{version}.{stamp}.backup")
    partial = path.with_name(f"{target.name}.{os.getpid()}.part")
    try:
        with closing(sqlite3.connect(partial)) as copy:
            connection.backup(copy)
            (verdict,) = copy.execute("PRAGMA quick_check(1)").fetchone()
        if verdict != "ok":
            raise LogError(
                f"a damaged log ({verdict})",
                "a whole one",
                "it was not brought forward; keep the file and go back to an older backup",
                file=str(path),
            )
        partial.replace(target)
    finally:
        partial.unlink(missing_ok=True)
    return target
