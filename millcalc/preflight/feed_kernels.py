"""Kernels of the feed model: speeds at the joints of a path under an acceleration limit, and times.

All arrays are float64 and have one entry a motion unless said otherwise. ``entry`` (n + 1,) and ``time`` are
filled in place. Motions whose length is zero or NaN pass the speed of zero on.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.kernels import kernel


@kernel
def joint_speeds(
    limit: NDArray[np.float64],
    accel: NDArray[np.float64],
    length: NDArray[np.float64],
    entry: NDArray[np.float64],
) -> None:
    """Lower entry (n + 1,) [mm/s], which holds each joint's own limit, to what acceleration allows.

    Backward pass, then forward pass: v at one end is at most sqrt(v^2 at the other + 2 a s).
    """
    n = len(limit)
    for i in range(n - 1, -1, -1):
        if not length[i] > 0.0 or math.isnan(limit[i]):
            entry[i] = 0.0
            entry[i + 1] = 0.0
            continue
        reach = math.sqrt(entry[i + 1] ** 2 + 2.0 * accel[i] * length[i])
        entry[i] = min(entry[i], reach, limit[i])
    for i in range(n):
        if not length[i] > 0.0 or math.isnan(limit[i]):
            continue
        reach = math.sqrt(entry[i] ** 2 + 2.0 * accel[i] * length[i])
        entry[i + 1] = min(entry[i + 1], reach, limit[i])


@kernel
def motion_times(
    limit: NDArray[np.float64],
    accel: NDArray[np.float64],
    length: NDArray[np.float64],
    entry: NDArray[np.float64],
    time: NDArray[np.float64],
) -> None:
    """Fill time (n,) [s] of each motion from the speeds at its ends [mm/s]; NaN where unknown."""
    for i in range(len(limit)):
        if math.isnan(length[i]) or math.isnan(limit[i]) or limit[i] <= 0.0:
            time[i] = math.nan
            continue
        if length[i] == 0.0:
            time[i] = 0.0
            continue
        a, s = accel[i], length[i]
        v0, v1 = entry[i], entry[i + 1]
        peak = min(limit[i], math.sqrt(0.5 * (2.0 * a * s + v0 * v0 + v1 * v1)))
        peak = max(peak, v0, v1)
        cruise = max(0.0, s - (2.0 * peak * peak - v0 * v0 - v1 * v1) / (2.0 * a))
        time[i] = (2.0 * peak - v0 - v1) / a + cruise / peak
