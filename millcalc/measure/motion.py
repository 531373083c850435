"""Feed and acceleration with a stopwatch."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from millcalc.errors import InputError
from millcalc.measure import tuning


@dataclass(frozen=True, slots=True)
class Timed:
    """A value found with a watch, and its standard uncertainty, both in the unit of the quantity."""

    value: float
    sd: float
    doubts: tuple[str, ...] = ()


def _positive(name: str, value: float, unit: str) -> None:
    if not _SMALLEST <= value <= _LARGEST:
        accepted = f"a number from {_SMALLEST:g} to {_LARGEST:g}"
        raise InputError(f"{value:g} {unit}".strip(), accepted, field=f"--{name}")


_SMALLEST, _LARGEST = 1e-3, 1e6  # of mm, s, mm/min and moves: beyond any household test; estimate


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
    _positive("distance", distance_mm, "mm")
    _positive("time", time_s, "s")
    doubts: list[str] = []
    if acceleration_mm_s2 is None:
        speed = distance_mm / time_s
    else:
        _positive("acceleration", acceleration_mm_s2, "mm/s2")
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


def acceleration_from_short_moves(
    distance_mm: float,
    moves: int,
    time_s: float,
    asked_feed_mm_min: float | None = None,
    watch_s: float = tuning.STOPWATCH_S,
) -> Timed:
    """Acceleration from many short moves that never reach the feed asked for: a = 4 d N^2 / T^2.

    distance_mm: Length of one move [mm].
    moves: Number of moves, there and back counted as two [-].
    time_s: Time for all of them [s].
    asked_feed_mm_min: Feed in the program, to see that it was never reached [mm/min].
    watch_s: Standard uncertainty of the time [s].
    Returns: Acceleration [mm/s2].
    Raises InputError: If a number is impossible or the feed asked for was reached.

    Note: Each move is a triangle of speed from rest to rest. A controller that rounds jerk, or pauses
      between moves, makes this value too small: the careful side.

    >>> acceleration_from_short_moves(2.0, 200, 40.0).value
    200.0
    """
    for name, value, unit in (("distance", distance_mm, "mm"), ("moves", moves, ""), ("time", time_s, "s")):
        _positive(name, value, unit)
    value = 4.0 * distance_mm * moves**2 / time_s**2
    peak_mm_min = 60.0 * float(np.sqrt(value * distance_mm))
    if asked_feed_mm_min is not None and peak_mm_min >= 0.98 * asked_feed_mm_min:
        raise InputError(
            f"a top speed of {peak_mm_min:.0f} mm/min with {asked_feed_mm_min:.0f} mm/min asked for",
            "a feed that the short move never reaches",
            "ask for a higher feed or make the move shorter, and time it again",
            field="--asked",
        )
    relative = 2.0 * watch_s / time_s
    doubts = (f"good to {100 * relative:.0f} % only: more moves make the watch count less",)
    return Timed(value, value * relative, doubts if relative > 0.05 else ())


def acceleration_from_long_moves(
    distance_mm: float, moves: int, time_s: float, feed_mm_min: float, watch_s: float = tuning.STOPWATCH_S
) -> Timed:
    """Acceleration from moves that do reach the feed: a = v / (T/N - d/v).

    distance_mm: Length of one move [mm].
    moves: Number of moves [-].
    time_s: Time for all of them [s].
    feed_mm_min: Feed that is reached [mm/min].
    watch_s: Standard uncertainty of the time [s].
    Returns: Acceleration [mm/s2].
    Raises InputError: If the time is too short for the distance at that feed, or the feed was not reached.

    >>> round(acceleration_from_long_moves(200.0, 20, 84.0, 3000.0).value)
    250
    """
    for name, value, unit in (
        ("distance", distance_mm, "mm"),
        ("moves", moves, ""),
        ("time", time_s, "s"),
        ("feed", feed_mm_min, "mm/min"),
    ):
        _positive(name, value, unit)
    speed = feed_mm_min / 60.0
    ramps_s = time_s / moves - distance_mm / speed
    if ramps_s <= 0:
        raise InputError(
            f"{time_s / moves:.3f} s a move",
            f"more than {distance_mm / speed:.3f} s, which {distance_mm:g} mm takes at {feed_mm_min:g} mm/min",
            "check the time, or measure the real feed first",
            field="--time",
        )
    value = speed / ramps_s
    if speed**2 / value > distance_mm:
        raise InputError(
            f"{distance_mm:g} mm, in which {feed_mm_min:g} mm/min is not reached at {value:.0f} mm/s2",
            f"moves longer than {speed**2 / value:.0f} mm",
            "make the moves longer, or use the short-move method",
            field="--distance",
        )
    relative = watch_s / moves / ramps_s
    doubts = (f"good to {100 * relative:.0f} % only: more moves, or a higher feed, or the short-move method",)
    return Timed(value, value * relative, doubts if relative > 0.1 else ())
