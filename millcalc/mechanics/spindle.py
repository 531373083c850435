"""What a spindle gives at a speed, and the dial mark nearest to a wanted speed."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from millcalc.mechanics._arrays import FloatArray, Numbers, Result, finite, positive, result
from millcalc.mechanics.kienzle import torque_nm


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


def torque_at_speed_nm(
    speed_rpm: Numbers, rpm_points: Sequence[float], power_points_w: Sequence[float]
) -> Result:
    """Give the torque a spindle can hold at a speed.

    speed_rpm: Spindle speed [rev/min].
    rpm_points: Speeds of the known points, rising [rev/min].
    power_points_w: Shaft power at those speeds [W].
    Returns: Torque [Nm].
    Raises ValueError: If an argument is not finite or out of range, or the points do not rise.

    >>> round(torque_at_speed_nm(12000.0, [24000.0], [800.0]), 3)
    0.318

    Source: Definition of power; see :func:`power_at_speed_w`.
    """
    return torque_nm(power_at_speed_w(speed_rpm, rpm_points, power_points_w), speed_rpm)


def nearest_dial(speed_rpm: float, dial_rpm: Sequence[float], highest_rpm: float | None = None) -> int:
    """Give the place of the dial mark whose speed is nearest to a wanted one, by ratio.

    speed_rpm: Wanted speed [rev/min].
    dial_rpm: Speeds of the marks, in any order [rev/min].
    highest_rpm: Speed that must not be exceeded; None for no limit [rev/min].
    Returns: Index of the mark; the slower one when two are equally near [-].
    Raises ValueError: If an argument is not finite or not positive, or no mark stays at or below
      `highest_rpm`.

    >>> nearest_dial(17000.0, [10000.0, 13000.0, 17500.0, 22000.0])
    2
    >>> nearest_dial(17000.0, [10000.0, 13000.0, 17500.0, 22000.0], highest_rpm=17000.0)
    1

    Source: Distance of logarithms: a dial 10 % fast is as far off as one 10 % slow.
    """
    wanted = float(positive("speed_rpm", speed_rpm))
    marks = positive("dial_rpm", np.asarray(dial_rpm, dtype=np.float64))
    if marks.ndim != 1 or marks.size == 0:
        raise ValueError("dial_rpm must be a list of at least one speed")
    distance = np.abs(np.log(marks / wanted))
    if highest_rpm is not None:
        distance = np.where(marks <= float(finite("highest_rpm", highest_rpm)), distance, np.inf)
    if not np.isfinite(distance).any():
        raise ValueError(f"dial_rpm has no mark at or below highest_rpm ({highest_rpm:g})")
    nearest = np.flatnonzero(distance <= distance.min() + 1e-12)
    return int(nearest[np.argmin(marks[nearest])])
