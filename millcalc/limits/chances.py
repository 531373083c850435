"""The probability that each limit holds at a setting, by sampling every input within its spread."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from millcalc.limits import tuning
from millcalc.limits.draws import Draws
from millcalc.limits.state import State
from millcalc.limits.table import limits_of

_SEED = 20_240_611


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
    draws = Draws(state, samples, seed)
    holds = {
        limit.key: limit.chance(draws, limit.function(state)) <= 1.0
        for limit in limits_of(state)
        if limit.chance is not None and limit.binds(state)
    }
    low, middle, high = (float(q) for q in np.quantile(draws.deflection_mm, [0.05, 0.5, 0.95]))
    return Chances(
        {key: float(ok.mean()) for key, ok in holds.items()},
        float(np.logical_and.reduce(list(holds.values())).mean()),
        (low, middle, high),
        samples,
    )
