"""What acceleration makes of a programmed feed: straight moves, arcs and corners."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import Numbers, Result, not_negative, positive, result


def reachable_feed_mm_min(length_mm: Numbers, acceleration_mm_s2: Numbers) -> Result:
    """Give the highest feed a move from rest to rest can touch: v = sqrt(a L).

    length_mm: Length L of the move [mm].
    acceleration_mm_s2: Acceleration a, the same up and down [mm/s2].
    Returns: Feed in the middle of the move [mm/min].
    Raises ValueError: If an argument is not finite or out of range.

    Note: Constant acceleration; a controller that limits jerk or looks ahead over few lines stays lower.

    >>> round(reachable_feed_mm_min(0.5, 100.0))
    424

    Source: Kinematics of constant acceleration.
    """
    length = not_negative("length_mm", length_mm)
    return result(60.0 * np.sqrt(length * positive("acceleration_mm_s2", acceleration_mm_s2)))


def arc_feed_limit_mm_min(path_radius_mm: Numbers, acceleration_mm_s2: Numbers) -> Result:
    """Give the feed at which an arc needs all the acceleration: v = sqrt(a r).

    path_radius_mm: Radius r of the path of the centre [mm].
    acceleration_mm_s2: Acceleration a of the weaker axis [mm/s2].
    Returns: Feed limit [mm/min].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(arc_feed_limit_mm_min(2.0, 300.0))
    1470

    Source: Centripetal acceleration v^2 / r.
    """
    radius = not_negative("path_radius_mm", path_radius_mm)
    return result(60.0 * np.sqrt(radius * positive("acceleration_mm_s2", acceleration_mm_s2)))
