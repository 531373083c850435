"""What SQLite reports, turned into what the person can do about it."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from millcalc.cutlog.ways_out import way_out
from millcalc.errors import LogError

_BUSY = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


class DamagedLog(LogError):
    """The file itself is not what millcalc wrote."""


def damaged(path: Path) -> DamagedLog:
    """The error for a file that is damaged or no log.

    path: The log file.
    Returns: Names the file and the way back.
    """
    return DamagedLog(
        "a damaged file, or one that is not a log of cuts",
        "a log that millcalc wrote",
        f"keep this file; {way_out(path)}",
        file=str(path),
    )


def log_error(error: sqlite3.Error, path: Path) -> LogError:
    """The :class:`~millcalc.errors.LogError` that says what an SQLite error means for the log.

    error: As raised by the standard library.
    path: The log file.
    Returns: Names the file, what was found and what to do; nothing half-written is left in the log.
    """
    code = getattr(error, "sqlite_errorcode", None)
    primary = None if code is None else code & 0xFF
    file = str(path)
    if primary in _BUSY:
        return LogError(
            "the log in use by another program, which did not let go in time",
            "one writer at a time",
            "close the other program that writes to it, then repeat; nothing was written",
            file=file,
        )
    if primary == sqlite3.SQLITE_FULL:
        return LogError(
            "no room left to write",
            "",
            "free some disk space, then repeat; the log is as it was before this command",
            file=file,
        )
    if primary == sqlite3.SQLITE_READONLY:
        return LogError(
            "a log that may not be written",
            "a file and folder that you may write",
            "lift the write protection, or name another file with --log; nothing was changed",
            file=file,
        )
    if primary in _DAMAGED or "decode to UTF-8" in str(error):
        return damaged(path)
    if primary == sqlite3.SQLITE_CANTOPEN:
        return LogError(
            "a file that cannot be opened",
            "a path whose folder exists and may be read",
            "check the folder and its permissions",
            file=file,
        )
    if primary == sqlite3.SQLITE_IOERR:
        return LogError(
            f"a disk that reported an error ({error})",
            "",
            "check the disk, then run `millcalc log verify`; what was saved before is in the log",
            file=file,
        )
    if primary == sqlite3.SQLITE_CONSTRAINT:
        return LogError(f"values the log refuses ({error})", "values within the stated limits", file=file)
    return LogError(f"what the database answered: {error}", "", "run `millcalc log verify`", file=file)


@contextmanager
def guarded(path: Path) -> Iterator[None]:
    """Turn every SQLite error inside the block into a LogError about `path`.

    path: The log file.
    Raises LogError: In place of the ``sqlite3.Error``.
    """
    try:
        yield
    except sqlite3.Error as error:
        raise log_error(error, path) from error
    except UnicodeDecodeError as error:  # the standard library meets text in the file that is none
        raise damaged(path) from error
