"""Is the log whole: the file itself, every entry, the search grid and the history."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.cutlog.guard import guarded
from millcalc.cutlog.rows import SELECTED, cell_of, stored_of
from millcalc.cutlog.store import Log
from millcalc.errors import LogError


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the check of a log found.

    entries, removed, changes: Entries that stand, entries taken out, lines of history [-].
    problems: One sentence each; empty when none was found.
    """

    entries: int
    removed: int
    changes: int
    problems: tuple[str, ...]


def verify_log(log: Log, most: int = 50) -> Verdict:
    """Check the file's structure, its links, and that every entry is one.

    log: Open log.
    most: Problems after which to stop [-].
    Returns: What was found. It cannot tell whether what people noted is true.
    Raises LogError: When the file is so damaged that it cannot be read through.
    """
    problems: list[str] = []
    run = log.connection.execute
    with guarded(log.path):
        problems += [
            f"file: {text}" for (text,) in run(f"PRAGMA integrity_check({most})") if str(text) != "ok"
        ]
        problems += [
            f"table {table}, row {row}: points to a row of {parent} that is not there"
            for table, row, parent, _ in run("PRAGMA foreign_key_check")
        ]
        standing = removed = 0
        for *row, cell in run(f"SELECT {SELECTED}, cell FROM cuts"):
            removed += bool(row[1])
            standing += not row[1]
            if len(problems) >= most:
                continue
            try:
                entry = stored_of(row, log.path).entry
            except LogError as error:
                problems.append(f"{error.field}: found {error.found}")
                continue
            if cell != cell_of(entry):
                problems.append(f"entry {row[0]}: its place in the search grid is wrong; `log edit` mends it")
            if not entry.uid:
                problems.append(f"entry {row[0]}: has no uid")
        (changes,) = run("SELECT count(*) FROM changes").fetchone()
        problems += [
            f"entry {number}: taken out or standing otherwise than its history says"
            for (number,) in run(
                """SELECT number FROM cuts WHERE removed <> coalesce((SELECT after FROM changes
                WHERE changes.number = cuts.number AND field = 'removed' ORDER BY change DESC LIMIT 1), 0)"""
            )
        ]
    return Verdict(standing, removed, int(changes), tuple(problems[:most]))
