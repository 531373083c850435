"""The probability that each limit holds at a setting, by sampling every input within its spread."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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
    low, middle, high = quantiles(draws.deflection_mm, (0.05, 0.5, 0.95))
    return Chances(
        {key: float(ok.mean()) for key, ok in holds.items()},
        float(np.logical_and.reduce(list(holds.values())).mean()),
        (low, middle, high),
        samples,
    )


def quantiles(values: NDArray[np.float64], shares: tuple[float, ...]) -> tuple[float, ...]:
    """Values below which given shares of a sample lie, between neighbours in proportion.

    values: The sample, without NaN. (shape (n,))
    shares: Shares of the sample [-].
    Returns: One value a share, to the last digit those of numpy's ``quantile``, which takes a short command longer to
      import what it needs than to answer.

    >>> quantiles(np.array([3.0, 1.0, 2.0]), (0.0, 0.25, 1.0))
    (1.0, 1.5, 3.0)
    """
    ordered, found = np.sort(values), []
    for share in shares:
        place = share * (len(ordered) - 1)
        below = min(int(place), max(len(ordered) - 2, 0))
        low, high = float(ordered[below]), float(ordered[min(below + 1, len(ordered) - 1)])
        part, step = place - below, high - low
        found.append(low + step * part if part < 0.5 else high - step * (1.0 - part))
    return tuple(found)
