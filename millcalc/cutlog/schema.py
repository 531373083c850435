"""The tables of the log file and the steps that bring an older file forward.

Every step is one list of SQL statements, or a function where values must be computed; all steps that a file
needs run inside one exclusive transaction, after a backup of the file has been made beside it.
"""

from __future__ import annotations

import sqlite3
import uuid
from collections.abc import Callable
from typing import Final

from millcalc.cutlog.notes import take_care

APPLICATION_ID: Final = 0x6D63_6C67  # "mclg": marks the file as a log of cuts in SQLite's header
VERSION: Final = 5
INDEXED_FROM: Final = 5  # version whose files may hold the index of the notes

# 1: a cut, its main settings and its outcome
_VERSION_1 = (
    """CREATE TABLE cuts (
        number INTEGER PRIMARY KEY AUTOINCREMENT,
        cut_at TEXT NOT NULL CHECK (length(cut_at) = 32),
        machine TEXT NOT NULL CHECK (machine <> ''),
        cutter TEXT NOT NULL CHECK (cutter <> ''),
        diameter_mm REAL CHECK (diameter_mm > 0),
        flutes INTEGER CHECK (flutes > 0),
        stickout_mm REAL CHECK (stickout_mm > 0),
        drop_mm REAL CHECK (drop_mm > 0),
        material TEXT NOT NULL CHECK (material <> ''),
        stock_thickness_mm REAL CHECK (stock_thickness_mm > 0),
        cooling TEXT,
        operation TEXT,
        speed_rpm REAL CHECK (speed_rpm > 0),
        feed_mm_min REAL CHECK (feed_mm_min > 0),
        axial_depth_mm REAL CHECK (axial_depth_mm > 0),
        radial_width_mm REAL CHECK (radial_width_mm > 0),
        program TEXT NOT NULL DEFAULT '',
        outcome TEXT NOT NULL CHECK (outcome IN ('good', 'acceptable', 'failed')),
        notes TEXT NOT NULL DEFAULT '',
        removed INTEGER NOT NULL DEFAULT 0 CHECK (removed IN (0, 1))
    )""",
    "CREATE INDEX cuts_by_time ON cuts (removed, cut_at DESC, number DESC)",
)

# 2: entries keep their identity when logs are merged, say what was seen and measured; every change is kept
_VERSION_2_FIRST = (
    "ALTER TABLE cuts ADD COLUMN uid TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE cuts ADD COLUMN origin TEXT NOT NULL DEFAULT 'own'",
    "ALTER TABLE cuts ADD COLUMN spindle TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE cuts ADD COLUMN bit TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE cuts ADD COLUMN bit_age_min REAL CHECK (bit_age_min >= 0)",
    "ALTER TABLE cuts ADD COLUMN batch TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE cuts ADD COLUMN supplier TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE cuts ADD COLUMN hold_down TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE cuts ADD COLUMN direction TEXT",
    "ALTER TABLE cuts ADD COLUMN override_percent REAL NOT NULL DEFAULT 100 CHECK (override_percent > 0)",
    "ALTER TABLE cuts ADD COLUMN cut_minutes REAL CHECK (cut_minutes >= 0)",
    "ALTER TABLE cuts ADD COLUMN cut_metres REAL CHECK (cut_metres >= 0)",
    "ALTER TABLE cuts ADD COLUMN program_sha256 TEXT NOT NULL DEFAULT ''",
    "ALTER TABLE cuts ADD COLUMN symptoms TEXT NOT NULL DEFAULT '[]'",
    "ALTER TABLE cuts ADD COLUMN chip_form TEXT",
    "ALTER TABLE cuts ADD COLUMN sound TEXT",
    "ALTER TABLE cuts ADD COLUMN finish TEXT",
    "ALTER TABLE cuts ADD COLUMN bit_after TEXT",
    "ALTER TABLE cuts ADD COLUMN size_error_mm REAL",
    "ALTER TABLE cuts ADD COLUMN photo TEXT NOT NULL DEFAULT ''",
)
_VERSION_2_LAST = (
    "CREATE UNIQUE INDEX cuts_by_uid ON cuts (uid)",
    """CREATE TABLE batches (
        batch INTEGER PRIMARY KEY AUTOINCREMENT,
        at TEXT NOT NULL,
        who TEXT NOT NULL DEFAULT '',
        action TEXT NOT NULL CHECK (action IN ('add', 'import', 'edit', 'remove', 'undo')),
        undoes INTEGER UNIQUE REFERENCES batches (batch)
    )""",
    """CREATE TABLE changes (
        change INTEGER PRIMARY KEY AUTOINCREMENT,
        batch INTEGER NOT NULL REFERENCES batches (batch),
        number INTEGER NOT NULL REFERENCES cuts (number),
        field TEXT NOT NULL,
        before,
        after
    )""",
    "CREATE INDEX changes_by_cut ON changes (number, change)",
    "CREATE INDEX changes_by_batch ON changes (batch)",
    """CREATE TRIGGER changes_stay BEFORE UPDATE ON changes
        BEGIN SELECT RAISE(ABORT, 'the history of changes cannot be altered'); END""",
    """CREATE TRIGGER changes_are_kept BEFORE DELETE ON changes
        BEGIN SELECT RAISE(ABORT, 'the history of changes cannot be altered'); END""",
)

