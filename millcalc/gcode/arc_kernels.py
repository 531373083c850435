"""The kernel that solves the arc of a plain block; what is not plain is left to the plain reader."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode import state as at
from millcalc.gcode.arc_geometry import LONG_ARC_CHORD, arc_sweep_rad, is_near_half, radius_centre
from millcalc.gcode.state import Rules
from millcalc.gcode.tuning import (
    ARC_EQUAL_MM,
    ARC_HALF_ROUNDING_MM,
    ARC_ROUNDING_MM,
    ARC_ROUNDING_SHARE,
    ARC_TOLERANCE_IN,
    ARC_TOLERANCE_MM,
    FARTHEST_MM,
)
from millcalc.kernels import inner_kernel

Point = tuple[float, float, float]
ARC_ODD, ARC_FINE, ARC_ROUNDED, ARC_FLAT = 0, 1, 2, 3
NAN = float("nan")

sweep_of = inner_kernel(arc_sweep_rad)
centre_of = inner_kernel(radius_centre)
near_half = inner_kernel(is_near_half)


@inner_kernel
def plain_arc(
    word: NDArray[np.float64],
    have: np.int64,
    rules: Rules,
    plane: int,
    turn: int,
    places: tuple[Point, Point, Point],
    unit: float,
    absolute: bool,
) -> tuple[int, float, float, float, float, float]:
    """Solve an arc from its words.

    word float64 (26,): values by letter, read only; have: bits of the letters present; rules int64, read only;
    places: start, end and shift in part coordinates.  Returns verdict (ARC_ODD: not plain; ARC_ROUNDED, ARC_FLAT:
    plain but to be reported), centre x, y, z [mm], sweep [rad], length [mm].
    """
    here, there, shift = places
    if plane == 17:
        a, b, t = 0, 1, 2
    elif plane == 18:
        a, b, t = 2, 0, 1
    else:
        a, b, t = 1, 2, 0
    odd = (ARC_ODD, NAN, NAN, NAN, NAN, NAN)
    sa, sb, ea, eb = here[a], here[b], there[a], there[b]
    by_radius = (have >> 17) & 1 == 1
    named = (have >> (23 + a)) & 1 == 1 or (have >> (23 + b)) & 1 == 1
    has_a = (have >> (8 + a)) & 1 == 1
    has_b = (have >> (8 + b)) & 1 == 1
    has_t = (have >> (8 + t)) & 1 == 1
    if not named and (rules[at.R_ARC_END] != 0 or by_radius):
        return odd
    verdict = ARC_FINE
    if by_radius:
        reach = word[17] * unit
        same = abs(ea - sa) < ARC_EQUAL_MM and abs(eb - sb) < ARC_EQUAL_MM
        if has_a or has_b or has_t or same or not abs(reach) > 0.0:
            return odd
        ca, cb, excess = centre_of(sa, sb, ea, eb, reach, turn)
        if not excess <= 0.0:
            return odd
        chord = math.sqrt((ea - sa) ** 2 + (eb - sb) ** 2)
        height = math.sqrt(max(reach * reach - 0.25 * chord * chord, 0.0))
        low = height < 0.5 * chord * ARC_HALF_ROUNDING_MM / 0.01
        if excess < -1e-6 and (low or (reach < 0.0 and chord < LONG_ARC_CHORD * -reach)):
            verdict = ARC_FLAT
        radius = abs(reach)
    else:
        if has_t and (word[8 + t] != 0.0 or rules[at.R_IDLE_CENTRE] == 0):
            return odd
        if not (has_a or has_b) or (absolute and not (has_a and has_b)):
            return odd
        ca = word[8 + a] * unit if has_a else 0.0
        cb = word[8 + b] * unit if has_b else 0.0
        ca += shift[a] if absolute else sa
        cb += shift[b] if absolute else sb
        radius = math.sqrt((sa - ca) ** 2 + (sb - cb) ** 2)
        other = math.sqrt((ea - ca) ** 2 + (eb - cb) ** 2)
        gap = abs(other - radius)
        if not (radius > 0.0 and other > 0.0):
            return odd
        if gap > (ARC_TOLERANCE_MM if unit == 1.0 else ARC_TOLERANCE_IN * 25.4) + 1e-9:
            if not gap <= max(ARC_ROUNDING_MM, ARC_ROUNDING_SHARE * radius):
                return odd
            verdict = ARC_ROUNDED
    sweep = sweep_of(sa, sb, ea, eb, ca, cb, turn)
    if not abs(sweep) >= 0.0:
        return odd
    if by_radius and rules[at.R_HALF_ARCS] == 0 and near_half(sweep):
        verdict = ARC_FLAT
    climb = there[t] - here[t]
    length = math.sqrt((radius * sweep) ** 2 + climb * climb)
    if length > FARTHEST_MM:
        return odd
    if t == 2:
        return verdict, ca, cb, here[2], sweep, length
    if t == 1:
        return verdict, cb, here[1], ca, sweep, length
    return verdict, here[0], ca, cb, sweep, length
