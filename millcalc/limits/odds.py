"""What the sampled inputs make of the share of each limit: one function a limit."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.limits.draws import Draws, one, pocket_gain
from millcalc.limits.row import Need

Array = NDArray[np.float64]


def power(draws: Draws, need: Need) -> Array:
    """Power or torque: mean force over what the spindle gives."""
    return np.asarray(
        one(need.share) * draws.over_upper("tangential_n") * draws.force / draws.factor("power")
    )


def push(draws: Draws, need: Need) -> Array:
    """Push of an axis: mean force over the push."""
    return np.asarray(one(need.share) * draws.over_upper("mean_n") * draws.force / draws.factor("thrust"))


def strength(draws: Draws, need: Need) -> Array:
    """Strength of the cutter: peak force over what it bears."""
    return np.asarray(one(need.share) * draws.over_upper("peak_n") * draws.peak / draws.factor("strength"))


def deflection(draws: Draws, need: Need) -> Array:
    """Deflection: frame, spindle and cutter each with their own spread."""
    return draws.deflection_mm / one(need.limit)


def rubbing(draws: Draws, need: Need) -> Array:
    """Smallest chip: speed and the edge's own floor."""
    normal, spread = draws.normal, draws.spread
    return np.asarray(
        one(need.share) * np.exp(spread.speed * normal["speed"] + spread.chip_floor * normal["floor"])
    )


def chatter(draws: Draws, need: Need) -> Array:
    """Chatter of a tapped cutter: wear acts on the edge force, which does not feed back into the waves."""
    rigid = draws.bend.spindle + draws.bend.cutter
    gain = pocket_gain(draws.state, draws.normal["mode"])
    share = one(need.share) * draws.coefficient * (draws.stiff / rigid)
    return np.asarray(share / draws.factor("damping") / gain)
