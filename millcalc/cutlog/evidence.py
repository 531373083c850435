"""What the outcome of each cut says about one limit, before anything is learned from it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from millcalc.cutlog import tuning
from millcalc.cutlog.learn import ACCEPTABLE, FAILED, GOOD, Evidence

# Which limits a symptom speaks of; a symptom that is not here says nothing about a limit (a worn cutter, a
# cutter that slipped in its collet). Source: common practice, no source.
SYMPTOM_LIMITS: Final[Mapping[str, tuple[str, ...]]] = {
    "chatter": ("chatter", "deflection"),
    "squeal": ("chatter", "chip_low"),
    "dust-not-chips": ("chip_low",),
    "welded-chips": ("chip_low", "chip_high"),
    "melted": ("chip_low",),
    "burnt": ("chip_low",),
    "fuzzy-edge": (),
    "burr": (),
    "lost-steps": ("thrust",),
    "spindle-slowed": ("power",),
    "cutter-broke": ("chip_high", "deflection"),
    "cutter-chipped": ("chip_high", "chatter"),
    "cutter-slipped": (),
    "cutter-worn": (),
    "work-moved": ("hold_down",),
    "tapered-wall": ("deflection",),
    "wrong-size": ("deflection",),
    "poor-wall": ("deflection", "chatter"),
    "poor-floor": ("deflection",),
}
_LEAST_MM: Final = 1e-6  # a computed deflection below this says nothing of a measured error [mm]
BY_MATERIAL: Final = ("chip_high", "chip_low")  # limits of the material rather than of the machine


@dataclass(frozen=True, slots=True)
class Cut:
    """What learning needs of one entry.

    age_days: How long ago [day].
    material, outcome: As in the entry.
    symptoms: As in the entry.
    shares: Predicted share of each limit by the bare physics [-].
    size_error_mm, deflection_mm: Measured wall error and computed deflection [mm].
    """

    age_days: float
    material: str
    outcome: str
    symptoms: tuple[str, ...] = ()
    shares: Mapping[str, float] = field(default_factory=dict)
    size_error_mm: float | None = None
    deflection_mm: float | None = None


def attributed(cut: Cut, kind: str) -> int | None:
    """What the outcome of one cut says about one limit.

    cut: The cut.
    kind: Limit.
    Returns: GOOD, ACCEPTABLE or FAILED; None when it says nothing.

    Note: A good cut is good for every limit. A failure counts in full against every limit its symptoms
      speak of, even where only one of them can have been the cause: that errs to the safe side. Without a
      symptom it counts against the limit that governed. About the limits it does not speak of, a failed cut
      says nothing: it may have been stopped too early.
    """
    if kind not in cut.shares:
        return None
    if cut.outcome == "good":
        return GOOD
    category = ACCEPTABLE if cut.outcome == "acceptable" else FAILED
    accused = {name for symptom in cut.symptoms for name in SYMPTOM_LIMITS[symptom] if name in cut.shares}
    if accused:
        if kind in accused:
            return category
        return GOOD if category == ACCEPTABLE else None
    if cut.symptoms and category == FAILED:
        return None  # it failed of something that is no limit of the machine
    if kind == max(cut.shares, key=lambda name: cut.shares[name]):
        return category
    return GOOD if category == ACCEPTABLE else None


def evidence_for(cuts: list[Cut], kind: str, material: str = "") -> tuple[Evidence, int, int, float, float]:
    """Collect what the cuts say about one limit.

    cuts: Cuts of one machine.
    kind: Limit.
    material: For chip limits only cuts in this material count; empty takes all.
    Returns: Evidence; telling cuts; failures; largest share that went well [-]; smallest share that
      failed, infinite where none did [-].
    """
    ln_share, outcomes, weights = [], [], []
    ratios, below, size_weights = [], [], []
    telling = failures = 0
    well, failed = 0.0, math.inf
    for cut in cuts:
        if kind in BY_MATERIAL and material and cut.material != material:
            continue
        faded = 0.5 ** (max(cut.age_days, 0.0) / tuning.LEARN_HALF_LIFE_DAYS)
        category = attributed(cut, kind)
        if category is not None:
            share = cut.shares[kind]
            if category == FAILED:
                faded_failure = 0.5 ** (max(cut.age_days, 0.0) / tuning.LEARN_FAILURE_HALF_LIFE_DAYS)
                weights.append(faded_failure)
                failures += 1
                failed = min(failed, share)
            else:
                weights.append(faded)
                well = max(well, share)
            telling += category == FAILED or share >= tuning.LEARN_TELLING_SHARE
            ln_share.append(math.log(share))
            outcomes.append(category)
        computed = cut.deflection_mm or 0.0
        if kind == "deflection" and cut.size_error_mm is not None and computed > _LEAST_MM:
            error = abs(cut.size_error_mm)
            ratios.append(math.log(max(error, tuning.LEARN_SIZE_STEP_MM) / computed))
            below.append(error <= tuning.LEARN_SIZE_STEP_MM)
            size_weights.append(faded)
    evidence = Evidence(
        np.array(ln_share, dtype=np.float64),
        np.array(outcomes, dtype=np.int64),
        np.array(weights, dtype=np.float64),
        np.array(ratios, dtype=np.float64),
        np.array(below, dtype=np.bool_),
        np.array(size_weights, dtype=np.float64),
    )
    return evidence, telling, failures, well, failed


def far_below(cuts: list[Cut], kind: str, material: str = "") -> tuple[int, int]:
    """Failures below half of one limit, and good cuts that went at least as far as the middle one of them.

    cuts: Cuts of one machine.
    kind: Limit.
    material: For chip limits only cuts in this material count; empty takes all.
    Returns: Two counts [-].
    """
    own = [c for c in cuts if kind not in BY_MATERIAL or not material or c.material == material]
    shares = sorted(c.shares[kind] for c in own if attributed(c, kind) == FAILED)
    shares = [share for share in shares if share < tuning.LEARN_FAILED_FAR_BELOW]
    if not shares:
        return 0, 0
    middle = shares[len(shares) // 2]
    return len(shares), sum(attributed(c, kind) == GOOD and c.shares[kind] >= middle for c in own)
