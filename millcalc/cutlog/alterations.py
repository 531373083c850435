"""Alterations of a machine: the moments from which its earlier cuts no longer teach."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from millcalc.cutlog.guard import guarded
from millcalc.cutlog.rows import moment_of, time_text
from millcalc.cutlog.store import Log
from millcalc.errors import LogError


@dataclass(frozen=True, slots=True)
class Alteration:
    """A change to a machine: what was learned before it no longer counts.

    when: Since when, UTC.
    machine: Which machine.
    what: What was changed.
    """

    when: datetime
    machine: str
    what: str


def note_alteration(log: Log, machine: str, what: str, when: datetime | None = None) -> Alteration:
    """Note that a machine was altered: cuts before it are kept and shown, but no longer learned from.

    log: Open log.
    machine: Which machine.
    what: What was changed, e.g. ``stiffer Z plate``.
    when: Since when; now when left out.
    Returns: As noted.
    Raises LogError: When machine or text is empty, or it cannot be written.
    """
    machine, what = machine.strip(), what.strip()
    if not machine or not what:
        raise LogError("an empty text", "the machine's name and what was changed", field="machine-changed")
    moment = (when or datetime.now(UTC)).astimezone(UTC)
    with log.writing() as connection:
        connection.execute(
            "INSERT INTO alterations (at, who, machine, what) VALUES (?, ?, ?, ?)",
            (time_text(moment), log.who, machine, what),
        )
    return Alteration(moment, machine, what)


def alterations(log: Log, machine: str) -> list[Alteration]:
    """What was changed on a machine, oldest first.

    log: Open log.
    machine: Which machine.
    Returns: Empty when nothing was noted; what cannot be read is left out, and verify names it.
    """
    with guarded(log.path):
        rows = log.connection.execute(
            "SELECT at, machine, what FROM alterations WHERE machine = ? ORDER BY at, alteration",
            (machine,),
        ).fetchall()
    moments = [(moment_of(at), name, what) for at, name, what in rows]
    return [Alteration(when, str(name), str(what)) for when, name, what in moments if when is not None]
