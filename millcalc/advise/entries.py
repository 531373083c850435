"""Getting into the material: straight plunge, ramp and helix."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from millcalc.advise.solve import Point, feed_no_slower_mm_min
from millcalc.limits.entries import SCRAPING_CHIP, ramp_angle_deg, slot_feed_mm_min
from millcalc.limits.plunge import plunge_feed_mm_min
from millcalc.limits.tooling import Tooling
from millcalc.limits.tuning import PLUNGE_STROKE_PER_DIAMETER, RAMP_FEED_SHARE
from millcalc.mechanics.kinematics import feed_mm_min
from millcalc.units_show import System, depth_to_set_mm, feed_to_set_mm_min


@dataclass(frozen=True, slots=True)
class Entry:
    """Plunge, ramp and helix for a cutter.

    plunge_feed_mm_min: Straight plunge feed [mm/min].
    plunge_allowed: Whether the end of the cutter cuts to the centre.
    stroke_mm: Depth of a straight plunge before a retract [mm].
    ramp_angle_deg, ramp_feed_mm_min: Ramp angle [deg] and feed along the ramp [mm/min].
    helix_bore_mm, helix_pitch_mm, helix_feed_mm_min: Bore [mm], pitch [mm/turn], and feed of the tool
      centre [mm/min].
    """

    plunge_feed_mm_min: float
    plunge_allowed: bool
    stroke_mm: float
    ramp_angle_deg: float
    ramp_feed_mm_min: float
    helix_bore_mm: float
    helix_pitch_mm: float
    helix_feed_mm_min: float


def entry_for(
    tooling: Tooling, point: Point, bore_mm: float | None, units: System = "mm", *, proven: bool = False
) -> Entry:
    """Plunge, ramp and helix that go with a setting.

    tooling: What cuts what.
    point: The setting.
    bore_mm: Diameter of the bore; None takes 1.5 diameters [mm].
    units: ``mm`` or ``in`` for rounding.
    proven: Whether all of each limit may be used.
    Returns: All three ways in.

    Note: Ramp: half the side feed, but never so slow that the chip is thinner than the smallest that cuts.
      Helix: pitch = pi (Dh - D) tan(angle), no deeper per turn than the depth of cut; feed at half the
      normal one (a tool maker's catalogue 2021-22, p. 908). In the solid every point of the cutter moves with its
      centre, so the chip is centre feed / (flutes speed); only a ring milled in an open bore wants less,
      edge feed (Dh - D) / Dh. Bore 1.1 to 1.8 D with a flat end leaves no core (common practice, no
      source).
    """
    diameter = tooling.cutter.diameter_mm
    feed = min(
        slot_feed_mm_min(tooling, point.speed_rpm),
        float(feed_mm_min(point.feed_per_tooth_mm, tooling.cutter.flutes, point.speed_rpm)),
    )
    angle = ramp_angle_deg(tooling)
    z_top = tooling.machine.max_feed_mm_min.z
    plunge = plunge_feed_mm_min(tooling, point.speed_rpm, proven=proven)
    cuts = tooling.thin_chip_mm
    per_mm = tooling.cutter.flutes * point.speed_rpm
    rubs_below = float(feed_mm_min(cuts, tooling.cutter.flutes, point.speed_rpm))
    ramp = max(feed * RAMP_FEED_SHARE, min(rubs_below, feed))
    ramp = min(ramp, z_top / np.sin(np.radians(angle)))
    bore = bore_mm if bore_mm is not None else 1.5 * diameter
    pitch = min(np.pi * (bore - diameter) * np.tan(np.radians(angle)), point.depth_mm)
    return Entry(
        feed_to_set_mm_min(plunge, units) or plunge,
        tooling.cutter.centre_cutting and plunge >= SCRAPING_CHIP * tooling.smallest_chip_mm * per_mm,
        depth_to_set_mm(PLUNGE_STROKE_PER_DIAMETER * diameter, units),
        angle,
        feed_no_slower_mm_min(ramp, min(rubs_below, feed), units),
        bore,
        depth_to_set_mm(pitch, units) or pitch,
        feed_no_slower_mm_min(ramp, min(rubs_below, feed), units),
    )
