"""The probability that each limit holds at a setting, by sampling every input within its spread."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc.advise import limits as rules
from millcalc.advise import tuning
from millcalc.advise.limits import State
from millcalc.advise.loads import unit_loads
from millcalc.advise.uncertainty import bending_shares, spreads_of
from millcalc.mechanics.stability import (
    ChatterCut,
    VibrationMode,
    conservative_limit_mm,
    limit_at_speed_mm,
)
from millcalc.tuning import RANGE_SIGMAS

Array = NDArray[np.float64]
_SEED = 20_240_611
_INPUTS = (
    "force",
    "wear",
    "run-out",
    "frame",
    "spindle",
    "cutter",
    "kienzle",
    "power",
    "thrust",
    "strength",
    "damping",
    "speed",
    "floor",
    "mode",
)


@dataclass(frozen=True)
class Chances:
    """Sampled probabilities at one setting.

    by_key: Probability that each limit with uncertain inputs holds in full [-].
    together: Probability that all of them hold [-].
    deflection_mm: 5 %, 50 % and 95 % of the deflection [mm].
    samples: Number of samples [-].
    """

    by_key: dict[str, float]
    together: float
    deflection_mm: tuple[float, float, float]
    samples: int


def chances(state: State, samples: int = tuning.CHANCE_SAMPLES, seed: int = _SEED) -> Chances:
    """Sample the probability that each limit holds at a setting.

    state: One setting (arrays of one).
    samples: How many draws [-].
    seed: Seed of the generator: the same setting always gets the same answer [-].
    Returns: Probabilities; only of limits whose inputs have a spread.

    Note: One draw is one machine, batch of material, cutter and setting-up: what enters several limits is
      the same in all of them. Not in these numbers: a slipping plate, a built-up edge, a wrong zero, a
      fault of the program.
    """
    tooling = state.tooling
    spread = spreads_of(tooling)
    normal = np.random.default_rng(seed).standard_normal((len(_INPUTS), samples))
    draw = dict(zip(_INPUTS, normal, strict=True))
    coefficient = np.exp(np.where(draw["force"] > 0, spread.force_above, spread.force_below) * draw["force"])
    wear = np.exp(tuning.WEAR_LN_MEAN + tuning.WEAR_LN_SD * draw["wear"])
    force = coefficient * wear
    peak = force * _runout_factor(state, draw["run-out"])
    give = {
        name: np.exp(-getattr(spread, name) * draw[name]) for name in ("frame", "spindle", "cutter")
    }  # compliance over its nominal value
    bend = bending_shares(
        tooling, one(state.speed_rpm), one(state.engagement_rad), one(state.feed_per_tooth_mm)
    )
    stiff = bend.spindle * give["spindle"] + bend.cutter * give["cutter"]
    deflection = one(state.deflection_mm(1)) * (bend.frame * give["frame"] * force + stiff * peak)
    power = np.exp(spread.power * draw["power"])
    kc = tooling.material.kc11_n_mm2
    nominal, upper = state.loads(1), state.loads(2)

    def share(rule: rules.LimitFunction) -> float:
        return one(rule(state).share)

    def over_upper(name: str) -> float:
        return one(getattr(nominal, name)) / one(getattr(upper, name))

    kienzle = np.exp(spread.kienzle * draw["kienzle"])
    rigid = bend.spindle + bend.cutter
    use = {
        "deflection": deflection / state.deflection_allowed_mm,
        "spindle-power": share(rules.spindle_power) * (kc.value / kc.highest) * wear * kienzle / power,
        "spindle-torque": share(rules.spindle_torque) * over_upper("torque_n_mm") * force / power,
        "axis-thrust": share(rules.axis_thrust)
        * over_upper("mean_n_mm")
        * force
        / np.exp(spread.thrust * draw["thrust"]),
        "cutter-strength": share(rules.cutter_strength)
        * over_upper("peak_n_mm")
        * peak
        / np.exp(spread.strength * draw["strength"]),
        "rubbing": share(rules.rubbing)
        * np.exp(spread.speed * draw["speed"] + spread.chip_floor * draw["floor"]),
        # wear acts on the edge force, which does not feed back into the waves
        "chatter": share(rules.chatter)
        * coefficient
        * (stiff / rigid)
        / np.exp(spread.damping * draw["damping"])
        / _pocket_gain(state, draw["mode"]),
    }
    holds = {key: value <= 1.0 for key, value in use.items()}
    low, middle, high = (float(q) for q in np.quantile(deflection, [0.05, 0.5, 0.95]))
    return Chances(
        {key: float(ok.mean()) for key, ok in holds.items()},
        float(np.logical_and.reduce(list(holds.values())).mean()),
        (low, middle, high),
        samples,
    )


def one(value: Any) -> float:
    """The single number in an array of one.

    value: A number, or an array of one.
    Returns: The number, in the unit it came in.
    """
    return float(np.ravel(value)[0])


def _runout_factor(state: State, normal: Array) -> Array:
    """Peak force with the sampled run-out over that with the nominal one."""
    tooling = state.tooling
    value = tooling.machine.spindle.runout_um
    if tooling.cutter.flutes == 1 or not value.lowest < value.highest:
        return np.ones_like(normal)
    at_mm = (
        np.array([0.5 * value.lowest, value.lowest, value.value, value.highest, 1.5 * value.highest]) / 1e3
    )
    edge = tooling.edge_sets[1]
    loads = [
        one(
            unit_loads(
                edge, tooling.cutter.flutes, state.feed_per_tooth_mm, state.engagement_rad, float(tir)
            ).peak_n_mm
        )
        for tir in at_mm
    ]
    below = np.log(value.value / max(value.lowest, 1e-3)) / RANGE_SIGMAS
    above = np.log(value.highest / value.value) / RANGE_SIGMAS
    sampled = value.value / 1e3 * np.exp(np.where(normal > 0, above, below) * normal)
    return np.asarray(np.interp(sampled, at_mm, loads) / loads[2])


@lru_cache(maxsize=32)
def _pocket_curve(radial_ratio: float, engagement_rad: float) -> tuple[Array, Array]:
    """Limit depth over the lowest limit depth of one mode, over tooth frequency / natural frequency."""
    mode = VibrationMode(1000.0, tuning.DEFAULT_DAMPING, 1.0)
    cut = ChatterCut(1.0, radial_ratio, 1, np.pi - engagement_rad, np.pi, (mode,), (mode,))
    ratio = np.geomspace(0.08, 2.5, 72)
    lowest = conservative_limit_mm(cut)
    depth = np.asarray(limit_at_speed_mm(cut, 60.0 * mode.frequency_hz * ratio))
    return ratio, np.clip(depth / lowest, 1.0, 20.0)


def _pocket_gain(state: State, normal: Array) -> Array:
    """Depth allowed at this speed over the lowest of all speeds, the mode's frequency sampled."""
    tooling = state.tooling
    edge = tooling.edge_sets[1]
    engaged = min(max(round(one(state.engagement_rad), 1), 0.1), np.pi)
    ratio, gain = _pocket_curve(round(edge.krc_n_mm2 / edge.ktc_n_mm2, 1), engaged)
    mode_hz = tuning.CUTTER_MODE_HZ * np.exp(tuning.CUTTER_MODE_SD * normal)
    tooth_hz = one(state.speed_rpm) * tooling.cutter.flutes / 60.0
    return np.asarray(np.interp(tooth_hz / mode_hz, ratio, gain))
