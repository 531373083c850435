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


def positive(name: str, value: float, unit: str) -> None:
    """Refuse what no stopwatch or rule shows.

    name, unit: Of the option, and of its number.
    value: Number [unit].
    Raises InputError: Zero, negative, or beyond any machine.
    """
    if not _SMALLEST <= value <= _LARGEST:
        accepted = f"a number from {_SMALLEST:g} to {_LARGEST:g}"
        raise InputError(f"{value:g} {unit}".strip(), accepted, field=f"--{name}")


_SMALLEST, _LARGEST = 1e-3, 1e6  # of mm, s, mm/min and moves: beyond any household test; estimate


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
        positive(name, value, unit)
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
        positive(name, value, unit)
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
