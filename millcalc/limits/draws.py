"""One sample of everything that is not known well: force, wear, run-out, stiffness, power, push, strength, speed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc.limits import tuning
from millcalc.limits.spread import Bending, Spreads, bending_shares, spreads_of
from millcalc.limits.state import State
from millcalc.mechanics.stability import ChatterCut, VibrationMode, conservative_limit_mm, limit_at_speed_mm
from millcalc.tuning import RANGE_SIGMAS

Array = NDArray[np.float64]
_INPUTS = (
    "force",
    "wear",
    "run-out",
    "frame",
    "spindle",
    "cutter",
    "power",
    "thrust",
    "strength",
    "damping",
    "speed",
    "floor",
    "mode",
)


@dataclass(frozen=True)
class Draws:
    """Samples of the inputs at one setting.

    state: The setting (arrays of one).
    samples, seed: How many draws, and of which generator [-].
    """

    state: State
    samples: int
    seed: int

    @cached_property
    def normal(self) -> dict[str, Array]:
        """Standard normal numbers, one row an input [-]."""
        rows = np.random.default_rng(self.seed).standard_normal((len(_INPUTS), self.samples))
        return dict(zip(_INPUTS, rows, strict=True))

    @cached_property
    def spread(self) -> Spreads:
        """Spreads of the inputs."""
        return spreads_of(self.state.tooling)

    @cached_property
    def coefficient(self) -> Array:
        """Milling coefficients over their nominal values [-]."""
        force = self.normal["force"]
        return np.asarray(
            np.exp(np.where(force > 0, self.spread.force_above, self.spread.force_below) * force)
        )

    @cached_property
    def force(self) -> Array:
        """Mean force over its nominal value: coefficients and wear [-]."""
        wear = np.exp(tuning.WEAR_LN_MEAN + tuning.WEAR_LN_SD * self.normal["wear"])
        return np.asarray(self.coefficient * wear)

    @cached_property
    def peak(self) -> Array:
        """Peak force over its nominal value: with the run-out [-]."""
        return self.force * runout_factor(self.state, self.normal["run-out"])

    @cached_property
    def bend(self) -> Bending:
        """Who bends: shares of frame, spindle and cutter."""
        state = self.state
        return bending_shares(
            state.tooling,
            one(state.speed_rpm),
            one(state.engagement_rad),
            one(state.feed_per_tooth_mm),
            one(state.depth_mm),
        )

    def give(self, name: str) -> Array:
        """Compliance of frame, spindle or cutter over its nominal value [-]."""
        return np.asarray(np.exp(-getattr(self.spread, name) * self.normal[name]))

    @cached_property
    def stiff(self) -> Array:
        """What spindle and cutter give, as a share of the whole nominal bending [-]."""
        return self.bend.spindle * self.give("spindle") + self.bend.cutter * self.give("cutter")

    @cached_property
    def deflection_mm(self) -> Array:
        """Deflection at the tip [mm]."""
        frame = self.bend.frame * self.give("frame") * self.force
        return np.asarray(one(self.state.deflection_mm(1)) * (frame + self.stiff * self.peak))

    def over_upper(self, name: str) -> float:
        """A force with the nominal coefficients over that with the greatest [-]."""
        nominal, upper = self.state.loads(1), self.state.loads(2)
        return one(getattr(nominal, name)) / one(getattr(upper, name))

    def factor(self, name: str) -> Array:
        """An input with a spread of its own over its stated value [-]."""
        return np.asarray(np.exp(getattr(self.spread, name) * self.normal[name]))


def one(value: Any) -> float:
    """The single number in an array of one.

    value: A number, or an array of one.
    Returns: The number, in the unit it came in.
    """
    return float(np.ravel(value)[0])


def runout_factor(state: State, normal: Array) -> Array:
    """Peak force with the sampled run-out over that with the nominal one."""
    tooling = state.tooling
    value = tooling.machine.spindle.runout_um
    if tooling.cutter.flutes == 1 or not value.lowest < value.highest:
        return np.ones_like(normal)
    at_mm = (
        np.array([0.5 * value.lowest, value.lowest, value.value, value.highest, 1.5 * value.highest]) / 1e3
    )
    edge, feed_mm = tooling.edge_sets[1], state.feed_per_tooth_mm
    loads = [one(state.turn.loads(edge, feed_mm, float(tir)).peak_n) for tir in at_mm]
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


def pocket_gain(state: State, normal: Array) -> Array:
    """Depth allowed at this speed over the lowest of all speeds, the mode's frequency sampled."""
    tooling = state.tooling
    edge = tooling.edge_sets[1]
    engaged = min(max(round(one(state.engagement_rad), 1), 0.1), np.pi)
    ratio, gain = _pocket_curve(round(edge.krc_n_mm2 / edge.ktc_n_mm2, 1), engaged)
    mode_hz = tuning.CUTTER_MODE_HZ * np.exp(tuning.CUTTER_MODE_SD * normal)
    tooth_hz = one(state.speed_rpm) * tooling.cutter.flutes / 60.0
    return np.asarray(np.interp(tooth_hz / mode_hz, ratio, gain))
