"""Feed with a stopwatch."""

from __future__ import annotations

import numpy as np

from millcalc.errors import InputError
from millcalc.measure import tuning
from millcalc.measure.motion import Timed, positive


def feed_from_time(
    distance_mm: float,
    time_s: float,
    acceleration_mm_s2: float | None = None,
    watch_s: float = tuning.STOPWATCH_S,
) -> Timed:
    """Real feed over a timed distance, with the time to speed up and slow down taken off.

    distance_mm: Distance, measured with a tape, not read from the screen [mm].
    time_s: Time from start to stop [s].
    acceleration_mm_s2: Acceleration of the axis; None leaves the ramps out [mm/s2].
    watch_s: Standard uncertainty of the time [s].
    Returns: Feed [mm/min].
    Raises InputError: If a number is impossible, or the distance too short to reach a steady feed.

    Note: T = d / v + v / a, solved for v.

    >>> round(feed_from_time(500.0, 30.0).value)
    1000
    """
    positive("distance", distance_mm, "mm")
    positive("time", time_s, "s")
    doubts: list[str] = []
    if acceleration_mm_s2 is None:
        speed = distance_mm / time_s
    else:
        positive("acceleration", acceleration_mm_s2, "mm/s2")
        under = time_s**2 - 4.0 * distance_mm / acceleration_mm_s2
        if under < 0:
            raise InputError(
                f"{distance_mm:g} mm in {time_s:g} s",
                f"at least {2 * np.sqrt(distance_mm / acceleration_mm_s2):.2f} s at {acceleration_mm_s2:g} mm/s2",
                "check distance, time and acceleration",
                field="--time",
            )
        speed = acceleration_mm_s2 * (time_s - np.sqrt(under)) / 2.0
    relative = float(np.hypot(watch_s / time_s, 1.0 / distance_mm))
    if relative > 0.03:
        doubts.append(f"good to {100 * relative:.0f} % only: a longer distance makes the watch count less")
    return Timed(60.0 * float(speed), 60.0 * float(speed) * relative, tuple(doubts))
