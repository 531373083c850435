"""Simulated shops whose true limit is known: how often the learned interval holds it, and a raise goes beyond it.

Run ``python benchmarks/shops.py [--shops 2000] [--cuts 40] [--seed 1]``. All shops of a row are reckoned at once; the
margins of the first ones are compared with :func:`millcalc.cutlog.margins.margin_from`, and a difference is an error.
"""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.cutlog import tuning
from millcalc.cutlog.evidence import Cut
from millcalc.cutlog.learn import FAILED, Curve, default_curves, outcome_probabilities
from millcalc.cutlog.margins import margin_from

Floats = NDArray[np.float64]
KIND = "deflection"
SD = tuning.LEARN_PRIOR_SD[KIND]
GRID = np.linspace(-6.0 * SD, 6.0 * SD, 401)
WORDS = ("good", "acceptable", "failed")
SCATTERS = (0.08, 0.11, 0.15, 0.21, 0.30)
COMPARED, APART = (
    10,
    0.015,
)  # shops compared one by one, and how far a margin may be off: they merge like cuts [-]


@dataclass
class Shops:
    """Many shops, a row each: what is true of them, what they cut, and what is known of each scatter."""

    truth: Floats
    shares: list[Floats]
    outcomes: list[NDArray[np.int64]]
    likelihood: Floats  # curve, shop, place of the grid
    advised: Floats

    def cumulated(self) -> Floats:
        """Share of each posterior below the places of the grid."""
        weights = np.array([weight for weight, _ in default_curves()])
        logs = (
            np.logaddexp.reduce(self.likelihood + np.log(weights)[:, None, None], axis=0)
            - 0.5 * (GRID / SD) ** 2
        )
        density = np.exp(logs - logs.max(axis=1, keepdims=True))
        steps = np.cumsum((density[:, 1:] + density[:, :-1]) / 2.0, axis=1)
        return np.concatenate([np.zeros((len(steps), 1)), steps], axis=1) / steps[:, -1:]

    def quantile(self, cumulated: Floats, share: float) -> Floats:
        """The place below which so much of each posterior lies."""
        return np.array([np.interp(share, row, GRID) for row in cumulated])

    def learn(self) -> Floats:
        """What :func:`millcalc.cutlog.margins.advised_margin` says of each."""
        shares, failed = np.array(self.shares), np.array(self.outcomes) == FAILED
        telling = (failed | (shares >= tuning.LEARN_TELLING_SHARE)).sum(axis=0)
        well = np.where(failed, 0.0, shares).max(axis=0)
        worst = np.where(failed, shares, np.inf).min(axis=0)
        known = self.cumulated()
        sure = np.exp(self.quantile(known, 1.0 - tuning.LEARN_SURE_TO_RAISE))
        lower = np.minimum(np.exp(self.quantile(known, 1.0 - tuning.LEARN_SURE_TO_LOWER)), 1.0)
        enough = telling >= tuning.LEARN_LEAST_CUTS
        tried = np.minimum(
            np.maximum(1.0, well * tuning.LEARN_STEP_BEYOND_TRIED), tuning.LEARN_LARGEST_MARGIN
        )
        raises = enough & (sure > 1.0) & (worst >= tuning.LEARN_FAILED_FAR_BELOW)
        return np.where(raises, np.minimum(sure, tried), np.where(enough | np.isfinite(worst), lower, 1.0))


def simulated(shops: int, cuts: int, follow: bool, scatter: float, seed: int) -> Shops:
    """Shops after so many cuts, at any share or as they are advised."""
    rng = np.random.default_rng(seed)
    curves = default_curves()
    made = Shops(
        rng.normal(0.0, SD, shops), [], [], np.zeros((len(curves), shops, len(GRID))), np.ones(shops)
    )
    for _ in range(cuts):
        share = made.advised * rng.uniform(0.6, 1.0, shops)
        if not follow:
            share = np.exp(rng.uniform(math.log(0.3), math.log(1.6), shops))
        chances = outcome_probabilities(np.log(share), made.truth, Curve(scatter=scatter))
        outcome = (rng.uniform(size=shops) > np.cumsum(chances, axis=0)[:2]).sum(axis=0)
        for place, (_, curve) in enumerate(curves):
            all_three = outcome_probabilities(np.log(share)[:, None], GRID[None, :], curve)
            made.likelihood[place] += np.log(np.take_along_axis(all_three, outcome[None, :, None], axis=0)[0])
        made.shares.append(share)
        made.outcomes.append(outcome)
        if follow:
            made.advised = made.learn()
    made.advised = made.learn()
    return made


def compare(made: Shops) -> None:
    """Learn the first shops from their cuts as a log would."""
    for shop in range(min(COMPARED, len(made.truth))):
        cuts = [
            Cut(0.0, "plate", WORDS[outcome[shop]], () if outcome[shop] == 0 else ("tapered-wall",),
                {KIND: float(share[shop])})
            for share, outcome in zip(made.shares, made.outcomes, strict=True)
        ]  # fmt: skip
        learned = margin_from(cuts, KIND).advised
        if abs(learned - made.advised[shop]) > APART:
            raise SystemExit(f"shop {shop}: learned {learned:.4f}, here {made.advised[shop]:.4f}")


def held(made: Shops) -> float:
    """Share of the shops whose interval holds what is true of them."""
    known, tail = made.cumulated(), (1.0 - tuning.LEARN_INTERVAL) / 2.0
    low, high = made.quantile(known, tail), made.quantile(known, 1.0 - tail)
    return float(np.mean((low <= made.truth) & (made.truth <= high)))


def row(shops: int, cuts: int, follow: bool, scatter: float, seed: int) -> str:
    """One row of the table in docs/log.md."""
    made = simulated(shops, cuts, follow, scatter, seed)
    compare(made)
    inside = held(made)
    raised = made.advised > 1.0
    beyond = float(np.mean(np.log(made.advised[raised]) > made.truth[raised])) if raised.any() else 0.0
    failed = float(np.mean(np.array(made.outcomes) == FAILED))
    how = "follow the advice" if follow else "cut at any share"
    return f"| {how}, scatter {scatter:.2f} | {inside:.1%} | {beyond:.1%} of {raised.sum()} | {failed:.0%} |"


def main() -> None:
    """Print a row for each way to cut and each scatter."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shops", type=int, default=2000)
    parser.add_argument("--cuts", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    print("| shops | interval holds | raised beyond the truth | failed |\n|---|---|---|---|")
    for follow in (False, True):
        for scatter in SCATTERS:
            print(row(chosen.shops, chosen.cuts, follow, scatter, chosen.seed), flush=True)


if __name__ == "__main__":
    main()
