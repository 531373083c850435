"""Is the file itself whole: before anything is written into it, and of every copy that is made."""

from __future__ import annotations

import random
import re
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Final

from millcalc.cutlog import unchanged
from millcalc.cutlog.connect import beside, connect
from millcalc.cutlog.guard import DamagedLog, damaged, guarded
from millcalc.cutlog.ways_out import backups_beside, way_out

WHOLE_BYTES: Final = 1_000_000  # a file up to this size is looked through whole before a write [byte]
_HEAD: Final = b"SQLite format 3\x00"  # first bytes of the file format, SQLite's own documentation
_SMALLEST: Final = 512  # bytes of the smallest page, by the same
_OF_A_VALUE: Final = re.compile(r"(CHECK constraint failed|NULL value|[\w-]+ value) in ")
_OF_THE_NOTES: Final = "inverted index for FTS5"  # the index of the notes is made anew from them
_NEWEST: Final = 40  # rows looked at by each index of a larger one [-]
_BY_LOT: Final = 400  # rows of each table looked at where the lot falls [-]


def structure_problems(connection: sqlite3.Connection, most: int = 20) -> list[str]:
    """What is wrong with the structure of the file and its links.

    connection: Open on it.
    most: Problems after which to stop [-].
    Returns: One sentence each; empty when nothing was found. A value that cannot be is none of it: that row is
      left out where it is read.
    Raises sqlite3.Error: When the file is so damaged that it cannot be read through.
    """
    run = connection.execute
    run("PRAGMA ignore_check_constraints = ON")
    found = [str(text) for (text,) in run(f"PRAGMA integrity_check({10 * most})")]
    run("PRAGMA ignore_check_constraints = OFF")
    problems = [f"file: {text}" for text in found if not _harmless(text)]
    problems += [
        f"table {table}, row {row}: points to a row of {parent} that is not there"
        for table, row, parent, _ in run("PRAGMA foreign_key_check")
    ]
    return problems[:most]


def _harmless(text: str) -> bool:
    return text == "ok" or bool(_OF_A_VALUE.match(text)) or _OF_THE_NOTES in text


def refuse_headless(path: Path) -> None:
    """Refuse a file that is neither empty nor begins as a database does: SQLite would take a short one for new.

    path: The log file.
    Raises DamagedLog: Also for a head with less than a page behind it.
    """
    try:
        with path.open("rb") as file:
            head = file.read(_SMALLEST)
    except OSError:
        return  # said with its reason where it is opened
    if head and (len(head) < _SMALLEST or not head.startswith(_HEAD)):
        raise damaged(path)


def refuse_damaged(path: Path) -> None:
    """Refuse to write into a log whose file is damaged; looks at it without changing it.

    path: The log file, which exists.
    Raises DamagedLog: Says what was found and the way out.

    Note: A file up to ``WHOLE_BYTES`` is looked through whole, and so is a larger one that is not as this
      program left it. Of one that is, the size, the layout, the newest rows by each index, where the next write
      goes, and rows at a place drawn by lot are; the rest is when the day's backup is made. While another process
      has changes in the write-ahead log, a larger one is looked at in this way too.
    """
    if path.stat().st_size == 0:
        if backups_beside(path) or beside(path, "-wal").exists():
            raise _refused(path, "an empty file beside what is left of a log")
        return
    refuse_headless(path)
    as_left, in_use = unchanged.is_as_left(path), not unchanged.is_in_one_file(path)
    with guarded(path), closing(connect(path, "mode=ro")) as connection:
        try:
            problems = _problems(connection, path, whole=not as_left and not in_use)
        except sqlite3.DatabaseError as error:
            if error.sqlite_errorcode & 0xFF not in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB):
                raise
            problems = [str(error)]
    if problems:
        unchanged.forget(path)
        raise _refused(path, f"a damaged log ({problems[0]})")
    if in_use:
        unchanged.forget(path)
    elif not as_left and path.stat().st_size > WHOLE_BYTES:
        unchanged.note_as_left(path)


def _refused(path: Path, found: str) -> DamagedLog:
    return DamagedLog(found, "a whole one", f"nothing was written; {way_out(path)}", file=str(path))


def _problems(connection: sqlite3.Connection, path: Path, *, whole: bool) -> list[str]:
    def one(sql: str) -> int:
        return int(connection.execute(sql).fetchone()[0])

    size = one("PRAGMA page_count") * one("PRAGMA page_size")
    if whole or size <= WHOLE_BYTES:
        return structure_problems(connection, 3)
    if not beside(path, "-wal").exists() and path.stat().st_size != size:
        return [f"file: {path.stat().st_size} bytes where its head says {size}"]
    indexes = connection.execute("SELECT name, tbl_name FROM sqlite_master WHERE type = 'index'").fetchall()
    for index, table in indexes:
        if not str(index).startswith("sqlite_") and index not in ("cuts_by_notes", "cuts_by_program"):
            connection.execute(f"SELECT * FROM {table} INDEXED BY {index} LIMIT {_NEWEST}").fetchall()
    for table, key in (("cuts", "number"), ("changes", "change"), ("batches", "batch")):
        connection.execute(f"SELECT * FROM {table} ORDER BY {key} DESC LIMIT {_NEWEST}").fetchall()
        lot = random.randrange(one(f"SELECT coalesce(max({key}), 0) FROM {table}") + 1)
        connection.execute(
            f"SELECT * FROM {table} WHERE {key} >= {lot} ORDER BY {key} LIMIT {_BY_LOT}"
        ).fetchall()
    return [
        f"table changes: the newest of entry {number} points to an entry that is not there"
        for (number,) in connection.execute(
            f"SELECT number FROM (SELECT number FROM changes ORDER BY change DESC LIMIT {_NEWEST})"
            " WHERE number NOT IN (SELECT number FROM cuts)"
        )
    ]
