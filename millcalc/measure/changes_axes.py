"""From the result of a procedure at axes, dial or taps to the values that go into the machine file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from itertools import pairwise
from typing import Any

from millcalc.measure.changes import note, rounded
from millcalc.measure.machine_file import OWN, Change
from millcalc.measure.spindle import SpeedPoint
from millcalc.measure.tap import Tap
from millcalc.tables.models import Machine


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
    row: dict[str, Any] = {axis: rounded(values.get(axis, getattr(old, axis)), 4) for axis in "xyz"} | OWN
    known = set(values)
    if old.source == OWN["source"]:
        known |= {axis for axis in "xyz" if axis.upper() not in old.note.partition(" not ")[0]}
    missing = [axis.upper() for axis in "xyz" if axis not in known]
    if missing:
        row["note"] = f"{' and '.join(missing)} not measured, kept from the table"
    if {"X", "Y"} & set(missing):
        row["confidence"] = "derived"
    return Change({field: row}, {}, (field,), note(what, by, day))


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
    return Change({}, spindle, ("spindle.dial",), note("dial speeds", by, day))


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
        "frequency_hz": rounded(tap.frequency_hz, 4),
        "damping_ratio": rounded(tap.damping_ratio, 3),
        "stiffness_n_um": rounded(stiffness_n_um),
    } | OWN
    others = [
        mode.model_dump(mode="json")
        for mode in machine.modes
        if (mode.name.lower(), mode.axis) != (name.lower(), axis)
    ]
    return Change({"modes": [*others, row]}, {}, (f"modes.{name}",), note(name, by, day))
