"""Put a backup in the log's place; what stood there before is kept beside it."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from millcalc.cutlog.backup import copy_log
from millcalc.cutlog.connect import beside, connect, copy_pages, put_all_in_one_file, use_write_ahead_log
from millcalc.cutlog.guard import DamagedLog, guarded
from millcalc.cutlog.opening import open_connection
from millcalc.cutlog.sound import refuse_damaged, structure_problems
from millcalc.errors import LogError
from millcalc.files import refuse_odd


@dataclass(frozen=True, slots=True)
class Restored:
    """What a restore did.

    entries: Entries that now stand in the log [-].
    before: Entries that stood in it before [-]; None when there was no log, or it could not be read.
    kept: What stood there before, beside the log; None when there was nothing.
    """

    entries: int
    before: int | None
    kept: Path | None


def restore_log(path: Path, source: Path) -> Restored:
    """Put a backup in the log's place.

    path: The log file; its write-ahead log, also one left from a killed process, goes with it.
    source: The backup.
    Returns: What was done.
    Raises LogError: When the backup is not a whole log, or it cannot be put there; the log is then as it was.
    """
    refuse_odd(path, kind=LogError)
    if path.exists() and source.exists() and path.samefile(source):
        raise LogError("the log itself", "a backup of it", "name another file", file=str(source))
    with closing(open_connection(source, create=False, readonly=True)) as backup, guarded(source):
        problems = structure_problems(backup, 1)
        if problems:
            raise LogError(
                f"a damaged backup ({problems[0]})", "a whole one",
                "take another backup, or save what it holds: `millcalc log recover -o NEW.db --log` with its name",
                file=str(source),
            )  # fmt: skip
        entries = _standing(backup)
        stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
        before, kept = _into_the_log(backup, path, stamp)
        if kept is None:
            kept = _set_aside(path, stamp)
            path.parent.mkdir(parents=True, exist_ok=True)
            copy_log(backup, source, path)
    return Restored(entries, before, kept)


def _standing(connection: sqlite3.Connection) -> int:
    return int(connection.execute("SELECT count(*) FROM cuts WHERE removed = 0").fetchone()[0])


def _into_the_log(backup: sqlite3.Connection, path: Path, stamp: str) -> tuple[int | None, Path | None]:
    """Copy into a log that is whole, in one transaction; nothing is done to one that is not, or not there."""
    if not path.exists() or path.stat().st_size == 0:
        return None, None
    try:
        with closing(open_connection(path, create=False, readonly=True)) as old, guarded(path):
            refuse_damaged(path)
            before = _standing(old)
            kept = beside(path, f".before-restore.{stamp}")
            copy_log(old, path, kept)
    except DamagedLog:
        return None, None
    with guarded(path), closing(connect(path, "mode=rw")) as live:
        use_write_ahead_log(live)
        copy_pages(backup, live, path)
        put_all_in_one_file(live)
    return before, kept


def _set_aside(path: Path, stamp: str) -> Path | None:
    """Give what stands in the log's place another name, its companions with it, so that none is replayed."""
    kept = beside(path, f".damaged.{stamp}")
    there = False
    for ending in ("", "-wal", "-shm"):
        old = beside(path, ending)
        if old.exists():
            old.replace(beside(kept, ending))
            there = True
    return kept if there else None
