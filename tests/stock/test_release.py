"""The step that frees a piece, against a plain search after every step. Kind of number: exact."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from millcalc.stock.contact import RELEASED_SHARE, greatest_fall


def _connected(standing: np.ndarray, place: tuple[int, int]) -> int:
    """Cells joined to a place over edges: a plain search, cell by cell."""
    seen, open_ends = set(), [place]
    while open_ends:
        row, column = open_ends.pop()
        inside = 0 <= row < standing.shape[0] and 0 <= column < standing.shape[1]
        if inside and standing[row, column] and (row, column) not in seen:
            seen.add((row, column))
            open_ends += [(row + 1, column), (row - 1, column), (row, column + 1), (row, column - 1)]
    return len(seen)


@pytest.mark.parametrize("seed", range(12))
def test_the_step_that_frees_most_is_found_as_by_looking_after_each(seed: int) -> None:
    chance = np.random.default_rng(seed)
    steps, shape = int(chance.integers(1, 14)), (9, 11)
    lasting = chance.integers(0, steps + 2, shape).astype(np.int16)
    lasting[chance.random(shape) < 0.6] = steps + 1
    place = (4, 5)
    lasting[place] = chance.integers(0, steps + 2)
    sizes = [_connected(lasting > look, place) for look in range(steps + 1)]
    falls = [before - after for before, after in pairwise(sizes)]
    most = max(falls)
    expected = falls.index(most) + 1 if most > RELEASED_SHARE * sizes[0] else None
    assert greatest_fall(lasting, place, steps) == expected
