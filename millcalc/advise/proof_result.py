"""From "step 4 sounded best" to settings: what was proven, and one step back to the safe side of it."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.advise import tuning
from millcalc.advise.proof_record import KeptLimit, KeptStep, ProofRecord
from millcalc.errors import InputError
from millcalc.limits.table import keys_holding
from millcalc.units_show import System, depth_to_set_mm, show_chip_load, show_length


@dataclass(frozen=True)
class Proven:
    """Settings that follow from a proof strip.

    record: The strip.
    best: Step that went best.
    failed: First step above it that failed.
    step: Step whose speed and feed are set.
    depth_mm: Depth to set [mm]: the step's, or a share of it.
    spare: Whether a harder step is known to have run.
    reason: Why these, one sentence.
    """

    record: ProofRecord
    best: KeptStep
    failed: KeptStep | None
    step: KeptStep
    depth_mm: float
    spare: bool
    reason: str

    @property
    def gain(self) -> float:
        """Depth times feed over that of the advice before the proof [-]."""
        before = self.record.first_cut
        return self.depth_mm * self.step.settings.feed_mm_min / (before.axial_depth_mm * before.feed_mm_min)

    @property
    def depth_limits(self) -> list[KeptLimit]:
        """Limits that grow with depth, at the step that is set, the most used first."""
        keys = keys_holding("depth")
        return sorted((one for one in self.step.limits if one.key in keys), key=lambda one: -one.share)

    def what_rises(self, step: KeptStep, units: System = "mm") -> str:
        """What rises, at one step: depth or chip load, in words.

        step: One of the strip's.
        units: ``mm`` or ``in``.
        """
        if self.record.ladder == "depth":
            return show_length(step.settings.axial_depth_mm, units)
        return show_chip_load(step.settings.feed_per_tooth_mm, units)


def decide(record: ProofRecord, best: int, failed: int | None = None, units: System = "mm") -> Proven:
    """Settings that follow from the best step, with a known distance to where it fails.

    record: The strip that was cut.
    best: Number of the step that went best [-].
    failed: Number of the first step above it that failed; None where none did or the run was stopped [-].
    units: Units to round the depth in.
    Returns: Settings and the reason.
    Raises InputError: If a number is not that of a step, or the failed step is not above the best.

    Note: The first cut's reserve stands for what is not known: stiffness, forces, push. A step that ran has
      shown them all at once, so its settings take the reserve's place, but with something that ran behind
      them: where a harder step is known to have run (a failed one lies two or more above the best), the
      best step itself; else, of depths, the step below it, and where there is none, or of chip loads, the
      best step at ``tuning.PROOF_BACK`` less depth. A chip load is never lowered: a thinner chip may rub.
      No step lies above a computed limit.
    """
    count = len(record.steps)
    if not 1 <= best <= count:
        raise InputError(f"step {best}", f"1 to {count}, as many as the strip has", field="--result")
    if failed is not None and not best < failed <= count:
        most = f"{best + 1} to {count}" if best < count else "nothing: the best step is the last one"
        raise InputError(
            f"step {failed}",
            most,
            "name the first step above the best that failed",
            field="--failed",
        )
    good = record.steps[best - 1]
    bad = record.steps[failed - 1] if failed is not None else None
    if failed is not None and failed >= best + 2:
        return Proven(
            record,
            good,
            bad,
            good,
            _settable(good.settings.axial_depth_mm, units),
            True,
            f"step {best} itself: step {failed - 1}, harder, still ran, and step {failed} was the first to fail",
        )
    why = (
        f"step {failed}, the next, failed"
        if failed is not None
        else "no harder step is known to have run (say --failed N when a later one failed first)"
    )
    if record.ladder == "depth" and best > 1:
        below = record.steps[best - 2]
        text = f"step {best - 1}, one back from the best: {why}"
        return Proven(record, good, bad, below, _settable(below.settings.axial_depth_mm, units), False, text)
    depth = _settable(good.settings.axial_depth_mm * (1.0 - tuning.PROOF_BACK), units)
    kept = "the chip stays, a thinner one may rub" if record.ladder == "chip" else "there is no gentler step"
    text = f"step {best} at {100 * tuning.PROOF_BACK:.0f} % less depth: {why}; {kept}"
    return Proven(record, good, bad, good, depth, False, text)


def _settable(depth_mm: float, units: System) -> float:
    """Rounded down to what a person sets."""
    return depth_to_set_mm(depth_mm, units) or depth_mm
