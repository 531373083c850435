"""Spread screws so that no cut is far from one: the k-centre problem, greedy and then improved by exchanges."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.holding import tuning

Floats = NDArray[np.float64]
MOST_PLACES = 1200  # places weighed against each other; thinned beyond
ROUNDS = 8  # rounds of exchanges; they end earlier when nothing gets better


def thin(at_mm: Floats, spare_mm: Floats, most: int = MOST_PLACES) -> NDArray[np.intp]:
    """Pick places spread over all of them, the roomiest of each neighbourhood.

    at_mm: Places [mm].
    spare_mm: Room at each [mm].
    most: Number of places to keep, about [-].
    Returns: Indices of the kept ones.
    """
    if len(at_mm) <= most:
        return np.arange(len(at_mm))
    low = at_mm.min(axis=0)
    extent = np.maximum(at_mm.max(axis=0) - low, 1e-9)
    cell = float(np.sqrt(extent[0] * extent[1] / most)) or 1.0
    while True:
        key = np.floor((at_mm - low) / cell).astype(np.int64)
        order = np.lexsort((-np.minimum(spare_mm, 1e9), key[:, 1], key[:, 0]))
        ordered = key[order]
        first = np.ones(len(order), bool)
        first[1:] = np.any(np.diff(ordered, axis=0) != 0, axis=1)
        kept = order[first]
        if len(kept) <= most:
            return np.sort(kept)
        cell *= 1.2


def spread(
    at_mm: Floats,
    spare_mm: Floats,
    points_mm: Floats,
    fixed_mm: Floats,
    count: int,
    apart_mm: float,
) -> NDArray[np.intp]:
    """Choose places so that the farthest point is as near as possible to one of them.

    at_mm: Places to choose from [mm].
    spare_mm: Room at each; more is worth a little distance [mm].
    points_mm: What is to be near a screw [mm].
    fixed_mm: Screws that stand already [mm].
    count: Places to choose [-].
    apart_mm: Least distance between two [mm].
    Returns: Indices of the chosen places; fewer than asked where there is no more room.

    Note: Cost of a set: distance of the farthest point, a tenth of the mean distance, and a little for
      tight places. Greedy choice, then one screw at a time is exchanged for a better place until none
      helps: a good set, not always the best.
    """
    if count <= 0 or not len(at_mm):
        return np.zeros(0, np.intp)
    costs = _Costs(at_mm, spare_mm, points_mm if len(points_mm) else at_mm, fixed_mm, apart_mm)
    chosen: list[int] = []
    while len(chosen) < count:
        cost = costs.beside(chosen)
        best = int(np.argmin(cost))
        if not np.isfinite(cost[best]):
            break
        chosen.append(best)
    for _ in range(ROUNDS):
        if not _exchanged(costs, chosen):
            break
    return np.array(chosen, np.intp)


class _Costs:
    """What each place would cost beside those already chosen: distances, and a little for a tight place."""

    def __init__(
        self, at_mm: Floats, spare_mm: Floats, points_mm: Floats, fixed_mm: Floats, apart_mm: float
    ) -> None:
        self.at_mm, self.apart_mm = at_mm, apart_mm
        self.distance = np.hypot(
            at_mm[:, None, 0] - points_mm[None, :, 0], at_mm[:, None, 1] - points_mm[None, :, 1]
        )
        self.fixed = np.full(len(points_mm), np.inf)
        for x, y in fixed_mm:
            self.fixed = np.minimum(self.fixed, np.hypot(points_mm[:, 0] - x, points_mm[:, 1] - y))
        wished = tuning.SCREWS_SPARE_WISHED_MM
        self.price = tuning.SCREWS_SPARE_WORTH * (wished - np.minimum(spare_mm, wished))

    def beside(self, chosen: list[int]) -> Floats:
        """Cost of every place as the next one; infinite where it would stand too close to a chosen one."""
        near = np.minimum(self.fixed, self.distance[chosen].min(axis=0)) if chosen else self.fixed
        reached = np.minimum(near[None, :], self.distance)
        cost = reached.max(axis=1) + 0.1 * reached.mean(axis=1) + self.price
        free = np.ones(len(self.at_mm), bool)
        for k in chosen:
            free &= np.hypot(*(self.at_mm - self.at_mm[k]).T) >= self.apart_mm
        return np.where(free, cost, np.inf)


def _exchanged(costs: _Costs, chosen: list[int]) -> bool:
    """Exchange every chosen place for a better one where there is one; whether any was."""
    better = False
    for slot, place in enumerate(chosen):
        cost = costs.beside(chosen[:slot] + chosen[slot + 1 :])
        best = int(np.argmin(cost))
        if cost[best] < cost[place] - 1e-9:
            chosen[slot] = best
            better = True
    return better


def farthest_mm(points_mm: Floats, screws_mm: Floats) -> float | None:
    """Distance of the point that is farthest from its nearest screw.

    points_mm: Points along the cuts [mm].
    screws_mm: Screws [mm].
    Returns: Distance [mm]; None without points or screws.
    """
    if not len(points_mm) or not len(screws_mm):
        return None
    gaps = np.hypot(
        points_mm[:, None, 0] - screws_mm[None, :, 0], points_mm[:, None, 1] - screws_mm[None, :, 1]
    )
    return float(gaps.min(axis=1).max())
