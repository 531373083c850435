"""Entries of the log from the result of a proof strip."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from millcalc.advise.proof_record import KeptStep, ProofRecord
from millcalc.advise.proof_result import Proven
from millcalc.cutlog.fill import from_settings, from_tables
from millcalc.cutlog.guard import guarded
from millcalc.cutlog.models import Entry
from millcalc.cutlog.rows import entry_from
from millcalc.cutlog.store import Log


def proof_uid(record: ProofRecord, step: KeptStep) -> str:
    """Name of a step's entry in every copy of the log, so that a step is logged once.

    record: The strip.
    step: One of its steps.
    Returns: 32 hexadecimal digits from the program's fingerprint, the time it was written and the step.
    """
    name = f"{record.program_sha256} {record.written.isoformat()} {step.number}"
    return hashlib.sha256(name.encode("ascii")).hexdigest()[:32]


def logged_as(log: Log, entry: Entry) -> int | None:
    """Number under which an entry is in a log already, also when it was taken out.

    log: Open log.
    entry: With its ``uid``.
    Returns: Its number [-]; None when it is not there.
    """
    with guarded(log.path):
        row = log.connection.execute("SELECT number FROM cuts WHERE uid = ?", (entry.uid,)).fetchone()
    return None if row is None else int(row[0])


def entries_from(
    proven: Proven, when: datetime, symptoms: Sequence[str] = (), notes: str = ""
) -> list[Entry]:
    """What is known of the steps that were judged: the best one, and the first that failed.

    proven: Result of the strip.
    when: When it was cut.
    symptoms: What was wrong with the failed step.
    notes: The person's remark, added to both.
    Returns: One or two, of origin ``test cut``.
    Raises LogError: For a symptom the log does not know.
    """
    judged: list[tuple[KeptStep, dict[str, Any]]] = [(proven.best, {"outcome": "good"})]
    if proven.failed is not None:
        judged.append((proven.failed, {"outcome": "failed", "symptoms": tuple(symptoms)}))
    return [_entry(proven.record, step, when, notes, known) for step, known in judged]


def _entry(record: ProofRecord, step: KeptStep, when: datetime, notes: str, known: dict[str, Any]) -> Entry:
    settings = step.settings
    fields = from_settings(
        {
            "machine": record.machine,
            "material": record.material,
            "cutter": record.cutter,
            "stickout_mm": record.stickout_mm,
            "drop_mm": record.drop_mm,
            "request": {"cut": "slot"},
            "settings": settings.model_dump(),
            "limits": [limit.model_dump() for limit in step.limits],
            "ranges": [item.model_dump() for item in step.ranges],
        }
    )
    remark = f"step {step.number} of {len(record.steps)} of a proof strip, {record.ladder} rising"
    fields |= {
        "uid": proof_uid(record, step),
        "when": when,
        "origin": "test cut",
        "chip_mm": settings.feed_per_tooth_mm,
        "cut_metres": step.length_mm / 1000.0,
        "cut_minutes": step.length_mm / settings.feed_mm_min,
        "program": record.program,
        "program_sha256": record.program_sha256,
        "notes": f"{remark}; {notes}" if notes else remark,
        **known,
    }
    return entry_from(fields | from_tables(fields))
