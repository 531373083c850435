"""Which entries are asked for, and the condition that finds them by the file's indexes."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from datetime import datetime

from millcalc.cutlog.notes import condition_for
from millcalc.cutlog.rows import SqlValue, time_text


@dataclass(frozen=True, slots=True)
class Query:
    """Which entries to list; an empty field asks for nothing.

    machine, material, cutter, bit, outcome, origin: Exact values.
    program_sha256: Fingerprint, whole or its first digits.
    text: Part of the notes, letters a to z of either case.
    since, until: From (included) and before (excluded).
    removed: Entries that were taken out, instead of those that stand.
    limit, offset: How many, and how many to skip [-].
    """

    machine: str = ""
    material: str = ""
    cutter: str = ""
    bit: str = ""
    outcome: str = ""
    origin: str = ""
    program_sha256: str = ""
    text: str = ""
    since: datetime | None = None
    until: datetime | None = None
    removed: bool = False
    limit: int = 20
    offset: int = 0


def condition_of(
    query: Query, connection: sqlite3.Connection, *, most: int = -1
) -> tuple[str, list[SqlValue]]:
    """The SQL condition of a query, values apart from the text.

    query: Which entries.
    connection: Open; asked for the index of the notes.
    most: How many entries are wanted, newest cut first; negative for all [-].
    Returns: Condition with question marks, and the values for them.
    """
    parts = ["removed = ?"]
    values: list[SqlValue] = [int(query.removed)]
    for name in ("machine", "material", "cutter", "bit", "outcome", "origin"):
        if getattr(query, name):
            parts.append(f"{name} = ?")
            values.append(getattr(query, name))
    if query.program_sha256:
        digits = query.program_sha256.lower()
        parts.append("program_sha256 <> '' AND program_sha256 >= ? AND program_sha256 < ?")
        values += [digits, digits + "g"]
    if query.since is not None:
        parts.append("cut_at >= ?")
        values.append(time_text(query.since))
    if query.until is not None:
        parts.append("cut_at < ?")
        values.append(time_text(query.until))
    if query.text:
        return condition_for(connection, query.text, parts, values, most)
    return " AND ".join(parts), values
