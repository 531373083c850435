"""What was cut before on this machine, in this material, with this cutter: what failed, and what is proven."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Final

from millcalc.cutlog.alterations import alterations
from millcalc.cutlog.evidence import SYMPTOM_LIMITS
from millcalc.cutlog.guard import guarded
from millcalc.cutlog.predict import operation_of
from millcalc.cutlog.rows import time_text
from millcalc.cutlog.store import Log
from millcalc.cutlog.tuning import LEARN_LEAST_CUTS, LEARN_MOST_CUTS
from millcalc.cutlog.where import log_path
from millcalc.errors import LogError
from millcalc.limits.tooling import FailedCut, Tooling

if TYPE_CHECKING:
    from millcalc.advise.result import Advice

# limits that a shallower pass relieves; a failure of another kind says nothing about the depth
_BY_DEPTH: Final = frozenset({"deflection", "power", "thrust", "chatter", "chip_high", "hold_down"})
_SAME: Final = 0.98  # of a number; closer ones are the same setting [-]
_MORE: Final = 1.02  # times the removal of an advice from which proven settings are worth saying [-]
_STICKOUT: Final = 1.1  # stickouts closer than this are the same set-up [-]


@dataclass(frozen=True, slots=True)
class PastCut:
    """One logged cut of the same machine, material, cutter and kind of cut.

    when: When it was cut.
    good: Whether it went well; False for a failure, acceptable ones are left out.
    by_depth: Whether a failure may come from the depth.
    speed_rpm, feed_mm_min, depth_mm, width_mm: Speed [rev/min], feed at the knob's setting [mm/min], depth and width
      [mm].
    """

    when: datetime
    good: bool
    by_depth: bool
    speed_rpm: float
    feed_mm_min: float
    depth_mm: float
    width_mm: float

    @property
    def removal(self) -> float:
        """Removal rate [mm3/min]."""
        return self.depth_mm * self.width_mm * self.feed_mm_min


@dataclass(frozen=True, slots=True)
class ProvenHere:
    """Settings that went well here often enough.

    speed_rpm, feed_mm_min, depth_mm, width_mm: Speed [rev/min], feed [mm/min], depth and width [mm].
    count: Good cuts at or beyond them since anything at or below them failed [-].
    last: The latest of these.
    """

    speed_rpm: float
    feed_mm_min: float
    depth_mm: float
    width_mm: float
    count: int
    last: datetime

    @property
    def removal(self) -> float:
        """Removal rate [mm3/min]."""
        return self.depth_mm * self.width_mm * self.feed_mm_min


def cuts_like(log: Log, tooling: Tooling, operation: str) -> tuple[PastCut, ...]:
    """Cuts of the same machine, material, cutter and kind, with about the same stickout, since the last alteration.

    log: Open log.
    tooling: What is about to cut what.
    operation: Kind of cut.
    Returns: Newest first; only those whose speed, feed and depth are known.
    """
    since = max((one.when for one in alterations(log, tooling.machine.name)), default=None)
    with guarded(log.path):
        rows = log.connection.execute(
            """SELECT cut_at, outcome, symptoms, speed_rpm, feed_mm_min, override_percent, axial_depth_mm,
            radial_width_mm, stickout_mm, operation FROM cuts WHERE machine = ? AND material = ? AND cutter = ?
            AND removed = 0 AND origin <> 'somebody' AND cut_at >= ?
            ORDER BY cut_at DESC, number DESC LIMIT ?""",
            (
                tooling.machine.name,
                tooling.material.name,
                tooling.cutter.name,
                "" if since is None else time_text(since),
                LEARN_MOST_CUTS,
            ),
        ).fetchall()
    found = []
    for cut_at, outcome, symptoms, speed, feed, override, depth, width, stickout, stated in rows:
        kind = operation_of({"operation": stated, "radial_width_mm": width}, tooling.cutter.diameter_mm)
        if kind != operation or outcome == "acceptable" or None in (speed, feed, depth):
            continue
        ratio = (stickout or tooling.stickout_mm) / tooling.stickout_mm
        if not 1 / _STICKOUT <= ratio <= _STICKOUT:
            continue
        wide = tooling.cutter.diameter_mm if operation == "slot" or width is None else width
        seen = json.loads(symptoms)
        accused = {kind for symptom in seen for kind in SYMPTOM_LIMITS.get(symptom, ())}
        found.append(
            PastCut(
                datetime.fromisoformat(cut_at),
                outcome == "good",
                not seen or bool(accused & _BY_DEPTH),
                speed,
                feed * override / 100.0,
                depth,
                wide,
            )
        )
    return tuple(found)


def failed_cuts(cuts: Sequence[PastCut], operation: str) -> tuple[FailedCut, ...]:
    """Failures that still speak against their depth: none as large went well after them.

    cuts: Newest first.
    operation: Kind of cut.
    Returns: As the limits take them.
    """
    best_since, found = 0.0, []
    for cut in cuts:
        size = cut.depth_mm * cut.width_mm
        if cut.good:
            best_since = max(best_since, size)
        elif cut.by_depth and size * _SAME > best_since:
            found.append(FailedCut(operation, cut.depth_mm, cut.width_mm))
    return tuple(found)


def proven_here(cuts: Sequence[PastCut]) -> ProvenHere | None:
    """The settings that remove most among those with enough good cuts at or beyond them.

    cuts: Newest first.
    Returns: None while there are too few, or where a cut at or below them failed since.
    """
    best: ProvenHere | None = None
    for cut in cuts:
        if not cut.good or (best is not None and cut.removal <= best.removal):
            continue
        like: list[PastCut] = []
        for other in cuts:
            if not other.good and other.by_depth and other.removal * _SAME <= cut.removal:
                break  # older good cuts do not count: this much failed after them
            if other.good and other.removal >= cut.removal * _SAME and other.depth_mm >= cut.depth_mm * _SAME:
                like.append(other)
        if len(like) >= LEARN_LEAST_CUTS:
            best = ProvenHere(
                cut.speed_rpm, cut.feed_mm_min, cut.depth_mm, cut.width_mm, len(like), like[0].when
            )
    return best


def proven_beside(advice: Advice, folder: Path) -> ProvenHere | None:
    """Settings proven in the log of a folder that remove more than an advice.

    advice: The answer.
    folder: Working folder, whose own log goes first.
    Returns: None without a log that can be read, with too few good cuts, or where the advice removes as much.
    """
    path = log_path(None, folder)
    if not path.is_file() or path.stat().st_size == 0:
        return None
    try:
        with Log(path, create=False, readonly=True) as log:
            found = proven_here(cuts_like(log, advice.tooling, advice.request.cut))
    except LogError:
        return None
    return found if found is not None and found.removal > _MORE * 1000.0 * advice.removal_cm3_min else None
