"""Save what can still be read of a damaged log into a new one, and say what was lost."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Mapping
from contextlib import closing
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from millcalc.cutlog import schema
from millcalc.cutlog.connect import text_or_bytes
from millcalc.cutlog.models import Entry
from millcalc.cutlog.pages import USUAL_SIZE, Pages, Row, leaves_of, read_pages, rows_of
from millcalc.cutlog.rows import (
    ANY_CUT,
    COLUMN_OF,
    COLUMNS,
    FIELDS,
    INSERT,
    Raw,
    from_sql,
    new_uid,
    time_text,
    to_sql,
)
from millcalc.errors import LogError
from millcalc.files import new_file, refuse_odd

_BYTES_A_ROW: Final = 64  # no row of an entry is smaller: bounds the numbers that can be
_ACTIONS: Final = ("add", "import", "edit", "remove", "undo")


@dataclass
class Recovered:
    """What a recovery saved and what it could not.

    entries: Entries saved [-].
    lost: Numbers of entries that are gone.
    mended: What was left out of entries that are saved otherwise, one sentence each.
    doubtful: Numbers of entries saved as they stand, though that is not what was written.
    changes, alterations: Lines of history and alterations of machines saved [-].
    """

    entries: int = 0
    lost: list[int] = field(default_factory=list)
    mended: list[str] = field(default_factory=list)
    doubtful: list[int] = field(default_factory=list)
    changes: int = 0
    alterations: int = 0


@dataclass
class _Found:
    """Rows of a file, sorted by what they are."""

    cuts: dict[int, tuple[int, Raw]] = field(default_factory=dict)
    batches: dict[int, tuple[Any, ...]] = field(default_factory=dict)
    changes: dict[int, tuple[Any, ...]] = field(default_factory=dict)
    alterations: dict[int, tuple[Any, ...]] = field(default_factory=dict)
    last: int = 0


def recover_log(path: Path, target: Path, *, force: bool = False) -> Recovered:
    """Read every page of a file by itself, and write what is found into a new log.

    path: The damaged file; it is not changed. What its write-ahead log holds is read too.
    target: The new log.
    force: Replace a file that is there.
    Returns: What was saved and lost.
    Raises LogError: When nothing of a log is found, or the new file cannot be written.
    """
    refuse_odd(path, kind=LogError)
    try:
        pages = read_pages(path)
    except OSError as error:
        raise LogError(error.strerror or str(error), "a file that can be read", file=str(path)) from error
    found = _sorted_rows(pages)
    if pages.size != USUAL_SIZE:  # the head may be what is damaged
        usual = _sorted_rows(replace(pages, size=USUAL_SIZE, newer={}))
        found = max(found, usual, key=lambda one: len(one.cuts))
    if not found.cuts:
        raise LogError(
            "nothing that an entry of a log could be", "what is left of a log of cuts", file=str(path)
        )
    done = Recovered()
    with (
        new_file(target, replace=force, inputs=(path,), kind=LogError) as part,
        closing(sqlite3.connect(part, isolation_level=None)) as made,
    ):
        made.text_factory = text_or_bytes
        made.execute("PRAGMA synchronous = OFF")
        made.execute("BEGIN")
        schema.bring_forward(made)
        _save_entries(made, found, done)
        _save_history(made, found, done)
        made.execute("COMMIT")
    return done


def _layouts() -> dict[int, list[str]]:
    """Columns of the table of cuts by how many there are, of this version and all older ones."""
    found = {}
    for version in range(1, schema.VERSION + 1):
        with closing(sqlite3.connect(":memory:", isolation_level=None)) as empty:
            schema.bring_forward(empty, version)
            names = [str(row[1]) for row in empty.execute("PRAGMA table_info(cuts)")]
        found[len(names)] = names
    return found


def _sorted_rows(pages: Pages) -> _Found:
    layouts, found = _layouts(), _Found()
    most = max(len(pages) * pages.size // _BYTES_A_ROW, 1)
    rows = list(rows_of(pages))
    roots = [row.values[3] for row in rows if row.values[:2] == ("table", "cuts") and len(row.values) == 5]
    fast = leaves_of(pages, roots[0]) if roots and isinstance(roots[0], int) else set()
    for row in rows:
        names = layouts.get(len(row.values))
        if names is not None and 0 < row.rowid <= most:
            _keep_cut(found, row, names, row.page in fast)
        elif row.values[:1] == ("cuts",) and len(row.values) == 2 and isinstance(row.values[1], int):
            found.last = max(found.last, row.values[1])
        elif row.values[:1] == (None,):
            _keep_history(found, row, most)
    noted = [values[1] for values in found.changes.values()]
    found.last = min(max([found.last, *found.cuts, *noted]), most)
    return found


def _keep_cut(found: _Found, row: Row, names: list[str], fast: bool) -> None:
    """Of several rows of one number keep the one that hangs on the table, then the one with its own checksum."""
    known = dict(zip(names, row.values, strict=True))
    if not isinstance(known["cut_at"], str) or known["removed"] not in (0, 1):
        return
    values = {**_unknown(), **{name: value for name, value in known.items() if name in COLUMNS}}
    # the file keeps whole numbers of a column of fractions as whole ones
    values = {
        name: float(value) if name in _fractions() and isinstance(value, int) else value
        for name, value in values.items()
    }
    raw = Raw(row.rowid, bool(known["removed"]), known.get("seal"), values)
    raw = raw if "seal" in known else raw.sealed()
    rank = 2 * fast + raw.as_written
    if row.rowid not in found.cuts or rank >= found.cuts[row.rowid][0]:
        found.cuts[row.rowid] = (rank, raw)


@cache
def _fractions() -> frozenset[str]:
    """Columns that hold fractions."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as empty:
        schema.bring_forward(empty)
        return frozenset(str(row[1]) for row in empty.execute("PRAGMA table_info(cuts)") if row[2] == "REAL")


