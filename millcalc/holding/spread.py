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
    if not len(points_mm):
        points_mm = at_mm
    distance = np.hypot(at_mm[:, None, 0] - points_mm[None, :, 0], at_mm[:, None, 1] - points_mm[None, :, 1])
    fixed = np.full(len(points_mm), np.inf)
    for place in fixed_mm:
        fixed = np.minimum(fixed, np.hypot(points_mm[:, 0] - place[0], points_mm[:, 1] - place[1]))
    price = tuning.SCREWS_SPARE_WORTH * (
        tuning.SCREWS_SPARE_WISHED_MM - np.minimum(spare_mm, tuning.SCREWS_SPARE_WISHED_MM)
    )

    def free(chosen: list[int]) -> NDArray[np.bool_]:
        open_ = np.ones(len(at_mm), bool)
        for k in chosen:
            open_ &= np.hypot(at_mm[:, 0] - at_mm[k, 0], at_mm[:, 1] - at_mm[k, 1]) >= apart_mm
        return open_

    def costs(others: list[int]) -> Floats:
        near = np.minimum(fixed, distance[others].min(axis=0)) if others else fixed
        reached = np.minimum(near[None, :], distance)
        cost = reached.max(axis=1) + 0.1 * reached.mean(axis=1) + price
        return np.where(free(others), cost, np.inf)

    chosen: list[int] = []
    while len(chosen) < count:
        cost = costs(chosen)
        best = int(np.argmin(cost))
        if not np.isfinite(cost[best]):
            break
        chosen.append(best)
    for _ in range(ROUNDS):
        better = False
        for slot in range(len(chosen)):
            others = chosen[:slot] + chosen[slot + 1 :]
            cost = costs(others)
            best = int(np.argmin(cost))
            if cost[best] < cost[chosen[slot]] - 1e-9:
                chosen[slot] = best
                better = True
        if not better:
            break
    return np.array(chosen, np.intp)


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
