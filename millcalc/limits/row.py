"""One limit is one row: what it is called, what it holds back, what it learns, and the function that judges it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from millcalc.limits.draws import Draws
from millcalc.limits.request import CutRequest
from millcalc.limits.spread import first_cut_budget
from millcalc.limits.state import State
from millcalc.limits.tooling import Tooling
from millcalc.limits.tuning import FIRST_CUT_CHANCE

Array = NDArray[np.float64]
Holds = Literal["depth", "feed", "speed"]


@dataclass(frozen=True)
class Need:
    """What a limit function gives: demand and limit in one unit, and why."""

    demand: Any
    limit: Any
    reason: str
    source: str
    smallest: bool = False

    @property
    def share(self) -> Array:
        """demand / limit, or limit / demand for a smallest value [-]."""
        demand, limit = np.asarray(self.demand, float), np.asarray(self.limit, float)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = limit / demand if self.smallest else demand / limit
        return np.where(np.isnan(ratio), 0.0, ratio)


LimitFunction = Callable[[State], Need]
ChanceFunction = Callable[[Draws, Need], Array]


def always(_state: State) -> bool:
    """A limit that is judged whatever is cut with what."""
    return True


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A limit: everything that any part of the program asks about it. A row that is incomplete does not load.

    key, title, unit: Name in files and code, name to show, unit of demand and limit.
    holds: What it holds back: the depth, the feed or the speed.
    learns: Which of the log's margins moves it; None for a hard limit, which outcomes never move.
    reserve: Whether a first cut keeps a reserve of it, by its chance in ``FIRST_CUT_CHANCE``.
    chance: What the sampled inputs make of its share; None where no input has a spread.
    smallest: Smallest depth, feed or speed worth setting to keep it, in the unit of what it holds back.
    function: Demand and limit of a state.
    applies: Whether a state is judged by it.
    binds: Whether it holds a state back; where not, its share is a hint that is shown and logged.
    budget_most: Share that even a proven cut may use [-].
    """

    key: str
    title: str
    unit: str
    holds: Holds
    learns: str | None
    reserve: bool
    chance: ChanceFunction | None
    smallest: float
    function: LimitFunction
    applies: Callable[[State], bool] = always
    binds: Callable[[State], bool] = always
    budget_most: float = 1.0

    def __post_init__(self) -> None:
        if not (self.key and self.title and self.unit) or self.holds not in ("depth", "feed", "speed"):
            raise ValueError(
                f"limit {self.key or '?'}: key, title, unit and what it holds back must be given"
            )
        if self.reserve and self.key not in FIRST_CUT_CHANCE:
            raise ValueError(f"limit {self.key}: keeps a reserve, but FIRST_CUT_CHANCE has no chance for it")

    def budget(self, request: CutRequest, tooling: Tooling) -> float:
        """Share of the limit that may be used: a first cut keeps the reserve that follows from what is known [-].

        request, tooling: First cut or proven, and what cuts what.
        """
        if not self.reserve or request.proven:
            return self.budget_most
        return min(self.budget_most, first_cut_budget(tooling, request.cut, self.key))
