"""The learning's likelihood against the bioassay example of a textbook on Bayesian statistics.

A. Racine, A. P. Grieve, H. Flühler, A. F. M. Smith, "Bayesian methods in practice: experiences in the
pharmaceutical industry", Applied Statistics 35, 1986, 93-150; worked as an example of logistic regression in
A. Gelman, J. B. Carlin, H. S. Stern, D. B. Dunson, A. Vehtari, D. B. Rubin, Bayesian Data Analysis, 3rd ed.,
CRC Press 2013, section 3.7, table 3.1 (digits from memory; the data give them back).

Four log-doses, five trials at each, 0, 1, 3 and 5 events. With no acceptable band and no mistakes the model of
a limit is this very regression: alpha = logit(p) - t / s, beta = 1 / s.
"""

from __future__ import annotations

import math

import numpy as np
from scipy.optimize import minimize

from millcalc.cutlog.learn import FAILED, GOOD, Curve, log_likelihood

LOG_DOSE = (-0.86, -0.30, -0.05, 0.73)
EVENTS = (0, 1, 3, 5)
TRIALS = 5


def _log_likelihood(alpha: float, beta: float) -> float:
    """The project's likelihood at a slope and intercept of the book's form."""
    share, outcome = [], []
    for dose, events in zip(LOG_DOSE, EVENTS, strict=True):
        share += [dose] * TRIALS
        outcome += [FAILED] * events + [GOOD] * (TRIALS - events)
    scatter = 1.0 / beta
    curve = Curve(scatter=scatter, band=0.0, at_limit=0.5, mistake=0.0)
    t = -alpha * scatter
    return float(log_likelihood(share, outcome, np.ones(len(share)), [t], curve)[0])


def test_estimate_and_standard_errors() -> None:
    """Section 3.7: the estimate is (alpha, beta) = (0.8, 7.7) with standard errors 1.0 and 4.9.

    Tolerance: half of the last printed digit.
    """
    best = minimize(lambda x: -_log_likelihood(x[0], math.exp(x[1])), (0.0, 1.0), method="Nelder-Mead")
    alpha, beta = best.x[0], math.exp(best.x[1])
    assert abs(alpha - 0.8) <= 0.05
    assert abs(beta - 7.7) <= 0.05
    step = 1e-3
    hessian = np.empty((2, 2))
    for i in range(2):
        for j in range(2):
            total = 0.0
            for a, b, sign in ((1, 1, 1), (1, -1, -1), (-1, 1, -1), (-1, -1, 1)):
                at = np.array([alpha, beta])
                at[i] += a * step
                at[j] += b * step
                total += sign * _log_likelihood(*at)
            hessian[i, j] = -total / (4 * step * step)
    errors = np.sqrt(np.diag(np.linalg.inv(hessian)))
    assert abs(errors[0] - 1.0) <= 0.05
    assert abs(errors[1] - 4.9) <= 0.05
