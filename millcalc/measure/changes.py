"""From the result of a procedure to the values that go into the machine file."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from millcalc.measure.machine_file import OWN, Change
from millcalc.measure.spindle import Runout
from millcalc.measure.stiffness import StiffnessResult
from millcalc.tables.models import Machine, Mode


def note(what: str, by: str, day: date | None) -> str:
    """What was measured, when and by whom, in a sentence.

    what, by: What, and who; empty for nobody named.
    day: None takes today.
    Returns: ``run-out measured 2024-05-01 by Ada``.
    """
    return f"{what} measured {(day or date.today()).isoformat()}" + (f" by {by}" if by else "")


def rounded(value: float, digits: int = 3) -> float:
    """A number rounded to significant digits.

    value: Number [-].
    digits: Significant digits [-].
    Returns: The number.
    """
    return float(f"{value:.{digits}g}")


def stiffness_change(
    result: StiffnessResult, machine: Machine, *, by: str = "", day: date | None = None
) -> Change:
    """Stiffness, drop law, spread and play for the machine file.

    result: From the pulls.
    machine: The machine as it was: axes that were not pulled are scaled from it.
    by: Who measured.
    day: When; None takes today.
    Returns: Values with their source. Frame modes that were only derived are moved with the stiffness.
    """
    before = {axis: getattr(machine.stiffness_n_um, axis) for axis in "xyz"}
    # the table's stiffness at the drop the new one is stated at
    law = machine.drop_law
    ratio = result.drop_mm / machine.drop_mm
    give = law.base + law.rotary * ratio**2 + law.bending * ratio**3
    here = {axis: before[axis] / (give if axis != "z" else 1.0) for axis in "xyz"}
    scale = 1.0
    if result.stiffness_n_um:
        scale = min(result.stiffness_n_um[axis] / here[axis] for axis in result.stiffness_n_um)
    after = {axis: result.stiffness_n_um.get(axis, here[axis] * scale) for axis in "xyz"}
    kept = [axis.upper() for axis in "xyz" if axis not in result.stiffness_n_um]
    row: dict[str, Any] = {axis: rounded(after[axis]) for axis in "xyz"} | OWN
    if kept:
        row["note"] = f"{' and '.join(kept)} not measured, scaled with the others"
    if {"X", "Y"} & set(kept):
        row["confidence"] = "derived"
    fields: dict[str, Any] = {
        "stiffness_n_um": row,
        "stiffness_spread": round(result.spread, 2),
        "drop_mm": rounded(result.drop_mm, 4),
        "typical": False,
    }
    measured = ["stiffness_n_um", "drop_mm"]
    if result.law is not None:
        fields["drop_law"] = {
            "base": result.law.base,
            "rotary": result.law.rotary,
            "bending": result.law.bending,
        } | OWN
        measured.append("drop_law")
    if result.play_mm is not None:
        fields["backlash_mm"] = round(result.play_mm, 3)
        measured.append("backlash_mm")
    modes = [_moved(mode, before, after) for mode in machine.modes]
    if modes:
        fields["modes"] = [mode.model_dump(mode="json") for mode in modes]
    return Change(fields, {}, tuple(measured), note("stiffness", by, day))


def _moved(mode: Mode, before: Mapping[str, float], after: Mapping[str, float]) -> Mode:
    """A derived frame mode with the new stiffness: the frequency goes with its root."""
    if mode.confidence == "measured":
        return mode
    factor = after[mode.axis] / before[mode.axis]
    return mode.model_copy(
        update={
            "frequency_hz": rounded(mode.frequency_hz * factor**0.5),
            "stiffness_n_um": rounded(mode.stiffness_n_um * factor),
        }
    )


def runout_change(result: Runout, *, by: str = "", day: date | None = None) -> Change:
    """Run-out for the machine file.

    result: From dial or slots.
    by: Who measured.
    day: When; None takes today.
    Returns: ``spindle.runout_um``.
    """
    value = max(round(1000 * result.value_mm, 1), 1.0)
    row = {
        "value": value,
        "low": min(max(round(1000 * result.low_mm, 1), 0.5), value),
        "high": max(round(1000 * result.high_mm, 1), value),
    } | OWN
    return Change({}, {"runout_um": row}, ("spindle.runout_um",), note("run-out", by, day))
