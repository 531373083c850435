"""The table of limits, and the uses of all of them at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.limits import depths, forces, odds, speeds
from millcalc.limits.row import Holds, Limit
from millcalc.limits.state import State
from millcalc.limits.tuning import RUBBING_BUDGET, SMALLEST_DEPTH_MM

Array = NDArray[np.float64]


def bends_cutter(state: State) -> bool:
    """Whether a side force bends the cutter: not while it only goes straight down."""
    return state.request.cut not in ("drill", "plunge")


def has_corners(state: State) -> bool:
    """Whether the feed must be reached between corners: not while the cutter only goes straight down."""
    return state.request.cut not in ("drill", "plunge")


def peels_chips(state: State) -> bool:
    """Whether a thinnest chip is asked for: the end of an end mill that goes straight down scrapes by nature."""
    return state.request.cut != "plunge"


LIMITS: tuple[Limit, ...] = (
    Limit(key="cutting-speed", title="cutting speed", unit="m/min", holds="speed", learns=None, reserve=False,
          chance=None, smallest=0.0, function=speeds.cutting_speed),
    Limit(key="spindle-top-speed", title="top speed", unit="rev/min", holds="speed", learns=None, reserve=False,
          chance=None, smallest=0.0, function=speeds.machine_speed),
    Limit(key="spindle-low-speed", title="lowest speed", unit="rev/min", holds="speed", learns=None, reserve=False,
          chance=None, smallest=0.0, function=speeds.lowest_speed),
    Limit(key="chip-load", title="greatest chip", unit="mm", holds="feed", learns="chip_high", reserve=False,
          chance=None, smallest=0.0, function=speeds.chip_load),
    Limit(key="rubbing", title="smallest chip", unit="mm", holds="feed", learns="chip_low", reserve=False,
          chance=odds.rubbing, smallest=0.0, function=speeds.rubbing, applies=peels_chips, budget_most=RUBBING_BUDGET),
    Limit(key="spindle-power", title="spindle power", unit="W", holds="depth", learns="power", reserve=True,
          chance=odds.power, smallest=SMALLEST_DEPTH_MM, function=forces.spindle_power),
    Limit(key="spindle-torque", title="spindle torque", unit="N m", holds="depth", learns="power", reserve=True,
          chance=odds.power, smallest=SMALLEST_DEPTH_MM, function=forces.spindle_torque),
    Limit(key="axis-thrust", title="axis push", unit="N", holds="depth", learns="thrust", reserve=True,
          chance=odds.push, smallest=SMALLEST_DEPTH_MM, function=forces.axis_thrust),
    Limit(key="cutter-strength", title="cutter strength", unit="N/mm2", holds="depth", learns=None, reserve=True,
          chance=odds.strength, smallest=SMALLEST_DEPTH_MM, function=forces.cutter_strength, applies=bends_cutter),
    Limit(key="deflection", title="deflection", unit="mm", holds="depth", learns="deflection", reserve=True,
          chance=odds.deflection, smallest=SMALLEST_DEPTH_MM, function=forces.deflection),
    Limit(key="chatter", title="chatter depth", unit="mm", holds="depth", learns="chatter", reserve=False,
          chance=odds.chatter, smallest=SMALLEST_DEPTH_MM, function=depths.chatter, applies=bends_cutter,
          binds=depths.chatter_binds),
    Limit(key="flute-length", title="flute length", unit="mm", holds="depth", learns=None, reserve=False,
          chance=None, smallest=SMALLEST_DEPTH_MM, function=depths.flute_length),
    Limit(key="reach", title="stickout", unit="mm", holds="depth", learns=None, reserve=False,
          chance=None, smallest=SMALLEST_DEPTH_MM, function=depths.reach),
    Limit(key="chip-room", title="chip room", unit="mm", holds="depth", learns=None, reserve=False,
          chance=None, smallest=SMALLEST_DEPTH_MM, function=depths.chip_room),
    Limit(key="failed-here", title="what failed here", unit="mm", holds="depth", learns=None, reserve=False,
          chance=None, smallest=SMALLEST_DEPTH_MM, function=depths.below_what_failed, applies=depths.failed_here),
    Limit(key="top-feed", title="top feed", unit="mm/min", holds="feed", learns=None, reserve=False,
          chance=None, smallest=0.0, function=speeds.top_feed),
    Limit(key="acceleration", title="acceleration", unit="mm/min", holds="feed", learns=None, reserve=False,
          chance=None, smallest=0.0, function=speeds.acceleration, applies=has_corners),
)  # fmt: skip
TITLES = {limit.key: limit.title for limit in LIMITS}


def keys_holding(what: Holds) -> tuple[str, ...]:
    """Keys of the limits that hold back depth, feed or speed."""
    return tuple(limit.key for limit in LIMITS if limit.holds == what)


def limits_of(state: State) -> tuple[Limit, ...]:
    """The limits by which a state is judged."""
    return tuple(limit for limit in LIMITS if limit.applies(state))


def uses(state: State, keys: tuple[str, ...] | None = None) -> dict[str, Array]:
    """Share of each binding limit's budget, by key [-].

    state: Settings to judge.
    keys: Limits to look at; None takes all that bind.
    """
    return {
        limit.key: np.asarray(limit.function(state).share / limit.budget(state.request, state.tooling))
        for limit in limits_of(state)
        if limit.binds(state) and (keys is None or limit.key in keys)
    }


def worst_use(state: State, keys: tuple[str, ...] | None = None) -> Array:
    """Largest use of any limit's budget, for every setting.

    state: Settings to judge.
    keys: Limits to look at; None takes all.
    Returns: Greatest share / budget; at most 1 where every limit holds [-].
    """
    found = uses(state, keys).values()
    return np.asarray(np.max(np.stack(np.broadcast_arrays(*found)), axis=0))
