"""Getting into the material: straight plunge, ramp and helix."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from millcalc.advise import tuning
from millcalc.advise.solve import Point
from millcalc.advise.tooling import Tooling
from millcalc.mechanics.kinematics import feed_mm_min
from millcalc.units_show import System, depth_to_set_mm, feed_to_set_mm_min

_SMALL_CUTTER_MM = 3.0


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


def ramp_angle_deg(tooling: Tooling) -> float:
    """Ramp angle to use.

    tooling: What cuts what.
    Returns: The starting angle of the material; the low end for cutters below 3 mm [deg].
    """
    band = tooling.material.ramp_angle_deg
    if tooling.cutter.diameter_mm < _SMALL_CUTTER_MM:
        return band.low
    return band.start if band.start is not None else (band.low + band.high) / 2


def plunge_share(tooling: Tooling) -> float:
    """Straight plunge feed as a share of the side feed.

    tooling: What cuts what.
    Returns: Share; the low end for cutters below 3 mm [-].
    """
    band = tooling.material.plunge_share
    if tooling.cutter.diameter_mm < _SMALL_CUTTER_MM:
        return band.low
    return band.start if band.start is not None else (band.low + band.high) / 2


def slot_feed_mm_min(tooling: Tooling, speed_rpm: float, proven: bool = False) -> float:
    """Full-width feed the entries are measured by.

    tooling: What cuts what.
    speed_rpm: Spindle speed [rev/min].
    proven: Use the upper end of the band.
    Returns: Feed [mm/min].
    """
    _, begin, high = tooling.chip_band_mm("slot")
    return float(feed_mm_min(high if proven else begin, tooling.cutter.flutes, speed_rpm))


def entry_for(tooling: Tooling, point: Point, bore_mm: float | None, units: System = "mm") -> Entry:
    """Plunge, ramp and helix that go with a setting.

    tooling: What cuts what.
    point: The setting.
    bore_mm: Diameter of the bore; None takes 1.5 diameters [mm].
    units: ``mm`` or ``in`` for rounding.
    Returns: All three ways in.

    Note: Ramp: half the side feed, but never so slow that the chip is thinner than the smallest that cuts.
      Helix: pitch = pi (Dh - D) tan(angle), no deeper per turn than the depth of cut; feed at half the
      normal one (Kyocera catalogue 2021-22, p. 908). In the solid every point of the cutter moves with its
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
    plunge = min(feed * plunge_share(tooling), z_top)
    cuts = tooling.smallest_chip_mm / tuning.RUBBING_BUDGET
    rubs_below = float(feed_mm_min(cuts, tooling.cutter.flutes, point.speed_rpm))
    ramp = max(feed * tuning.RAMP_FEED_SHARE, min(rubs_below, feed))
    ramp = min(ramp, z_top / np.sin(np.radians(angle)))
    bore = bore_mm if bore_mm is not None else 1.5 * diameter
    pitch = min(np.pi * (bore - diameter) * np.tan(np.radians(angle)), point.depth_mm)
    return Entry(
        feed_to_set_mm_min(plunge, units) or plunge,
        tooling.cutter.centre_cutting,
        depth_to_set_mm(tuning.PLUNGE_STROKE_PER_DIAMETER * diameter, units),
        angle,
        _to_set(ramp, min(rubs_below, feed), units),
        bore,
        depth_to_set_mm(pitch, units) or pitch,
        _to_set(ramp, min(rubs_below, feed), units),
    )


def _to_set(feed: float, floor: float, units: System) -> float:
    """A feed as a person sets it, rounded down; where that would pass a floor that it holds itself, up [mm/min]."""
    rounded = feed_to_set_mm_min(feed, units) or feed
    if rounded >= floor or feed < floor * (1 - 1e-9):
        return rounded
    step = 1.0 if units == "mm" else 2.54  # 0.1 in/min
    return float(np.ceil(feed / step - 1e-9) * step)
