"""The longest common order of two rows of numbers, by landmarks: quick also for a million of them.

Equal beginnings and ends are matched first; then numbers that occur once in both are landmarks, of which the longest
run in the same order is kept; between landmarks the same again, and what is left and small is matched exhaustively.
"""

from __future__ import annotations

import difflib
from bisect import bisect_left

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.tuning import COMPARE_PAIRS

Numbers = NDArray[np.uint64]
Rows = NDArray[np.int64]


def align(a: Numbers, b: Numbers) -> tuple[Rows, Rows]:
    """Match two rows of numbers in order.

    a, b: The numbers [-].
    Returns: rows_a, rows_b: Positions of the matched numbers, both rising [-].

    >>> import numpy as np
    >>> first, second = align(np.array([1, 2, 3, 4], np.uint64), np.array([1, 3, 9, 4], np.uint64))
    >>> first.tolist(), second.tolist()
    ([0, 2, 3], [0, 1, 3])
    """
    found: list[tuple[int, int, int]] = []  # start in a, start in b, length
    waiting = [(0, len(a), 0, len(b))]
    while waiting:
        a0, a1, b0, b1 = waiting.pop()
        ahead = _common(a[a0:a1], b[b0:b1])
        if ahead:
            found.append((a0, b0, ahead))
            a0, b0 = a0 + ahead, b0 + ahead
        behind = _common(a[a0:a1][::-1], b[b0:b1][::-1])
        if behind:
            a1, b1 = a1 - behind, b1 - behind
            found.append((a1, b1, behind))
        if a0 == a1 or b0 == b1:
            continue
        marks_a, marks_b = _landmarks(a[a0:a1], b[b0:b1])
        if len(marks_a):
            # landmarks in a row are one find; only between two rows is there anything left to match
            cuts = np.flatnonzero((np.diff(marks_a) > 1) | (np.diff(marks_b) > 1)) + 1
            begins, ends = np.concatenate([[0], cuts]), np.concatenate([cuts, [len(marks_a)]])
            place_a, place_b = a0, b0
            for begin, end in zip(begins.tolist(), ends.tolist(), strict=True):
                in_a, in_b = a0 + int(marks_a[begin]), b0 + int(marks_b[begin])
                found.append((in_a, in_b, end - begin))
                waiting.append((place_a, in_a, place_b, in_b))
                place_a, place_b = in_a + end - begin, in_b + end - begin
            waiting.append((place_a, a1, place_b, b1))
        elif (a1 - a0) * (b1 - b0) <= COMPARE_PAIRS:
            matcher = difflib.SequenceMatcher(None, a[a0:a1].tolist(), b[b0:b1].tolist(), autojunk=False)
            found += [(a0 + m.a, b0 + m.b, m.size) for m in matcher.get_matching_blocks() if m.size]
    found.sort()
    empty = np.zeros(0, np.int64)
    rows_a = [np.arange(start, start + length) for start, _, length in found]
    rows_b = [np.arange(start, start + length) for _, start, length in found]
    return np.concatenate([empty, *rows_a]), np.concatenate([empty, *rows_b])


def _common(a: Numbers, b: Numbers) -> int:
    """Length of the common beginning."""
    length = min(len(a), len(b))
    different = a[:length] != b[:length]
    return int(np.argmax(different)) if different.any() else length


def _landmarks(a: Numbers, b: Numbers) -> tuple[Rows, Rows]:
    """Places of numbers that occur once in both, as many as rise in both."""
    values_a, first_a, counts_a = np.unique(a, return_index=True, return_counts=True)
    values_b, first_b, counts_b = np.unique(b, return_index=True, return_counts=True)
    once_a, once_b = counts_a == 1, counts_b == 1
    _, in_a, in_b = np.intersect1d(
        values_a[once_a], values_b[once_b], assume_unique=True, return_indices=True
    )
    places_a, places_b = first_a[once_a][in_a], first_b[once_b][in_b]
    order = np.argsort(places_a)
    chosen = _rising(places_b[order].tolist())
    return places_a[order][chosen].astype(np.int64), places_b[order][chosen].astype(np.int64)


def _rising(places: list[int]) -> Rows:
    """Positions of the longest rising choice (patience sorting)."""
    tops: list[int] = []  # least last place of a rising run of each length
    at: list[int] = []
    before: list[int] = []
    for index, place in enumerate(places):
        pile = bisect_left(tops, place)
        before.append(at[pile - 1] if pile else -1)
        if pile == len(tops):
            tops.append(place)
            at.append(index)
        else:
            tops[pile] = place
            at[pile] = index
    chosen: list[int] = []
    index = at[-1] if at else -1
    while index >= 0:
        chosen.append(index)
        index = before[index]
    return np.array(chosen[::-1], np.int64)