# 3: what the physics predicted, so that outcomes can teach; machine alterations; quick search for like cuts
_VERSION_3_FIRST = (
    "ALTER TABLE cuts ADD COLUMN shank_mm REAL CHECK (shank_mm > 0)",
    "ALTER TABLE cuts ADD COLUMN kc11_n_mm2 REAL CHECK (kc11_n_mm2 > 0)",
    "ALTER TABLE cuts ADD COLUMN mc REAL CHECK (mc >= 0 AND mc < 1)",
    "ALTER TABLE cuts ADD COLUMN chip_mm REAL CHECK (chip_mm > 0)",
    "ALTER TABLE cuts ADD COLUMN force_n REAL CHECK (force_n >= 0)",
    "ALTER TABLE cuts ADD COLUMN power_w REAL CHECK (power_w >= 0)",
    "ALTER TABLE cuts ADD COLUMN deflection_mm REAL CHECK (deflection_mm >= 0)",
    "ALTER TABLE cuts ADD COLUMN shares TEXT NOT NULL DEFAULT '{}'",
    "ALTER TABLE cuts ADD COLUMN cell INTEGER",
    """CREATE TABLE alterations (
        alteration INTEGER PRIMARY KEY AUTOINCREMENT,
        at TEXT NOT NULL,
        who TEXT NOT NULL DEFAULT '',
        machine TEXT NOT NULL CHECK (machine <> ''),
        what TEXT NOT NULL CHECK (what <> '')
    )""",
)
_VERSION_3_LAST = (
    "CREATE INDEX cuts_by_cell ON cuts (cell, removed, cut_at DESC, machine)",
    "CREATE INDEX cuts_by_machine ON cuts (machine, removed, cut_at DESC, number DESC)",
    "CREATE INDEX cuts_by_material ON cuts (material, removed, cut_at DESC, number DESC)",
    "CREATE INDEX cuts_by_cutter ON cuts (cutter, removed, cut_at DESC, number DESC)",
    "CREATE INDEX cuts_by_outcome ON cuts (outcome, removed, cut_at DESC, number DESC)",
    "CREATE INDEX cuts_by_program ON cuts (program_sha256, cut_at DESC) WHERE program_sha256 <> ''",
    "CREATE INDEX cuts_by_notes ON cuts (notes, removed) WHERE notes <> ''",
)


def _run(connection: sqlite3.Connection, statements: tuple[str, ...]) -> None:
    for statement in statements:
        connection.execute(statement)


def _to_1(connection: sqlite3.Connection) -> None:
    _run(connection, _VERSION_1)


def _to_2(connection: sqlite3.Connection) -> None:
    _run(connection, _VERSION_2_FIRST)
    numbers = connection.execute("SELECT number FROM cuts").fetchall()
    connection.executemany(
        "UPDATE cuts SET uid = ? WHERE number = ?", ((uuid.uuid4().hex, number) for (number,) in numbers)
    )
    _run(connection, _VERSION_2_LAST)


def _to_3(connection: sqlite3.Connection) -> None:
    from millcalc.cutlog.cells import cell_of_values

    _run(connection, _VERSION_3_FIRST)
    rows = connection.execute(
        """SELECT number, diameter_mm, flutes, kc11_n_mm2, axial_depth_mm, radial_width_mm, chip_mm,
            feed_mm_min * override_percent / 100.0 / (flutes * speed_rpm) FROM cuts"""
    ).fetchall()
    connection.executemany(
        "UPDATE cuts SET cell = ? WHERE number = ?",
        (
            (
                cell_of_values(
                    diameter, kc11, depth, chip if chip is not None else thinned(fz, width, diameter)
                ),
                n,
            )
            for n, diameter, _flutes, kc11, depth, width, chip, fz in rows
        ),
    )
    _run(connection, _VERSION_3_LAST)


# 4: a checksum of each row; a later version that adds a column to it must write all of them anew
def _to_4(connection: sqlite3.Connection) -> None:
    from millcalc.cutlog.seal import seal_of

    columns = [str(row[1]) for row in connection.execute("PRAGMA table_info(cuts)")]
    sealed = [name for name in columns if name not in ("removed", "cell")]
    connection.execute("ALTER TABLE cuts ADD COLUMN seal INTEGER")
    rows = connection.execute(f"SELECT {', '.join(sealed)} FROM cuts").fetchall()
    connection.executemany(
        "UPDATE cuts SET seal = ? WHERE number = ?",
        (
            (seal_of(dict(zip(sealed, values, strict=True))), values[sealed.index("number")])
            for values in rows
        ),
    )


def thinned(fz: float | None, width: float | None, diameter: float | None) -> float | None:
    """Largest chip thickness from fz, ae and D; fz itself where ae or D is unknown.

    fz, width, diameter: Chip load, radial width and cutter diameter [mm].
    Returns: Chip thickness [mm]; None when fz is unknown.
    """
    if fz is None or width is None or diameter is None or width >= diameter / 2:
        return fz
    share = width / diameter
    return float(2.0 * fz * (share * (1.0 - share)) ** 0.5)


def _to_5(_: sqlite3.Connection) -> None:
    """5: a file may hold the index of the notes, which :func:`bring_forward` makes; no table is another."""


STEPS: Final[tuple[Callable[[sqlite3.Connection], None], ...]] = (_to_1, _to_2, _to_3, _to_4, _to_5)


def bring_forward(connection: sqlite3.Connection, upto: int = VERSION, *, index: bool = True) -> None:
    """Run the steps a file still needs; the caller holds the exclusive transaction.

    connection: Inside a transaction.
    upto: Version to stop at; tests make older files with it [-].
    index: Make the index of the notes as well, where the database can.
    """
    (now,) = connection.execute("PRAGMA user_version").fetchone()
    for version in range(now, upto):
        STEPS[version](connection)
    if index and upto >= INDEXED_FROM:
        take_care(connection)
    connection.execute(f"PRAGMA user_version = {upto}")
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
