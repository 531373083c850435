"""What acceleration makes of a programmed feed: straight moves, arcs and corners."""

from __future__ import annotations

import numpy as np

from millcalc.mechanics._arrays import Numbers, Result, between, finite, not_negative, positive, result


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


def length_to_reach_mm(
    feed_mm_min: Numbers, acceleration_mm_s2: Numbers, start_mm_min: Numbers = 0.0
) -> Result:
    """Give the distance needed to change from one feed to another: |v^2 - u^2| / (2 a).

    feed_mm_min: Feed v to reach [mm/min].
    acceleration_mm_s2: Acceleration a [mm/s2].
    start_mm_min: Feed u at the start [mm/min].
    Returns: Distance [mm].
    Raises ValueError: If an argument is not finite or out of range.

    >>> length_to_reach_mm(1200.0, 100.0)
    2.0

    Source: Kinematics of constant acceleration.
    """
    end = not_negative("feed_mm_min", feed_mm_min) / 60.0
    start = not_negative("start_mm_min", start_mm_min) / 60.0
    return result(np.abs(end**2 - start**2) / (2.0 * positive("acceleration_mm_s2", acceleration_mm_s2)))


def trapezoid_time_s(
    length_mm: Numbers,
    feed_mm_min: Numbers,
    acceleration_mm_s2: Numbers,
    start_mm_min: Numbers = 0.0,
    end_mm_min: Numbers = 0.0,
) -> Result:
    """Give the time of a move that speeds up, runs and slows down at constant acceleration.

    length_mm: Length of the move [mm].
    feed_mm_min: Programmed feed [mm/min].
    acceleration_mm_s2: Acceleration [mm/s2].
    start_mm_min, end_mm_min: Feed at the start and at the end, at most the programmed one [mm/min].
    Returns: Time; where the move is too short for its end feeds, the time of the one steady change it
      allows [s].
    Raises ValueError: If an argument is not finite or out of range, or an end feed exceeds the programmed
      feed.

    >>> round(trapezoid_time_s(10.0, 600.0, 100.0), 3)
    1.1

    Source: Kinematics of constant acceleration.
    """
    length = not_negative("length_mm", length_mm)
    feed = positive("feed_mm_min", feed_mm_min) / 60.0
    rate = positive("acceleration_mm_s2", acceleration_mm_s2)
    start = not_negative("start_mm_min", start_mm_min) / 60.0
    end = not_negative("end_mm_min", end_mm_min) / 60.0
    if np.any(np.maximum(start, end) > feed * (1.0 + 1e-9)):
        raise ValueError("start_mm_min and end_mm_min must be at most feed_mm_min")
    crest = np.sqrt(rate * length + (start**2 + end**2) / 2.0)
    top = np.minimum(feed, crest)
    ramps = (2.0 * top**2 - start**2 - end**2) / (2.0 * rate)
    time = (2.0 * top - start - end) / rate + np.maximum(length - ramps, 0.0) / feed
    too_short = length < np.abs(end**2 - start**2) / (2.0 * rate)
    mean = np.where(start + end > 0.0, (start + end) / 2.0, 1.0)
    return result(np.where(too_short, length / mean, time))


def corner_feed_mm_min(turn_deg: Numbers, speed_step_mm_min: Numbers) -> Result:
    """Give the feed through a corner at which the velocity jumps by no more than a step: dv / (2 sin(turn/2)).

    turn_deg: Change of direction, 0 for straight on, 180 for a reversal [deg].
    speed_step_mm_min: Jump of velocity the drives accept at once [mm/min].
    Returns: Feed through the corner; infinite straight on [mm/min].
    Raises ValueError: If an argument is not finite or out of range.

    >>> round(corner_feed_mm_min(90.0, 300.0))
    212

    Source: Vector difference of two velocities of equal size.
    """
    turn = np.radians(between("turn_deg", turn_deg, 0.0, 180.0))
    step = not_negative("speed_step_mm_min", speed_step_mm_min)
    jump = 2.0 * np.sin(turn / 2.0)
    return result(np.where(jump > 0.0, step / np.where(jump > 0.0, jump, 1.0), np.inf))


def fillet_radius_mm(turn_deg: Numbers, tolerance_mm: Numbers) -> Result:
    """Give the radius of the fillet that cuts a corner by no more than a path tolerance.

    turn_deg: Change of direction, 0 for straight on [deg].
    tolerance_mm: Largest distance of the fillet from the corner [mm].
    Returns: Radius t / (1/cos(turn/2) - 1); infinite straight on, 0 for a reversal [mm].
    Raises ValueError: If an argument is not finite or out of range.

    Note: With :func:`arc_feed_limit_mm_min` this is the feed a corner allows inside a path tolerance.

    >>> round(fillet_radius_mm(90.0, 0.05), 3)
    0.121

    Source: Plane geometry of a circle tangent to two lines.
    """
    half = np.radians(between("turn_deg", turn_deg, 0.0, 180.0)) / 2.0
    tolerance = not_negative("tolerance_mm", tolerance_mm)
    cosine = np.cos(half)
    gap = 1.0 - cosine
    radius = tolerance * cosine / np.where(gap > 0.0, gap, 1.0)
    return result(np.where(gap > 0.0, radius, np.inf))


def direction_limit(
    along_x: Numbers, along_y: Numbers, along_z: Numbers, limit_x: Numbers, limit_y: Numbers, limit_z: Numbers
) -> Result:
    """Give what the axes together allow along a direction when each has its own limit.

    along_x, along_y, along_z: Components of the direction, of any length above 0 [mm].
    limit_x, limit_y, limit_z: Feed, acceleration or force limit of each axis, in one unit [any].
    Returns: Smallest limit_i / |u_i| over the axes that move, u the unit direction [any].
    Raises ValueError: If an argument is not finite, a limit is not positive, or the direction has no
      length.

    >>> round(direction_limit(1.0, 1.0, 0.0, 3000.0, 2000.0, 600.0))
    2828

    Source: Components of a vector.
    """
    parts = [finite(n, v) for n, v in (("along_x", along_x), ("along_y", along_y), ("along_z", along_z))]
    limits = [positive(n, v) for n, v in (("limit_x", limit_x), ("limit_y", limit_y), ("limit_z", limit_z))]
    size = np.sqrt(parts[0] ** 2 + parts[1] ** 2 + parts[2] ** 2)
    if np.any(size == 0.0):
        raise ValueError("along_x, along_y and along_z must not all be 0")
    shares = [np.abs(part) / (size * limit) for part, limit in zip(parts, limits, strict=True)]
    return result(1.0 / np.maximum(np.maximum(shares[0], shares[1]), shares[2]))
