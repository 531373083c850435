"""Feeds that do not flutter: short rises between lower feeds are left out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def ladder(feed_mm_min: Floats, ratio: float) -> Floats:
    """Feeds rounded down to a ladder of equal ratios.

    feed_mm_min: Feeds [mm/min].
    ratio: Ratio of neighbouring steps, above 1 [-].
    Returns: Feeds of the ladder, none above its own [mm/min].

    >>> ladder(np.array([100.0, 106.0, 113.0]), 1.12).round(1).tolist()
    [100.0, 100.0, 112.0]
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        step = np.floor(np.log(feed_mm_min / 100.0) / np.log(ratio) + 1e-9)
        return np.where(np.isfinite(step), 100.0 * ratio**step, feed_mm_min)


def without_peaks(feed_mm_min: Floats, length_mm: Floats, run: NDArray[np.int64], least_mm: float) -> Floats:
    """Lower every rise of feed that lasts for less than some path to the higher of its neighbours.

    feed_mm_min: Wanted feeds; NaN where a motion has none [mm/min].
    length_mm: Path length of each motion [mm].
    run: Number of the unbroken run of feed motions that each belongs to; feeds of other runs are no
      neighbours [-].
    least_mm: Shortest rise that is kept [mm].
    Returns: Feeds, none above its own [mm/min].

    Note: Stretches of equal feed are taken from the highest down; one that is shorter than `least_mm` and
      has a lower stretch on each side joins the higher of the two.

    >>> feed, run = np.array([300.0, 500.0, 300.0, 500.0]), np.zeros(4, int)
    >>> without_peaks(feed, np.array([9.0, 1.0, 9.0, 9.0]), run, 3.0).tolist()
    [300.0, 300.0, 300.0, 500.0]
    """
    out = feed_mm_min.copy()
    stack: list[list[float]] = []  # first row, row behind the last, feed, length, run

    def settle() -> None:
        """Level the last but one stretch of the stack while it is a short peak."""
        while len(stack) >= 3:
            a, b, c = stack[-3:]
            if not (a[4] == b[4] == c[4] and b[2] > a[2] and b[2] > c[2] and b[3] < least_mm):
                return
            level = max(a[2], c[2])
            if level == a[2] == c[2]:
                stack[-3:] = [[a[0], c[1], level, a[3] + b[3] + c[3], a[4]]]
            elif level == a[2]:
                stack[-3:] = [[a[0], b[1], level, a[3] + b[3], a[4]], c]
            else:
                stack[-3:] = [a, [b[0], c[1], level, b[3] + c[3], a[4]]]

    for row in range(len(out)):
        value = out[row]
        if np.isnan(value):
            continue
        size = float(np.nan_to_num(length_mm[row]))
        if stack and stack[-1][4] == run[row] and stack[-1][2] == value and stack[-1][1] == row:
            stack[-1][1], stack[-1][3] = row + 1, stack[-1][3] + size
        else:
            settle()
            stack.append([row, row + 1, float(value), size, int(run[row])])
        settle()
    settle()
    for first, behind, level, _, _ in stack:
        part = slice(int(first), int(behind))
        out[part] = np.where(np.isnan(out[part]), np.nan, np.fmin(out[part], level))
    return out
