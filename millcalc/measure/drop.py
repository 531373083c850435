"""How the give of a gantry grows with drop, fitted to measured points."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.errors import InputError

Array = NDArray[np.float64]
_ROUNDS = 40
_REPEATS = 100
_SEED = 5


@dataclass(frozen=True, slots=True)
class DropPoint:
    """Give of one axis at one drop [mm], with its standard uncertainty [um/N]."""

    axis: str
    drop_mm: float
    um_n: float
    um_n_sd: float


@dataclass(frozen=True, slots=True)
class DropFit:
    """C(h) = C0 (base + rotary (h/h0)^2 + bending (h/h0)^3), one law for X and Y.

    base, rotary, bending: Shares at the stated drop; they add up to 1 [-].
    um_n: Give C0 of each axis at the stated drop [um/N].
    misfit: Largest relative distance of a point from the law [-].
    half_sd: Relative standard uncertainty of the give at half the stated drop [-].
    doubts: What the person should know.
    """

    base: float
    rotary: float
    bending: float
    um_n: dict[str, float]
    misfit: float
    half_sd: float
    doubts: tuple[str, ...]

    def ratio(self, drop_ratio: float) -> float:
        """Give over the give at the stated drop.

        drop_ratio: Drop over stated drop [-].
        Returns: Ratio [-].
        """
        return self.base + self.rotary * drop_ratio**2 + self.bending * drop_ratio**3


def fit_drop_law(points: tuple[DropPoint, ...], stated_mm: float) -> DropFit:
    """Fit the law by non-negative least squares, one scale for each axis.

    points: Measured gives at two or more drops.
    stated_mm: Drop the shares are stated at [mm].
    Returns: The law.
    Raises InputError: With fewer than two different drops, or drops too near to each other.

    Note: Two drops can carry two of the three terms; the cube (bending of the plate) then stays zero, since
      the rotation of the carriage comes first on gantries. Negative shares are no springs and are not
      allowed.
    """
    drops = np.array([point.drop_mm for point in points])
    if len(np.unique(drops)) < 2 or drops.max() < 1.15 * drops.min():
        raise InputError(
            "drops " + ", ".join(f"{d:g} mm" for d in np.unique(drops)),
            "at least two drops, the larger 1.15 times the smaller or more",
            "measure once with the carriage high and once low",
            field="drop",
        )
    terms = 3 if len(np.unique(drops)) >= 3 else 2
    shares, scales = _solve(points, stated_mm, terms)
    ratio = np.array([_terms(d / stated_mm, terms) @ shares for d in drops])
    fitted = np.array([scales[point.axis] for point in points]) * ratio
    measured = np.array([point.um_n for point in points])
    misfit = float(np.max(np.abs(measured / fitted - 1.0)))
    draw = np.random.default_rng(_SEED)
    halves = []
    for _ in range(_REPEATS):
        noisy = tuple(
            DropPoint(
                p.axis, p.drop_mm, max(p.um_n + p.um_n_sd * draw.standard_normal(), 0.05 * p.um_n), p.um_n_sd
            )
            for p in points
        )
        other, sizes = _solve(noisy, stated_mm, terms)
        axis = points[0].axis
        halves.append(sizes[axis] / scales[axis] * (_terms(0.5, terms) @ other))
    half_sd = float(np.std(halves) / (_terms(0.5, terms) @ shares))
    doubts = []
    if terms == 2:
        doubts.append("two drops: base and rotation fitted; a third drop would show bending of the Z plate")
    allowed = max(0.1, 3 * max(p.um_n_sd / p.um_n for p in points))
    if misfit > allowed:
        doubts.append(f"a point lies {100 * misfit:.0f} % off the law: measure that drop again")
    if shares[0] > 0.98:
        doubts.append("the give hardly changes with drop: raising the bed buys little on this machine")
    rounded = [round(float(share), 3) for share in shares]
    bending = rounded[2] if terms == 3 else 0.0
    rotary = rounded[1]
    return DropFit(
        round(1.0 - rotary - bending, 3), rotary, bending, dict(scales), misfit, half_sd, tuple(doubts)
    )


def _terms(ratio: float, count: int) -> Array:
    return np.array([1.0, ratio**2, ratio**3])[:count]


def _solve(points: tuple[DropPoint, ...], stated_mm: float, count: int) -> tuple[Array, dict[str, float]]:
    """Shares that add up to 1 and a scale for each axis, by turns."""
    from scipy.optimize import nnls

    matrix = np.stack([_terms(point.drop_mm / stated_mm, count) for point in points])
    give = np.array([point.um_n for point in points])
    sd = np.array([max(point.um_n_sd, 1e-3 * point.um_n) for point in points])
    axes = [point.axis for point in points]
    scales = {axis: float(np.mean(give[[a == axis for a in axes]])) for axis in axes}
    shares = np.full(count, 1.0 / count)
    for _ in range(_ROUNDS):
        size = np.array([scales[axis] for axis in axes])
        found, _ = nnls(matrix * (size / sd)[:, None], give / sd)
        total = float(found.sum())
        before, shares = shares, found / total
        model = matrix @ shares
        for axis in scales:
            own = np.array([a == axis for a in axes])
            weight = 1.0 / sd[own] ** 2
            scales[axis] = float(np.sum(weight * model[own] * give[own]) / np.sum(weight * model[own] ** 2))
        if np.max(np.abs(shares - before)) < 1e-9:
            break
    return shares, scales
