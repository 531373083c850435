"""Matching two rows of numbers, against the definition and against the exact longest common order."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.gcode import align as module
from millcalc.gcode.align import align

rows = st.lists(st.integers(0, 6), max_size=30)


def longest(a: list[int], b: list[int]) -> int:
    """Length of the longest common order, by the textbook's table."""
    table = [[0] * (len(b) + 1) for _ in range(len(a) + 1)]
    for i, x in enumerate(a):
        for j, y in enumerate(b):
            table[i + 1][j + 1] = table[i][j] + 1 if x == y else max(table[i][j + 1], table[i + 1][j])
    return table[-1][-1]


def matched(a: list[int], b: list[int]) -> list[tuple[int, int]]:
    one, two = align(np.array(a, np.uint64), np.array(b, np.uint64))
    pairs = list(zip(one.tolist(), two.tolist(), strict=True))
    assert all(a[i] == b[j] for i, j in pairs)
    assert all(i < k and j < m for (i, j), (k, m) in itertools.pairwise(pairs))
    return pairs


@given(rows, rows)
@settings(max_examples=150, deadline=None, database=None)
def test_matches_are_equal_and_rise(a: list[int], b: list[int]) -> None:
    pairs = matched(a, b)
    assert len(pairs) <= longest(a, b)
    if set(a) & set(b):
        assert pairs


@given(st.permutations(range(12)), st.permutations(range(12)))
@settings(max_examples=100, deadline=None, database=None)
def test_numbers_that_occur_once_are_matched_as_often_as_possible(a: list[int], b: list[int]) -> None:
    # equal ends are taken first, which never costs a match
    assert len(matched(a, b)) == longest(a, b)


@given(rows, st.integers(0, 30), rows)
@settings(max_examples=100, deadline=None, database=None)
def test_an_insertion_costs_no_match(a: list[int], place: int, more: list[int]) -> None:
    place = min(place, len(a))
    inserted = [number + 100 for number in more]
    assert len(matched(a, a[:place] + inserted + a[place:])) == len(a)


def test_too_many_pairs_count_as_replaced(monkeypatch: pytest.MonkeyPatch) -> None:
    a, b = [1, 2] * 20, [3, 2, 1, 4] * 10
    assert matched(a, b)
    monkeypatch.setattr(module, "COMPARE_PAIRS", 10)
    assert not matched(a, b)


def test_a_long_row_is_quick() -> None:
    rng = np.random.default_rng(3)
    a = rng.integers(0, 2**60, 200_000).astype(np.uint64)
    b = np.delete(a, np.arange(0, len(a), 1000))
    one, two = align(a, b)
    assert len(one) == len(b) and (a[one] == b[two]).all()
