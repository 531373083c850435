"""The model behind learning: how far one limit of this machine lies from the computed one.

The unknown is t = ln(real limit / computed limit). Before any cut, t is normal with mean 0. A cut that stood at
share u of the computed limit fails with

    P(failed | u, t) = e + (1 - 3 e) L((ln u - t) / s + logit p),   L the logistic function,

so p is the chance of a failure exactly at the limit; it is not good with the same expression, b further along:

    P(not good | u, t) = 2 e + (1 - 3 e) L((ln u - t + b) / s + logit p).

e is the chance of each outcome by mistake. A measured wall error r times the computed deflection says
ln r = -t + noise, normal. The scatter s is not known either and is averaged out over a few values. The posterior
lives on an even grid in t. Pure functions, NumPy only.

Source: McCullagh, "Regression models for ordinal data", J. R. Statist. Soc. B 42(2), 1980, 109-142: the
  ordered logit. Gelman, Carlin, Stern, Dunson, Vehtari, Rubin, Bayesian Data Analysis, 3rd ed., 2013: grid
  posterior, section 3.7; normal with known variance, section 2.5.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from millcalc.cutlog import tuning

Floats = NDArray[np.float64]
GOOD, ACCEPTABLE, FAILED = 0, 1, 2
_GRID_POINTS = 401
_GRID_REACH_SD = 6.0


@dataclass(frozen=True, slots=True)
class Curve:
    """How outcomes depend on ln(share) - t; see the module's formulas.

    scatter: s, scale of the logistic curve in ln(share) [-].
    band: b, width of the acceptable band in ln(share) [-].
    at_limit: p, chance of a failure at the limit [-].
    mistake: e, chance of each outcome by mistake [-].
    """

    scatter: float = 0.15
    band: float = tuning.LEARN_ACCEPTABLE_BAND
    at_limit: float = tuning.LEARN_FAILURE_AT_LIMIT
    mistake: float = tuning.LEARN_MISTAKE


@dataclass(frozen=True)
class Evidence:
    """What the log says about one limit.

    ln_share: Logarithm of the predicted share of each cut [-].
    outcome: GOOD, ACCEPTABLE or FAILED.
    weight: How much each cut counts, 0 to 1 [-].
    ln_size_ratio: Logarithm of measured over computed deflection [-].
    size_below: True where the error was too small to measure and the ratio is only an upper end.
    size_weight: How much each measurement counts, 0 to 1 [-].
    """

    ln_share: Floats
    outcome: NDArray[np.int64]
    weight: Floats
    ln_size_ratio: Floats
    size_below: NDArray[np.bool_]
    size_weight: Floats


@dataclass(frozen=True)
class Posterior:
    """A density over t on a grid.

    t: Grid of ln(real limit / computed limit) [-].
    density: Density, integrates to 1 [-].
    """

    t: Floats
    density: Floats

    def quantile(self, share: float) -> float:
        """Value of t below which this share of the posterior lies.

        share: Between 0 and 1 [-].
        Returns: t [-].
        """
        steps = np.diff(self.t) * (self.density[1:] + self.density[:-1]) / 2
        below = np.concatenate(([0.0], np.cumsum(steps)))
        return float(np.interp(share, below / below[-1], self.t))

    def mean(self) -> float:
        """Mean of t.

        Returns: t [-].
        """
        return _integral(self.t * self.density, self.t)

    def sd(self) -> float:
        """Standard deviation of t.

        Returns: In t [-].
        """
        return math.sqrt(_integral((self.t - self.mean()) ** 2 * self.density, self.t))


def _integral(values: Floats, at: Floats) -> float:
    """Trapezoidal rule (``numpy.trapezoid`` came only with NumPy 2)."""
    return float(np.sum(np.diff(at) * (values[1:] + values[:-1]) / 2.0))


def _logistic(x: Floats) -> Floats:
    return np.asarray(0.5 * (1.0 + np.tanh(0.5 * x)))


def outcome_probabilities(ln_share: ArrayLike, t: ArrayLike, curve: Curve | None = None) -> Floats:
    """Chance of each outcome.

    ln_share: Logarithm of the predicted share [-].
    t: ln(real limit / computed limit) [-]; broadcasts with `ln_share`.
    curve: Parameters of the model.
    Returns: Good, acceptable, failed; they add up to 1 [-].

    >>> outcome_probabilities(0.0, 0.0, Curve(mistake=0.0))[2].round(3)
    np.float64(0.1)
    """
    c = curve or Curve()
    past = (np.asarray(ln_share, dtype=np.float64) - np.asarray(t, dtype=np.float64)) / c.scatter
    logit = math.log(c.at_limit / (1.0 - c.at_limit))
    failed = _logistic(past + logit)
    not_good = _logistic(past + c.band / c.scatter + logit)
    share = 1.0 - 3.0 * c.mistake
    return np.stack(
        [
            c.mistake + share * (1.0 - not_good),
            c.mistake + share * (not_good - failed),
            c.mistake + share * failed,
        ]
    )


def log_likelihood(
    ln_share: ArrayLike, outcome: ArrayLike, weight: ArrayLike, t: ArrayLike, curve: Curve | None = None
) -> Floats:
    """Weighted log-likelihood of the outcomes over a grid.

    ln_share: Logarithm of the predicted share of each cut [-].
    outcome: GOOD, ACCEPTABLE or FAILED.
    weight: How much each cut counts [-].
    t: Grid of ln(real limit / computed limit) [-].
    curve: Parameters of the model.
    Returns: Sum over the cuts [-].
    """
    x = np.asarray(ln_share, dtype=np.float64)
    chosen = np.asarray(outcome, dtype=np.int64)
    chances = outcome_probabilities(x[:, None], np.asarray(t, dtype=np.float64)[None, :], curve)
    with np.errstate(divide="ignore"):
        logs = np.log(np.maximum(chances[chosen, np.arange(len(x))], 1e-300))
    return np.asarray(np.asarray(weight, dtype=np.float64) @ logs)


def _merged(evidence: Evidence) -> tuple[Floats, NDArray[np.int64], Floats]:
    """Cuts of the same outcome whose shares agree within half a per cent, as one cut of their joint weight."""
    steps = np.rint(evidence.ln_share / 0.01).astype(np.int64)
    keys, where = np.unique(steps * 4 + evidence.outcome, return_inverse=True)
    weight = np.bincount(where.ravel(), weights=evidence.weight, minlength=len(keys))
    return (keys // 4) * 0.01, keys % 4, np.asarray(weight, dtype=np.float64)


def size_log_likelihood(
    ln_ratio: ArrayLike, below: ArrayLike, weight: ArrayLike, t: ArrayLike, sd: float = tuning.LEARN_SIZE_SD
) -> Floats:
    """Weighted log-likelihood of measured wall errors over a grid.

    ln_ratio: ln(measured / computed deflection) [-].
    below: True where the ratio is only an upper end.
    weight: How much each measurement counts [-].
    t: Grid of ln(real limit / computed limit) [-].
    sd: Standard deviation of ln_ratio [-].
    Returns: Sum over the measurements, without the constant of the normal density [-].
    """
    ratio = np.asarray(ln_ratio, dtype=np.float64)
    # the error grows as the limit shrinks: ln_ratio has the mean -t
    z = (ratio[:, None] + np.asarray(t, dtype=np.float64)[None, :]) / sd
    erfc = np.vectorize(math.erfc, otypes=[np.float64])
    censored = np.asarray(below, dtype=np.bool_)
    logs = -0.5 * z * z
    if censored.any():
        logs[censored] = np.log(np.maximum(0.5 * erfc(-z[censored] / math.sqrt(2.0)), 1e-300))
    return np.asarray(np.asarray(weight, dtype=np.float64) @ logs)


def default_curves() -> tuple[tuple[float, Curve], ...]:
    """The scatters that are averaged over, with their weights before any cut.

    Returns: Weights add up to 1 [-].
    """
    pairs = zip(tuning.LEARN_SCATTER_WEIGHTS, tuning.LEARN_SCATTERS, strict=True)
    return tuple((weight, Curve(scatter=scatter)) for weight, scatter in pairs)


def posterior(
    prior_sd: float, evidence: Evidence, curves: Sequence[tuple[float, Curve]] | None = None
) -> Posterior:
    """What is known about one limit after the logged cuts.

    prior_sd: Standard deviation of t before any cut [-].
    evidence: The cuts.
    curves: Curves averaged over and their weights; :func:`default_curves` when left out.
    Returns: Over t within six prior standard deviations.
    """
    t = np.linspace(-_GRID_REACH_SD * prior_sd, _GRID_REACH_SD * prior_sd, _GRID_POINTS)
    log_density = -0.5 * (t / prior_sd) ** 2
    if len(evidence.ln_share):
        x, outcome, weight = _merged(evidence)
        log_density = log_density + np.logaddexp.reduce(
            [
                math.log(prior) + log_likelihood(x, outcome, weight, t, curve)
                for prior, curve in curves or default_curves()
            ],
            axis=0,
        )
    if len(evidence.ln_size_ratio):
        log_density = log_density + size_log_likelihood(
            evidence.ln_size_ratio, evidence.size_below, evidence.size_weight, t
        )
    density = np.exp(log_density - log_density.max())
    return Posterior(t, density / _integral(density, t))
