"""Different values and rows are those of numpy's ``unique``."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.preflight.distinct import distinct_rows, distinct_values

VALUES = (
    [], [3.0], [2.0, 2.0], [2.0, 1.0, 1.0, 2.0, 2.0, 0.0], [np.nan, np.nan, 1.0, np.nan], [np.inf, -np.inf, np.inf],
    [0.0, -0.0, 1.0],
)  # fmt: skip


@pytest.mark.parametrize("values", VALUES)
def test_values_are_those_of_unique(values: list[float]) -> None:
    column = np.array(values)
    wanted, places = np.unique(column, return_inverse=True)
    found, where = distinct_values(column)
    assert np.array_equal(found, wanted, equal_nan=True)
    assert np.array_equal(where, places)


@pytest.mark.parametrize("far", [0.0, 5.0, 2.0**40, np.inf, np.nan])
def test_rows_are_those_of_unique(far: float) -> None:
    """From 2.0**40 in each of three columns on, the rows have no key of 62 bits and go to numpy."""
    table = np.random.default_rng(7).integers(-3, 4, (400, 3)).astype(float)
    table[17], table[18] = far, -far
    _, wanted, places = np.unique(table, axis=0, return_index=True, return_inverse=True)
    first, where = distinct_rows(table)
    assert np.array_equal(first, wanted)
    assert np.array_equal(where, places.reshape(-1))


def test_no_rows() -> None:
    first, where = distinct_rows(np.empty((0, 3)))
    assert len(first) == len(where) == 0
