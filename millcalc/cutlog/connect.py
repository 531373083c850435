"""Connections to the log file: read-only or writing, and how text that is none comes back."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from pathlib import Path
from typing import Final

from millcalc.errors import LogError

WAIT_S: Final = 15.0  # how long to wait for another writer [s]


def _uri(path: Path, mode: str) -> str:
    uri = path.resolve().as_uri()
    if not uri.startswith("file:///"):  # a Windows share: SQLite wants its name in the path
        uri = "file:////" + uri.removeprefix("file://")
    return f"{uri}?{mode}"


def text_or_bytes(data: bytes) -> str | bytes:
    """Text of the file; the bytes themselves where they are no UTF-8, so that one bad text stops no reading.

    data: As stored.
    Returns: Text, or the bytes as they stand.
    """
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data


def connect(path: Path, mode: str) -> sqlite3.Connection:
    """A connection in autocommit mode.

    path: The log file.
    mode: SQLite's own words after the question mark, e.g. ``mode=ro``.
    Returns: Open.
    Raises sqlite3.Error: When it cannot be opened.
    """
    connection = sqlite3.connect(_uri(path, mode), uri=True, timeout=WAIT_S, isolation_level=None)
    connection.text_factory = text_or_bytes
    connection.execute("PRAGMA foreign_keys = ON")
    return connection


def finish_roll_back(path: Path) -> None:
    """Let the database take back what a killed process had begun in its old way of writing, before it is read.

    path: The log file.
    Raises sqlite3.Error: When it cannot be.
    """
    journal = beside(path, "-journal")
    if journal.exists() and journal.stat().st_size > 0:
        with closing(connect(path, "mode=rw")) as connection:
            connection.execute("SELECT count(*) FROM sqlite_master").fetchone()


def beside(path: Path, ending: str) -> Path:
    """A file beside the log whose name begins with the log's.

    path: The log file.
    ending: What follows, e.g. ``-wal``.
    Returns: The path, whether it is there or not.
    """
    return path.with_name(path.name + ending)


def use_write_ahead_log(connection: sqlite3.Connection) -> None:
    """Switch to the write-ahead log; while another process is doing the same, wait for it.

    connection: Open for writing.
    Raises sqlite3.OperationalError: When the other process does not let go in ``WAIT_S``.
    """
    until = time.monotonic() + WAIT_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode & 0xFF != sqlite3.SQLITE_BUSY or time.monotonic() > until:
                raise
            time.sleep(0.02)


def put_all_in_one_file(connection: sqlite3.Connection) -> None:
    """Bring the write-ahead log into the file, as far as others who read do not need it; waits for nobody.

    connection: Open for writing, outside a transaction.
    """
    connection.execute("PRAGMA busy_timeout = 0")
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()


def copy_pages(source: sqlite3.Connection, target: sqlite3.Connection, path: Path) -> None:
    """Copy a whole database into another, in one transaction of the target.

    source: Open, outside a transaction.
    target: Open for writing; what it held is replaced.
    path: The log file, for the message.
    Raises LogError: When another process holds one of them longer than ``WAIT_S``; nothing was changed then.
    """
    until = time.monotonic() + WAIT_S

    def waited(status: int, _left: int, _total: int) -> None:
        if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED) and time.monotonic() > until:
            raise LogError(
                "the log in use by another program, which did not let go in time",
                "nobody else at work on it",
                "close the other program, then repeat; nothing was changed",
                file=str(path),
            )

    source.backup(target, progress=waited)
