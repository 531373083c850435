"""Is the log whole: the file itself, every entry, the search grid and the history."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.cutlog.guard import guarded
from millcalc.cutlog.rows import SELECTED, Raw, cell_of, moment_of, stored_of
from millcalc.cutlog.sound import structure_problems
from millcalc.cutlog.store import Log
from millcalc.errors import LogError


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the check of a log found.

    entries, removed, changes: Entries that stand, entries taken out, lines of history [-].
    problems: One sentence each; empty when none was found.
    out: Entries taken out that cannot be read; they count for nothing [-].
    """

    entries: int
    removed: int
    changes: int
    problems: tuple[str, ...]
    out: int = 0


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
        problems += structure_problems(log.connection, most)
        standing = removed = out = 0
        for *row, cell in run(f"SELECT {SELECTED}, cell FROM cuts"):
            raw = Raw.of(row)
            removed += raw.removed
            standing += not raw.removed
            if len(problems) >= most:
                continue
            try:
                entry = stored_of(raw, log.path).entry
            except LogError as error:
                if raw.removed:
                    out += 1
                else:
                    problems.append(f"{error.field}: found {error.found}; do: {error.action}")
                continue
            if cell != cell_of(entry):
                problems.append(
                    f"entry {raw.number}: its place in the search grid is wrong; `millcalc log edit {raw.number} "
                    f"--set outcome={entry.outcome}` mends it"
                )
            if not entry.uid:
                problems.append(f"entry {raw.number}: has no uid")
        problems += [
            f"alteration {row}: found a time or text that cannot be read; it counts for nothing"
            for row, at, machine, what in run("SELECT alteration, at, machine, what FROM alterations")
            if moment_of(at) is None or not (isinstance(machine, str) and isinstance(what, str))
        ]
        problems += [
            f"change {row} of the history: its time or kind cannot be read"
            for (row,) in run(
                "SELECT batch FROM batches WHERE at NOT GLOB '????-??-??T*+00:00'"
                " OR action NOT IN ('add', 'import', 'edit', 'remove', 'undo')"
            )
        ]
        (changes,) = run("SELECT count(*) FROM changes").fetchone()
        problems += [
            f"entry {number}: taken out or standing otherwise than its history says"
            for (number,) in run(
                """SELECT number FROM cuts WHERE removed <> coalesce((SELECT after FROM changes
                WHERE changes.number = cuts.number AND field = 'removed' ORDER BY change DESC LIMIT 1), 0)"""
            )
        ]
    return Verdict(standing, removed, int(changes), tuple(problems[:most]), out)
