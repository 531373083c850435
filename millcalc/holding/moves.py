"""The smallest move that clears a screw or clamp."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from millcalc.holding import tuning
from millcalc.holding.result import Move

Floats = NDArray[np.float64]
Room = Callable[[Floats], Floats]
STEP_MM = 0.01  # mm; how close to the true boundary a move ends, on the clear side
MOST_STEPS = 400  # steps of one search; a way that needs more grazes along something and is given up
DIRECTIONS = 120  # directions first tried
ROUND_MM = 0.1  # mm; moves are rounded outwards to this where that stays clear


def travel_mm(room: Room, start_mm: Floats, directions: Floats, most_mm: float) -> Floats:
    """How far one must go in each direction until there is room.

    room: Room at places (m, 2), negative where something is in the way; it changes by at most 1 mm a
      millimetre [mm].
    start_mm: Where it stands [mm].
    directions: Unit vectors [-].
    most_mm: Farthest move worth looking at [mm].
    Returns: Distances; infinity where there is no room within `most_mm` [mm].

    Note: A lack of room of s cannot be cured by a move shorter than s, so each step of that length passes
      no clear place: what is found is the first one, to 0.01 mm.
    """
    gone = np.zeros(len(directions))
    found = np.zeros(len(directions), bool)
    active = np.arange(len(directions))
    for _ in range(MOST_STEPS):
        if not len(active):
            break
        there = room(start_mm + gone[active, None] * directions[active])
        found[active[there >= 0.0]] = True
        active, lack = active[there < 0.0], -there[there < 0.0]
        gone[active] += np.maximum(lack, STEP_MM)
        active = active[gone[active] <= most_mm]
    return np.where(found, gone, np.inf)


def smallest_move(room: Room, start_mm: tuple[float, float], most_mm: float | None = None) -> Move | None:
    """The smallest move in any direction that gives room.

    room: Room at places (m, 2) [mm].
    start_mm: Where it stands [mm].
    most_mm: Farthest move worth looking at; None takes the usual one [mm].
    Returns: The move, its end rounded to 0.1 mm where that is clear; None when there is none.

    Note: Directions every 3 degrees, then finer about the best: within a few hundredths of a millimetre of
      the smallest.
    """
    start = np.asarray(start_mm, dtype=np.float64)
    most = tuning.SCREWS_MOVE_MOST_MM if most_mm is None else most_mm
    angles = np.arange(DIRECTIONS) * (2 * math.pi / DIRECTIONS)
    best_angle, best = 0.0, math.inf
    width = 2 * math.pi / DIRECTIONS
    for _ in range(4):
        found = travel_mm(room, start, np.column_stack([np.cos(angles), np.sin(angles)]), min(most, best))
        k = int(np.argmin(found))
        if found[k] < best:
            best, best_angle = float(found[k]), float(angles[k])
        if not math.isfinite(best):
            return None
        angles = best_angle + np.linspace(-width, width, 21)
        width /= 10
    end = start + best * np.array([math.cos(best_angle), math.sin(best_angle)])
    around = np.round(end / ROUND_MM)[None, :] + np.stack(
        np.meshgrid([-1.0, 0.0, 1.0], [-1.0, 0.0, 1.0]), axis=-1
    ).reshape(-1, 2)
    rounded = around * ROUND_MM
    rounded = rounded[np.argsort(np.hypot(*(rounded - start).T), kind="stable")]
    clear = np.flatnonzero(room(rounded) >= 0.0)
    if len(clear):
        end = rounded[clear[0]]
    return Move(float(end[0] - start[0]), float(end[1] - start[1]), (float(end[0]), float(end[1])))


def axis_moves(room: Room, start_mm: tuple[float, float], most_mm: float | None = None) -> tuple[Move, ...]:
    """The smallest moves along X and along Y that give room, and how far they may go on.

    room: Room at places (m, 2) [mm].
    start_mm: Where it stands [mm].
    most_mm: Farthest move worth looking at; None takes the usual one [mm].
    Returns: Shortest first; up to four.
    """
    start = np.asarray(start_mm, dtype=np.float64)
    most = tuning.SCREWS_MOVE_MOST_MM if most_mm is None else most_mm
    ways = np.array([[1.0, 0.0], [-1.0, 0.0], [0.0, 1.0], [0.0, -1.0]])
    found = []
    for way, distance in zip(ways, travel_mm(room, start, ways, most), strict=True):
        if not math.isfinite(distance):
            continue
        axis = 0 if way[0] else 1
        sign = float(way[axis])
        value = float(start[axis] + sign * distance)
        outwards = (math.ceil if sign > 0 else math.floor)(round(value / ROUND_MM, 6)) * ROUND_MM
        end = start.copy()
        end[axis] = outwards
        if float(room(end[None, :])[0]) < 0.0:
            end[axis] = value
        until = _until(room, end, way, most)
        moved = end - start
        found.append(
            Move(float(moved[0]), float(moved[1]), (float(end[0]), float(end[1])), float(until[axis]))
        )
    return tuple(sorted(found, key=lambda move: abs(move.dx_mm) + abs(move.dy_mm)))


def _until(room: Room, start: Floats, way: Floats, most: float) -> Floats:
    """The last place with room on the way on; rounded inwards to 0.1 mm."""
    gone = 0.0
    for _ in range(MOST_STEPS):
        if gone >= most:
            break
        there = float(room((start + gone * way)[None, :])[0])
        if there < 0.0:
            gone = max(0.0, gone - STEP_MM)
            break
        gone += max(min(there, most), STEP_MM)
    end = start + min(gone, most) * way
    axis = 0 if way[0] else 1
    inwards = math.floor if way[axis] > 0 else math.ceil
    end[axis] = inwards(round(float(end[axis]) / ROUND_MM, 6)) * ROUND_MM
    # rounded back behind the start: it may go on no further
    return start.copy() if (end[axis] - start[axis]) * way[axis] < 0 else end
