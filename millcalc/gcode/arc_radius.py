"""The centre of an arc that is given by its radius."""

from __future__ import annotations

import math

from millcalc.gcode.arc_case import ArcBlock, Centre
from millcalc.gcode.arc_geometry import LONG_ARC_CHORD, arc_sweep_rad, is_near_half, radius_centre
from millcalc.gcode.tuning import ARC_EQUAL_MM, ARC_HALF_ROUNDING_MM


def centre_by_radius(arc: ArcBlock) -> Centre | None:
    """Find the centre of an arc from its R word.

    arc: The block, with an R word.
    Returns: Centre and radius [mm]; None when there is no such arc, a problem then says why.
    """
    case = arc.case
    size = arc.block.words["R"][0] * case.unit
    sa, sb, ea, eb = case.ends
    if abs(size) == 0.0:
        arc.tell("ARC-09", "the radius of the arc is zero", "write the radius", "R above zero")
        return None
    if abs(ea - sa) < ARC_EQUAL_MM and abs(eb - sb) < ARC_EQUAL_MM:
        arc.tell(
            "ARC-05",
            "the arc ends where it starts and is given by a radius: its centre could lie anywhere",
            "write a full circle with its centre (I, J) instead of R",
            "an end point away from the start",
        )
        return None
    ca, cb, excess = radius_centre(sa, sb, ea, eb, size, case.turn)
    chord = math.hypot(ea - sa, eb - sb)
    if excess > case.tolerance_mm:
        _too_small(arc, abs(size), chord)
        return None
    hangs = _rounding_moves_centre(size, chord, excess)
    if hangs or (not case.half_arcs and is_near_half(arc_sweep_rad(sa, sb, ea, eb, ca, cb, case.turn))):
        arc.tell(
            "ARC-10",
            "the arc is nearly a half or a full circle and is given by a radius: a rounding of 0.0005 mm "
            "moves its centre far more",
            "write the arc with its centre (I, J)",
            "centre words",
            blocks=False,
        )
    return ca, cb, abs(size)


def _too_small(arc: ArcBlock, radius_mm: float, chord_mm: float) -> None:
    shown, least = arc.case.shown, arc.case.shown(chord_mm / 2)
    arc.tell(
        "ARC-06",
        f"radius {shown(radius_mm)} is too small: the end point is {shown(chord_mm)} away",
        f"the radius must be at least {least}; or correct the end point",
        f"R of at least {least}",
        measured=radius_mm,
        limit=chord_mm / 2,
        unit="mm",
    )


def _rounding_moves_centre(size_mm: float, chord_mm: float, excess_mm: float) -> bool:
    """Whether the arc is so near a half or a full circle that its centre hangs on the last decimal."""
    height = math.sqrt(max(size_mm * size_mm - 0.25 * chord_mm * chord_mm, 0.0))
    flat = height < 0.5 * chord_mm * ARC_HALF_ROUNDING_MM / 0.01
    return excess_mm < -1e-6 and (flat or (size_mm < 0.0 and chord_mm < LONG_ARC_CHORD * -size_mm))
