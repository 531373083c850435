"""What a spindle gives at a speed, and the dial mark nearest to a wanted speed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from millcalc.mechanics._arrays import FloatArray, Numbers, Result, positive, result


def _points(rpm_points: Sequence[float], power_points_w: Sequence[float]) -> tuple[FloatArray, FloatArray]:
    speeds = positive("rpm_points", np.asarray(rpm_points, dtype=np.float64))
    powers = positive("power_points_w", np.asarray(power_points_w, dtype=np.float64))
    if speeds.ndim != 1 or speeds.size == 0 or speeds.shape != powers.shape:
        raise ValueError("rpm_points and power_points_w must be lists of the same length, at least 1")
    if np.any(np.diff(speeds) <= 0):
        raise ValueError("rpm_points must rise")
    return speeds, powers


def power_at_speed_w(
    speed_rpm: Numbers, rpm_points: Sequence[float], power_points_w: Sequence[float]
) -> Result:
    """Give the shaft power a spindle can hold at a speed.

    speed_rpm: Spindle speed [rev/min].
    rpm_points: Speeds of the known points, rising [rev/min].
    power_points_w: Shaft power at those speeds [W].
    Returns: Power: linear between points, at the torque of the first point below it, at the power of the
      last point above it [W].
    Raises ValueError: If an argument is not finite or out of range, or the points do not rise.

    Note: A motor fed by a frequency drive has about constant torque up to its rated speed, so half the
      speed gives half the power.

    >>> power_at_speed_w(12000.0, [24000.0], [800.0])
    400.0

    Source: Behaviour of induction motors on a frequency drive, from memory.
    """
    speeds, powers = _points(rpm_points, power_points_w)
    speed = positive("speed_rpm", speed_rpm)
    held = np.interp(speed, speeds, powers)
    return result(np.where(speed < speeds[0], powers[0] * speed / speeds[0], held))
