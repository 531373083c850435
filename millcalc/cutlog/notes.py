"""Searching the notes: a full-text index of the database over them, kept by triggers, and what is done without it.

The index holds every three neighbouring characters of the notes (SQLite's FTS5 with its trigram tokenizer); it only
names entries where the words may stand, and the notes themselves decide, so that it finds what reading every note
finds. It can be made from the notes at any time: where it is missing, damaged, or the database has no FTS5, all notes
are read.
"""

from __future__ import annotations

import sqlite3
from contextlib import suppress
from pathlib import Path
from typing import Final

from millcalc.cutlog.rows import SqlValue
from millcalc.errors import LogError

SHORTEST: Final = 3  # characters of a text that the index can look for [-]
FEW: Final = 4000  # entries that are looked at one by one; so many newest ones are looked at first [-]

_NAMELESS: Final = "constraint failed"
_TABLE: Final = (
    "CREATE VIRTUAL TABLE found_notes USING fts5(notes, content = 'cuts', content_rowid = 'number', "
    "tokenize = 'trigram', detail = none, columnsize = 0)"
)
_REBUILD: Final = "INSERT INTO found_notes (found_notes) VALUES ('rebuild')"
_OUT: Final = (
    "INSERT INTO found_notes (found_notes, rowid, notes) SELECT 'delete', old.number, old.notes"
    " WHERE old.notes <> '';"
)
_IN: Final = "INSERT INTO found_notes (rowid, notes) SELECT new.number, new.notes WHERE new.notes <> '';"
_TRIGGERS: Final = {
    "notes_added": f"AFTER INSERT ON cuts BEGIN {_IN} END",
    "notes_changed": f"AFTER UPDATE OF notes ON cuts BEGIN {_OUT} {_IN} END",
    "notes_deleted": f"AFTER DELETE ON cuts BEGIN {_OUT} END",
}


def can_index(connection: sqlite3.Connection) -> bool:
    """Whether this SQLite has FTS5 with the trigram tokenizer.

    connection: Open.
    """
    modules = {str(name) for (name,) in connection.execute("PRAGMA module_list")}
    return "fts5" in modules and sqlite3.sqlite_version_info >= (3, 34)


def is_kept(connection: sqlite3.Connection) -> bool:
    """Whether the index follows the notes: it does as long as all its triggers stand.

    connection: Open.
    """
    found = connection.execute(
        f"SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND name IN ({_marks(len(_TRIGGERS))})",
        list(_TRIGGERS),
    ).fetchone()
    return bool(found[0] == len(_TRIGGERS))


def needs_care(connection: sqlite3.Connection) -> bool:
    """Whether :func:`take_care` has something to do before anything is written.

    connection: Open.
    """
    here = can_index(connection)
    return here != is_kept(connection) or (here and not answers(connection))


def take_care(connection: sqlite3.Connection) -> None:
    """Make the index where it is missing or damaged; without FTS5 let writing go on without it.

    connection: Inside a transaction.
    """
    for name in _TRIGGERS:
        connection.execute(f"DROP TRIGGER IF EXISTS {name}")
    if not can_index(connection):
        return  # without its triggers the index counts as none; it is made anew where there is FTS5
    if connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'found_notes'").fetchone():
        _drop(connection)
    connection.execute(_TABLE)
    connection.execute(_REBUILD)
    for name, what in _TRIGGERS.items():
        connection.execute(f"CREATE TRIGGER {name} {what}")


def _drop(connection: sqlite3.Connection) -> None:
    """Take the index away, also one so damaged that its own way of going fails."""
    try:
        connection.execute("DROP TABLE found_notes")
    except sqlite3.DatabaseError:
        connection.execute("PRAGMA writable_schema = ON")
        connection.execute("DELETE FROM sqlite_master WHERE name = 'found_notes'")
        connection.execute("PRAGMA writable_schema = RESET")
        for part in ("data", "idx", "content", "docsize", "config"):
            connection.execute(f"DROP TABLE IF EXISTS found_notes_{part}")


def answers(connection: sqlite3.Connection) -> bool:
    """Whether the index can be asked at all.

    connection: Open.
    """
    try:
        connection.execute(
            "SELECT rowid FROM found_notes WHERE found_notes MATCH '\"aaa\"' LIMIT 1"
        ).fetchall()
    except sqlite3.DatabaseError:
        return False
    return True


def is_sound(connection: sqlite3.Connection) -> bool:
    """Whether the index holds what the notes say, by the database's own look at both.

    connection: Open for writing, outside a transaction.
    """
    if not can_index(connection):
        return True
    try:
        connection.execute("INSERT INTO found_notes (found_notes, rank) VALUES ('integrity-check', 1)")
    except sqlite3.DatabaseError as error:
        if not _tells_of_damage(error):
            raise
        return False
    return True


