"""Geometry of one arc in its plane: plain arithmetic, used as it is and compiled inside the reader's kernel.

The in-plane axes are called a and b, in the order in which a turn from +a to +b is counter-clockwise seen from
the positive end of the plane's axis: X, Y in G17; Z, X in G18; Y, Z in G19 (NISTIR 6556 section 4.3.6.1).
"""

from __future__ import annotations

import math

PLANE_AXES = ((0, 1, 2), (2, 0, 1), (1, 2, 0))
"""For G17, G18, G19: index of the first and second in-plane axis and of the axis across."""
LONG_ARC_CHORD = 0.2610523844
"""Chord of an arc of 345 degrees, per radius: 2 sin(7.5 deg)."""


def arc_sweep_rad(
    start_a: float, start_b: float, end_a: float, end_b: float, centre_a: float, centre_b: float, turn: int
) -> float:
    """Signed angle an arc sweeps; an end on the start is a full turn.

    start_a, start_b, end_a, end_b, centre_a, centre_b: Points in the plane [mm].
    turn: 1 counter-clockwise, -1 clockwise [-].
    Returns: Sweep, positive counter-clockwise, magnitude above 0 and at most one turn [rad].

    Source: NISTIR 6556, section 3.5.3.2 (an end point equal to the start is a full circle).
    """
    if abs(end_a - start_a) < 1e-7 and abs(end_b - start_b) < 1e-7:
        return turn * 2.0 * math.pi
    sweep = math.atan2(end_b - centre_b, end_a - centre_a) - math.atan2(
        start_b - centre_b, start_a - centre_a
    )
    if turn > 0 and sweep <= 0.0:
        sweep += 2.0 * math.pi
    elif turn < 0 and sweep >= 0.0:
        sweep -= 2.0 * math.pi
    return sweep


def radius_centre(
    start_a: float, start_b: float, end_a: float, end_b: float, radius: float, turn: int
) -> tuple[float, float, float]:
    """Centre of an arc given by its radius; a negative radius asks for the longer arc.

    start_a, start_b, end_a, end_b: End points in the plane, not equal [mm].
    radius: Signed radius [mm].
    turn: 1 counter-clockwise, -1 clockwise [-].
    Returns: centre_a, centre_b: The centre; the middle of the chord when the radius is shorter than half of
      it [mm]. excess: Half the chord minus the radius: above zero the arc cannot reach [mm].

    Source: NISTIR 6556, section 3.5.3.1.
    """
    da = end_a - start_a
    db = end_b - start_b
    chord = math.sqrt(da * da + db * db)
    half = 0.5 * chord
    size = abs(radius)
    height = 0.0
    if size > half:
        height = math.sqrt((size - half) * (size + half))
    side = float(turn) if radius > 0 else -float(turn)
    centre_a = start_a + 0.5 * da - side * height * db / chord
    centre_b = start_b + 0.5 * db + side * height * da / chord
    return centre_a, centre_b, half - size


def is_near_half(sweep_rad: float) -> bool:
    """Whether an arc is near a half circle or near a full one, where its radius places its centre badly.

    sweep_rad: Signed sweep [rad].
    Returns: True from 165 to 195 degrees and above 345 degrees.

    Source: NISTIR 6556, section 3.5.3.1.
    """
    turn = abs(sweep_rad) * 180.0 / math.pi
    return 165.0 <= turn <= 195.0 or turn > 345.0
