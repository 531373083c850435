"""Modes that a block changes: plane, units, distances, feed, motion."""

from __future__ import annotations

from millcalc.gcode.machine import Machine
from millcalc.gcode.modal import (
    GROUP_ARC_DISTANCE,
    GROUP_DISTANCE,
    GROUP_FEED_MODE,
    GROUP_PATH,
    GROUP_PLANE,
    GROUP_RETURN,
    GROUP_SPEED_MODE,
    GROUP_UNITS,
)
from millcalc.gcode.problems import Problem
from millcalc.gcode.state import (
    ARC_ABSOLUTE,
    DISTANCE_KNOWN,
    FEED,
    FEED_MODE,
    INCREMENTAL,
    MOTION,
    PLANE,
    PLANE_KNOWN,
    SEEN,
    SEEN_BITS,
    UNIT,
    UNIT_KNOWN,
)

NAN = float("nan")


def change_modes(machine: Machine, groups: dict[int, int], line: int) -> None:
    """Change plane, units, path mode, distance modes and return level.

    machine: The machine; its state and output are changed.
    groups: G code times ten of each modal group in the block.
    line: Line, 0-based [-].
    """
    state, event = machine.state, machine.output.event
    if GROUP_FEED_MODE in groups:
        feed_mode(machine, groups[GROUP_FEED_MODE], line)
    plane = groups.get(GROUP_PLANE)
    if plane is not None:
        if plane / 10 != state[PLANE] or state[PLANE_KNOWN] == 0.0:
            event("plane", line, plane / 10)
        state[PLANE], state[PLANE_KNOWN] = plane / 10, 1.0
    units = groups.get(GROUP_UNITS)
    if units is not None:
        unit = 25.4 if units == 200 else 1.0
        if unit != state[UNIT] or state[UNIT_KNOWN] == 0.0:
            event("units", line, units / 10)
        state[UNIT], state[UNIT_KNOWN] = unit, 1.0
    path = groups.get(GROUP_PATH)
    if path is not None:
        event("path mode", line, path / 10)
    distance = groups.get(GROUP_DISTANCE)
    if distance is not None:
        if (distance == 910) != bool(state[INCREMENTAL]) or state[DISTANCE_KNOWN] == 0.0:
            event("distance mode", line, distance / 10)
        state[INCREMENTAL], state[DISTANCE_KNOWN] = float(distance == 910), 1.0
    if GROUP_ARC_DISTANCE in groups:
        state[ARC_ABSOLUTE] = float(groups[GROUP_ARC_DISTANCE] == 901)
    if GROUP_RETURN in groups:
        machine.cycle.to_initial = groups[GROUP_RETURN] == 980
    if groups.get(GROUP_SPEED_MODE) == 960:
        _surface_speed(machine, line)


def _surface_speed(machine: Machine, line: int) -> None:
    machine.log.add(
        Problem(
            "WORD-16",
            -1,
            -1,
            "constant surface speed (G96) is not followed: S is not a spindle speed then",
            "write G97 and the spindle speed",
            "G96",
            "G97",
            blocks=False,
        ),
        line,
    )


def feed_mode(machine: Machine, code: int, line: int) -> None:
    """Change the feed mode; another one forgets F.

    machine: The machine; its state and output are changed.
    code: G code times ten [-].
    line: Line, 0-based [-].
    """
    state = machine.state
    saw(machine, code)
    if code / 10 != state[FEED_MODE]:
        state[FEED_MODE] = code / 10
        state[FEED] = NAN
        machine.output.event("feed mode", line, code / 10)


def saw(machine: Machine, code: int) -> None:
    """Note that the program itself named a mode.

    code: G code times ten [-].
    """
    bit = SEEN_BITS.get(code)
    if bit is not None:
        machine.state[SEEN] = float(int(machine.state[SEEN]) | (1 << bit))


def set_motion(machine: Machine, code: int) -> None:
    """Change the motion mode; another one ends a canned cycle.

    code: G code times ten [-].
    """
    if code != machine.state[MOTION]:
        machine.cycle.leave()
    machine.state[MOTION] = code