def _unknown() -> dict[str, Any]:
    """Columns of an entry of which nothing is known."""
    entry = Entry.model_validate({**ANY_CUT, "outcome": "good"})
    return {COLUMN_OF[name]: to_sql(name, getattr(entry, name)) for name in FIELDS}


def _keep_history(found: _Found, row: Row, most: int) -> None:
    values = row.values[1:]
    if len(values) == 4 and values[2] in _ACTIONS and isinstance(values[0], str):
        found.batches[row.rowid] = values
    elif len(values) == 4 and isinstance(values[2], str) and isinstance(values[3], str):
        found.alterations[row.rowid] = values
    elif len(values) == 5 and all(isinstance(one, int) for one in values[:2]) and 0 < values[1] <= most:
        found.changes[row.rowid] = values


def _save_entries(made: sqlite3.Connection, found: _Found, done: Recovered) -> None:
    names = set()
    for number in range(1, found.last + 1):
        raw = _mended(found.cuts[number][1], done) if number in found.cuts else None
        if raw is None or raw.values["uid"] in names:
            done.lost.append(number)
            continue
        names.add(raw.values["uid"])
        if not raw.as_written:
            done.doubtful.append(number)
        marks = [number, *(raw.values[column] for column in COLUMNS), raw.cell(), raw.seal, raw.removed]
        made.execute(_INSERT, marks)
        done.entries += 1
    made.execute("UPDATE sqlite_sequence SET seq = max(seq, ?) WHERE name = 'cuts'", (found.last,))


_INSERT: Final = INSERT.replace("cell, seal)", "cell, seal, removed)").replace("?)", "?, ?)")


def _mended(raw: Raw, done: Recovered) -> Raw | None:
    """The row without what cannot be read; None when what must be known is not there."""
    values, dropped = dict(raw.values), []
    for name in _unreadable(values):
        info = Entry.model_fields[name]
        if info.is_required():
            return None
        column = COLUMN_OF[name]
        dropped.append(f"{name} {str(values[column])[:40]}")
        values[column] = to_sql(name, info.get_default(call_default_factory=True))
    if not values["uid"]:
        values["uid"] = new_uid()
    if dropped:
        done.mended.append(f"entry {raw.number}: {', '.join(dropped)} cannot be, and is unknown now")
    if values == raw.values:
        return raw
    made = replace(raw, values=values)
    return made.sealed() if raw.as_written or dropped else made


def _unreadable(values: Mapping[str, Any]) -> list[str]:
    """Fields whose stored values an entry cannot hold."""
    read, bad = {}, []
    for name in FIELDS:
        try:
            read[name] = from_sql(name, values[COLUMN_OF[name]])
        except (ValueError, TypeError, RecursionError):
            bad.append(name)
    try:
        Entry.model_validate({**ANY_CUT, "outcome": "good", **read})
    except ValidationError as error:
        # what does not fit together names no field: then the width goes
        bad += [str(item["loc"][0]) if item["loc"] else "radial_width_mm" for item in error.errors()]
    return list(dict.fromkeys(bad))


def _save_history(made: sqlite3.Connection, found: _Found, done: Recovered) -> None:
    saved = {number for (number,) in made.execute("SELECT number FROM cuts")}
    undone = set()
    for batch, (at, who, action, undoes) in sorted(found.batches.items()):
        other = undoes if undoes in found.batches and undoes not in undone and undoes < batch else None
        undone.add(other)
        made.execute("INSERT INTO batches VALUES (?, ?, ?, ?, ?)", (batch, at, str(who), action, other))
    for change, values in sorted(found.changes.items()):
        if values[0] in found.batches and values[1] in saved and isinstance(values[2], str):
            made.execute("INSERT INTO changes VALUES (?, ?, ?, ?, ?, ?)", (change, *values))
            done.changes += 1
    for at, who, machine, what in found.alterations.values():
        if machine and what:
            sql = "INSERT INTO alterations (at, who, machine, what) VALUES (?, ?, ?, ?)"
            made.execute(sql, (at, str(who), machine, what))
            done.alterations += 1
    _note_removed(made)


def _note_removed(made: sqlite3.Connection) -> None:
    """Note for entries whose own history is lost that they are out, or stand; undo passes over it."""
    odd = made.execute(
        """SELECT number, removed FROM cuts WHERE removed <> coalesce((SELECT after FROM changes
        WHERE changes.number = cuts.number AND field = 'removed' ORDER BY change DESC LIMIT 1), 0)"""
    ).fetchall()
    if odd:
        sql = "INSERT INTO batches (at, who, action) VALUES (?, 'recovery', 'undo')"
        batch = made.execute(sql, (time_text(datetime.now(UTC)),)).lastrowid
        made.executemany(
            "INSERT INTO changes (batch, number, field, before, after) VALUES (?, ?, 'removed', ?, ?)",
            ((batch, number, 1 - removed, removed) for number, removed in odd),
        )


def spans(numbers: Iterable[int], most: int = 20) -> str:
    """Numbers as a person writes them.

    numbers: In order.
    most: Spans after which to stop [-].
    Returns: For example ``3, 7 to 12``.
    """
    found: list[list[int]] = []
    for number in numbers:
        if found and number == found[-1][1] + 1:
            found[-1][1] = number
        else:
            found.append([number, number])
    words = [str(first) if first == last else f"{first} to {last}" for first, last in found[:most]]
    return ", ".join(words) + (" ..." if len(found) > most else "")
