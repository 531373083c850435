"""From the result of a procedure to the values that go into the machine file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from itertools import pairwise
from typing import Any

from millcalc.measure.machine_file import OWN, Change
from millcalc.measure.spindle import Runout, SpeedPoint
from millcalc.measure.stiffness import StiffnessResult
from millcalc.measure.tap import Tap
from millcalc.tables.models import Machine, Mode


def _note(what: str, by: str, day: date | None) -> str:
    return f"{what} measured {(day or date.today()).isoformat()}" + (f" by {by}" if by else "")


def _round(value: float, digits: int = 3) -> float:
    """Rounded to significant digits."""
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
    row: dict[str, Any] = {axis: _round(after[axis]) for axis in "xyz"} | OWN
    if kept:
        row["note"] = f"{' and '.join(kept)} not measured, scaled with the others"
    if {"X", "Y"} & set(kept):
        row["confidence"] = "derived"
    fields: dict[str, Any] = {
        "stiffness_n_um": row,
        "stiffness_spread": round(result.spread, 2),
        "drop_mm": _round(result.drop_mm, 4),
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
    return Change(fields, {}, tuple(measured), _note("stiffness", by, day))


def _moved(mode: Mode, before: Mapping[str, float], after: Mapping[str, float]) -> Mode:
    """A derived frame mode with the new stiffness: the frequency goes with its root."""
    if mode.confidence == "measured":
        return mode
    factor = after[mode.axis] / before[mode.axis]
    return mode.model_copy(
        update={
            "frequency_hz": _round(mode.frequency_hz * factor**0.5),
            "stiffness_n_um": _round(mode.stiffness_n_um * factor),
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
    return Change({}, {"runout_um": row}, ("spindle.runout_um",), _note("run-out", by, day))


def axes_change(
    field: str,
    values: Mapping[str, float],
    machine: Machine,
    *,
    what: str,
    by: str = "",
    day: date | None = None,
) -> Change:
    """Values of some axes of a field such as acceleration or push.

    field: ``acceleration_mm_s2``, ``thrust_n`` or ``max_feed_mm_min``.
    values: By axis, in the field's unit.
    machine: Where the other axes come from.
    what: Words for the note.
    by: Who measured.
    day: When; None takes today.
    Returns: All three axes, with a note which were measured.
    """
    old = getattr(machine, field)
    row: dict[str, Any] = {axis: _round(values.get(axis, getattr(old, axis)), 4) for axis in "xyz"} | OWN
    known = set(values)
    if old.source == OWN["source"]:
        known |= {axis for axis in "xyz" if axis.upper() not in old.note.partition(" not ")[0]}
    missing = [axis.upper() for axis in "xyz" if axis not in known]
    if missing:
        row["note"] = f"{' and '.join(missing)} not measured, kept from the table"
    if {"X", "Y"} & set(missing):
        row["confidence"] = "derived"
    return Change({field: row}, {}, (field,), _note(what, by, day))


def dial_change(
    points: Sequence[SpeedPoint], machine: Machine, *, by: str = "", day: date | None = None
) -> Change:
    """Dial marks with their speeds for the machine file.

    points: One for each mark, rising.
    machine: Marks that were not measured are kept from it when they fit between.
    by: Who measured.
    day: When; None takes today.
    Returns: ``spindle.dial`` with the lowest and highest speed.
    """
    new = {point.mark: point.rpm for point in points}
    both = {mark.mark: mark.rpm for mark in machine.spindle.dial} | new
    try:
        order = sorted(both, key=float)
    except ValueError:
        order = sorted(both, key=lambda mark: both[mark])
    speeds = [both[mark] for mark in order]
    if any(b <= a for a, b in pairwise(speeds)):
        order = [point.mark for point in points]  # old marks contradict the measured ones: leave them out
    rows = [{"mark": mark, "rpm": both[mark]} for mark in order]
    turns = [both[mark] for mark in order]
    limits = {"min_rpm": min(turns), "max_rpm": max(turns)}
    spindle = {"dial": rows, "speed_set_by": "dial", **limits, **OWN}
    return Change({}, spindle, ("spindle.dial",), _note("dial speeds", by, day))


def mode_change(
    tap: Tap,
    machine: Machine,
    name: str,
    axis: str,
    stiffness_n_um: float,
    *,
    by: str = "",
    day: date | None = None,
) -> Change:
    """A tapped mode for the machine file.

    tap: From the recording.
    machine: Where the other modes come from.
    name: ``frame X`` or ``cutter NAME STICKOUT``; an earlier mode of that name and axis is replaced.
    axis: ``x`` or ``y``.
    stiffness_n_um: Stiffness of the mode [N/um].
    by: Who measured.
    day: When; None takes today.
    Returns: ``modes``, the whole list.
    """
    row = {
        "name": name,
        "axis": axis,
        "frequency_hz": _round(tap.frequency_hz, 4),
        "damping_ratio": _round(tap.damping_ratio, 3),
        "stiffness_n_um": _round(stiffness_n_um),
    } | OWN
    others = [
        mode.model_dump(mode="json")
        for mode in machine.modes
        if (mode.name.lower(), mode.axis) != (name.lower(), axis)
    ]
    return Change({"modes": [*others, row]}, {}, (f"modes.{name}",), _note(name, by, day))
