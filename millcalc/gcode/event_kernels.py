"""Kernels that note events and put modal words into the state."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode import state as at
from millcalc.gcode.motions import FLAG_MODE_UNKNOWN, FLAG_UNITS_UNKNOWN
from millcalc.gcode.state import State
from millcalc.kernels import inner_kernel

NAN = float("nan")


@inner_kernel
def add_event(events: NDArray[np.float64], state: State, kind: int, line: int, value: float) -> None:
    """Append an event row before the next motion; updates `events` and the state in place."""
    k = int(state[at.EVENTS])
    events[k, 0] = kind
    events[k, 1] = state[at.ROWS]
    events[k, 2] = line
    events[k, 3] = value
    events[k, 4] = 0.0
    events[k, 5] = 0.0
    state[at.EVENTS] = k + 1


@inner_kernel
def state_flags_of(state: State, comp: int) -> int:
    """Flags that every motion gets in this state."""
    flags = comp
    if state[at.UNIT_KNOWN] == 0.0:
        flags |= FLAG_UNITS_UNKNOWN
    if state[at.DISTANCE_KNOWN] == 0.0:
        flags |= FLAG_MODE_UNKNOWN
    return flags
