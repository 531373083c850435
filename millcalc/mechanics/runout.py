"""Run-out: how a cutter that turns off its axis shares the chip among its teeth."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import (
    FloatArray,
    Numbers,
    Result,
    finite,
    not_negative,
    result,
    whole,
)


def tooth_radii_mm(runout_mm: float, flutes: int, phase_rad: float = 0.0) -> FloatArray:
    """Give by how much each tooth stands out when the cutter turns off its axis.

    runout_mm: Total indicator reading, twice the offset of the axes [mm].
    flutes: Number of teeth, evenly spread over the turn [-].
    phase_rad: Angle of the offset from the first tooth [rad].
    Returns: Radius of each tooth minus the mean radius [mm]. (shape (flutes,))
    Raises ValueError: If an argument is not finite or out of range.

    Note: Parallel offset only; tilt of the axis is not in it.

    >>> tooth_radii_mm(0.02, 2).tolist()
    [0.01, -0.01]

    Source: W. A. Kline, R. E. DeVor, International Journal of Machine Tool Design and Research 23 (1983)
      123 (model from memory).
    """
    offset = float(not_negative("runout_mm", runout_mm)) / 2.0
    count = int(whole("flutes", flutes))
    angles = 2.0 * np.pi * np.arange(count) / count + float(finite("phase_rad", phase_rad))
    return np.asarray(offset * np.cos(angles), dtype=np.float64)


def runout_chips_mm(feed_per_tooth_mm: Numbers, runout_mm: Numbers, flutes: Numbers) -> tuple[Result, Result]:
    """Give the thinnest and thickest share of the feed that one tooth of a turn takes under run-out.

    feed_per_tooth_mm: Feed per tooth fz, the mean over the teeth [mm].
    runout_mm: Total indicator reading at the cutting edges [mm].
    flutes: Number of teeth z [-].
    Returns: Least and most feed one tooth takes [mm]; they add up with the others to fz z.
    Raises ValueError: If an argument is not finite or out of range.

    Note: The worst angle of the offset is taken for each number of teeth. A tooth that reaches no material
      leaves its share to the next ones, so with enough run-out one tooth takes the whole feed per turn. A
      single tooth takes the whole feed whatever the run-out.

    >>> [round(chip, 3) for chip in runout_chips_mm(0.03, 0.02, 2)]
    [0.01, 0.05]
    >>> [round(chip, 3) for chip in runout_chips_mm(0.03, 0.05, 2)]
    [0.0, 0.06]

    Source: W. A. Kline, R. E. DeVor, International Journal of Machine Tool Design and Research 23 (1983)
      123 (model from memory).
    """
    tooth = not_negative("feed_per_tooth_mm", feed_per_tooth_mm)
    reading = not_negative("runout_mm", runout_mm)
    teeth = whole("flutes", flutes)
    shape = np.broadcast_shapes(tooth.shape, reading.shape, teeth.shape)
    least = np.empty(shape)
    most = np.empty(shape)
    for place in np.ndindex(shape):
        feed, tir, count = (float(np.broadcast_to(a, shape)[place]) for a in (tooth, reading, teeth))
        least[place], most[place] = _worst_share(feed, tir, int(count))
    return result(least), result(most)


_PHASES = 48  # [-] angles of the offset tried over one tooth pitch; includes the extremes of 1 to 12 teeth


def _worst_share(feed: float, reading: float, count: int) -> tuple[float, float]:
    if count == 1 or reading == 0.0:
        return feed, feed
    phases = np.linspace(0.0, 2.0 * np.pi / count, _PHASES, endpoint=False)
    chips = np.concatenate([tooth_shares_mm(feed, tooth_radii_mm(reading, count, p)) for p in phases])
    return float(chips.min()), float(chips.max())


def tooth_shares_mm(feed_per_tooth_mm: float, radii_mm: FloatArray) -> FloatArray:
    """Give the thickness each tooth takes straight ahead when the teeth stand out by different amounts.

    feed_per_tooth_mm: Feed between two teeth [mm].
    radii_mm: How far each tooth stands out, in the order in which they cut [mm]. (shape (flutes,))
    Returns: Chip of each tooth: the smallest of k fz + r_i - r_(i-k) over the teeth before it, at least 0
      [mm]. (shape (flutes,))
    Raises ValueError: If an argument is not finite or out of range.

    >>> tooth_shares_mm(0.03, np.array([0.01, -0.01])).round(3).tolist()
    [0.05, 0.01]

    Source: W. A. Kline, R. E. DeVor, International Journal of Machine Tool Design and Research 23 (1983)
      123 (model from memory).
    """
    feed = float(not_negative("feed_per_tooth_mm", feed_per_tooth_mm))
    radii = finite("radii_mm", radii_mm)
    back = range(1, len(radii) + 1)
    chips = np.min([k * feed + radii - np.roll(radii, k) for k in back], axis=0)
    return np.asarray(np.maximum(chips, 0.0), dtype=np.float64)