def make_anew(connection: sqlite3.Connection) -> None:
    """Make the index anew, all or nothing.

    connection: Open for writing, outside a transaction.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        take_care(connection)
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise


def mend_after(error: BaseException, connection: sqlite3.Connection, path: Path) -> None:
    """Make the index anew when a write failed because it is damaged.

    error: What the write raised.
    connection: Outside a transaction again.
    path: The log file, for the message.
    Raises LogError: Then, to say that the command can be repeated.
    """
    if not _tells_of_damage(error):
        return
    with suppress(sqlite3.Error):  # the file itself is damaged then: the first error says so
        make_anew(connection)
        raise LogError(
            "a damaged index of the notes", "a whole one", "it was made anew from the notes; repeat the command",
            file=str(path),
        ) from error  # fmt: skip


def _tells_of_damage(error: BaseException) -> bool:
    """Whether an error comes from a damaged index; constraints of our own tables are named in theirs."""
    return getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_CORRUPT_VTAB or str(error) == _NAMELESS


def reading_every_note(text: str) -> tuple[str, list[SqlValue]]:
    """The condition that looks into every note.

    text: Part of the notes.
    Returns: Condition with a question mark, and the value for it.
    """
    found = "SELECT number FROM cuts INDEXED BY cuts_by_notes WHERE notes <> '' AND notes LIKE ? ESCAPE '\\'"
    return f"number IN ({found})", [_pattern(text)]


def condition_for(
    connection: sqlite3.Connection, text: str, others: list[str], values: list[SqlValue], most: int
) -> tuple[str, list[SqlValue]]:
    """The condition for a text in the notes and all else, by the index where that is there and helps.

    connection: Open.
    text: Part of the notes, letters a to z of either case.
    others: The other conditions; the first names ``removed``.
    values: Values for these.
    most: How many entries are wanted, newest cut first; negative for all [-].
    Returns: Condition with question marks, and the values for it; it finds the same entries as reading every note.
    """
    if len(text) < SHORTEST or "\0" in text or not is_kept(connection):
        return _by_numbers(others, values, *reading_every_note(text))
    sought, pattern = "notes LIKE ? ESCAPE '\\'", _pattern(text)
    match = _match(text)
    try:
        near = connection.execute(
            "SELECT rowid FROM found_notes WHERE found_notes MATCH ? LIMIT ?", (match, FEW)
        ).fetchall()
    except sqlite3.DatabaseError:  # no FTS5 here, or a damaged index: the next write makes it anew
        return _by_numbers(others, values, *reading_every_note(text))
    if len(near) < FEW:
        numbers = ", ".join(str(int(number)) for (number,) in near)
        return _by_numbers(others, values, f"number IN ({numbers}) AND {sought}", [pattern])
    if most >= 0:
        # a word that stands in many notes stands in enough of the newest ones, as a rule
        since = connection.execute(
            "SELECT cut_at FROM cuts WHERE removed = ? ORDER BY cut_at DESC LIMIT 1 OFFSET ?",
            (values[0], FEW),
        ).fetchone()
        newest = " AND ".join([*others, "cut_at >= ?", sought])
        those = [*values, since[0] if since else "", pattern]
        (enough,) = connection.execute(
            f"SELECT count(*) FROM (SELECT 1 FROM cuts WHERE {newest} LIMIT ?)", [*those, most]
        ).fetchone()
        if enough == most:
            return newest, those
    # + : the order of time is walked, not the list of numbers
    found = "+number IN (SELECT rowid FROM found_notes WHERE found_notes MATCH ?)"
    return " AND ".join([*others, found, sought]), [*values, match, pattern]


def _by_numbers(
    others: list[str], values: list[SqlValue], found: str, more: list[SqlValue]
) -> tuple[str, list[SqlValue]]:
    """All conditions, of which the list of numbers is walked; the + keeps the database from another index."""
    return " AND ".join([*(f"+{one}" for one in others), found]), [*values, *more]


def _match(text: str) -> str:
    """All that stands in the text, three characters at a time, each of which a note must hold."""
    places = sorted({*range(0, len(text) - SHORTEST + 1, SHORTEST), len(text) - SHORTEST})
    parts = (text[at : at + SHORTEST].replace('"', '""') for at in places)
    return " AND ".join(f'"{part}"' for part in parts)


def _pattern(text: str) -> str:
    sought = text.replace("\\", r"\\").replace("%", r"\%").replace("_", r"\_")
    return f"%{sought}%"


def _marks(number: int) -> str:
    return ", ".join("?" * number)
