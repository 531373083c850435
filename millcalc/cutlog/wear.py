"""How long each cutter has cut, and how that compares with how long its like lasted."""

from __future__ import annotations

import statistics
from collections.abc import Iterable
from dataclasses import dataclass

from millcalc.cutlog import tuning
from millcalc.cutlog.models import Entry
from millcalc.cutlog.query import Query
from millcalc.cutlog.store import Log

_ENDED_BY_SYMPTOM = {"cutter-broke", "cutter-chipped", "cutter-worn"}
_ENDED_BY_LOOK = {"worn", "chipped", "broken"}


@dataclass(frozen=True, slots=True)
class BitWear:
    """One cutter's time in the cut.

    cutter, bit: Table name, and which one of several.
    minutes: Time in the cut that is known [min].
    cuts, cuts_without_time: Entries, and how many of them do not state their minutes [-].
    ended: Whether it was worn, chipped or broken at the end.
    record_minutes: Median time after which cutters of this name ended; None when none has yet [min].
    warning: What to do about it; empty when nothing.
    """

    cutter: str
    bit: str
    minutes: float
    cuts: int
    cuts_without_time: int
    ended: bool
    record_minutes: float | None
    warning: str = ""


def has_ended(entry: Entry) -> bool:
    """Whether the cutter was at its end after this cut.

    entry: The cut.
    Returns: True for a worn, chipped or broken cutter.
    """
    return entry.bit_after in _ENDED_BY_LOOK or not _ENDED_BY_SYMPTOM.isdisjoint(entry.symptoms)


def wear_of(entries: Iterable[Entry]) -> list[BitWear]:
    """Sum the minutes of each cutter and compare them with its like.

    entries: Own cuts in any order.
    Returns: By cutter name, then by bit; a new cutter should get a new ``bit`` name, or its minutes run on.

    Note: Minutes in different materials are added as they are. ``bit_age_min`` of the oldest entry counts
      for the time before the log began.
    """
    grouped: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        grouped.setdefault((entry.cutter, entry.bit), []).append(entry)
    sums = {key: _minutes(group) for key, group in grouped.items()}
    ended = {key: any(has_ended(entry) for entry in group) for key, group in grouped.items()}
    result = []
    for (cutter, bit), group in sorted(grouped.items()):
        key = (cutter, bit)
        lives = [sums[other] for other in grouped if other[0] == cutter and ended[other] and sums[other] > 0]
        record = statistics.median(lives) if len(lives) >= tuning.WEAR_LEAST_RECORDS else None
        result.append(
            BitWear(
                cutter,
                bit,
                sums[key],
                len(group),
                sum(entry.cut_minutes is None for entry in group),
                ended[key],
                record,
                _warning(sums[key], ended[key], record),
            )
        )
    return result


def _minutes(group: list[Entry]) -> float:
    first = min(group, key=lambda entry: entry.when)
    return (first.bit_age_min or 0.0) + sum(entry.cut_minutes or 0.0 for entry in group)


def _warning(minutes: float, ended: bool, record: float | None) -> str:
    if ended:
        return "at its end: replace it, and give the new one another bit name"
    if record is None or minutes < tuning.WEAR_WARN_SHARE * record:
        return ""
    return f"{minutes:.0f} min; cutters like it ended at about {record:.0f} min: look at its edge, have another ready"


def cutter_wear(log: Log, cutter: str = "") -> list[BitWear]:
    """Wear of the cutters in the log; other people's recipes are left out.

    log: Open log.
    cutter: Only this one; empty for all.
    Returns: As :func:`wear_of`.
    """
    entries = (stored.entry for stored in log.iterate(Query(cutter=cutter, limit=-1)))
    return wear_of(entry for entry in entries if entry.origin != "somebody")


def age_min(log: Log, cutter: str, bit: str = "") -> float | None:
    """Minutes that a cutter in use has cut.

    log: Open log.
    cutter: Its name.
    bit: Which one of several.
    Returns: Age [min]; None where the log does not know it, or it is at its end.
    """
    return next((one.minutes for one in cutter_wear(log, cutter) if one.bit == bit and not one.ended), None)
