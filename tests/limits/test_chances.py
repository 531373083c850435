"""Quantiles of a sample are those of numpy's own, to the last digit."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.limits.chances import quantiles

SHARES = (0.0, 0.05, 0.5, 0.95, 1.0)


@pytest.mark.parametrize("count", [1, 2, 3, 20, 21, 4000, 4096])
def test_quantiles_are_those_of_numpy(count: int) -> None:
    sample = np.random.default_rng(count).lognormal(-4.0, 0.7, count)
    assert quantiles(sample, SHARES) == tuple(np.quantile(sample, SHARES).tolist())


def test_quantiles_of_equal_values_are_that_value() -> None:
    assert quantiles(np.full(7, 0.1), SHARES) == (0.1,) * 5
