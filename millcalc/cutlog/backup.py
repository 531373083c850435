"""Copies of the log through the database's own backup: whole, verified, in one file, none half-written."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing, suppress
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Final

from millcalc.cutlog.connect import copy_pages, text_or_bytes
from millcalc.cutlog.guard import DamagedLog
from millcalc.cutlog.sound import structure_problems
from millcalc.cutlog.ways_out import backups_beside, way_out
from millcalc.errors import InputError, LogError
from millcalc.files import new_file

KEPT: Final = 5  # backups of single days that are kept beside the log [-]
LEFT_OVER_S: Final = 600.0  # a part file nobody wrote to for so long belongs to a process that is gone [s]


def copy_log(
    connection: sqlite3.Connection,
    path: Path,
    target: Path,
    *,
    force: bool = False,
    inputs: tuple[Path, ...] = (),
) -> None:
    """Copy a log with everything committed, also what stands in the write-ahead log only, and verify the copy.

    connection: Open on the log, outside a transaction.
    path: The log file, for messages.
    force: Replace an ordinary file that is there.
    inputs: More files that are never written over.
    Raises LogError: When the target may not be written, or the copy is not whole: then there is none.
    """
    with new_file(target, replace=force, inputs=(path, *inputs), kind=LogError) as part:
        with closing(sqlite3.connect(part, isolation_level=None)) as copy:
            copy.text_factory = text_or_bytes
            copy.execute("PRAGMA synchronous = OFF")  # it is flushed as a whole before it gets its name
            copy_pages(connection, copy, path)
            copy.execute("PRAGMA journal_mode = DELETE")
            problems = structure_problems(copy, 1)
        if problems:
            raise DamagedLog(
                f"a damaged log ({problems[0]})", "a whole one",
                f"no backup was made of it; {way_out(path)}", file=str(path),
            )  # fmt: skip


def version_backup(connection: sqlite3.Connection, path: Path, version: int) -> Path:
    """Copy the log beside itself under a name that says its version and the time.

    connection: Open on the log, outside a transaction.
    version: Version of the log [-].
    Returns: The backup.
    Raises LogError: As :func:`copy_log`.
    """
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S")
    target = path.with_name(f"{path.name}.version{version}.{stamp}.backup")
    try:
        copy_log(connection, path, target)
    except LogError:
        if not target.exists():  # else another process was first in this second
            raise
    return target


def daily_backup(connection: sqlite3.Connection, path: Path, today: date | None = None) -> Path | None:
    """Before the first write of a day, copy the log beside itself; of such copies the newest are kept.

    connection: Open on the log, outside a transaction.
    today: The day; by the clock when left out.
    Returns: The backup; None when the day has one.
    Raises LogError: When the log is damaged, or the copy cannot be written.
    """
    day = today or datetime.now().astimezone().date()
    target = path.with_name(f"{path.name}.{day.isoformat()}.backup")
    if target.exists():
        return None
    try:
        copy_log(connection, path, target)
    except InputError:
        if not target.exists():  # else another process was first
            raise
    for old in daily_backups(path)[KEPT:]:
        with suppress(OSError):  # one that may not be removed costs room, no entry
            old.unlink()
    return target


def daily_backups(path: Path) -> list[Path]:
    """Backups of single days beside a log.

    Returns: The newest day first.
    """
    found = []
    for one in backups_beside(path):
        day = one.name.removeprefix(f"{path.name}.").removesuffix(".backup")
        try:
            found.append((date.fromisoformat(day), one))
        except ValueError:
            continue
    return [one for _, one in sorted(found, reverse=True)]


def clear_part_files(path: Path, now: float | None = None) -> list[Path]:
    """Remove part files of the log's copies that a killed process left beside it.

    now: Time as the clock of the files gives it [s]; now when left out.
    Returns: Those that were removed: not written to for ``LEFT_OVER_S``.
    """
    moment, gone = time.time() if now is None else now, []
    hidden, plain = f".{path.name}."[:61], f"{path.name}.version"
    try:
        for one in path.parent.iterdir():
            ours = one.name.startswith((hidden, plain)) and one.name.endswith((".part", ".part-journal"))
            if ours and moment - one.stat().st_mtime > LEFT_OVER_S:
                one.unlink(missing_ok=True)
                gone.append(one)
    except OSError:  # another process cleans too, or the folder may not be written: nothing depends on it
        pass
    return gone
