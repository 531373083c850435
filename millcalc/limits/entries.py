"""What a material allows on the way in: straight down, and on a ramp."""

from __future__ import annotations

from millcalc.limits.tooling import Tooling
from millcalc.mechanics.kinematics import feed_mm_min

_SMALL_CUTTER_MM = 3.0
DRILLS = ("twist drill", "spot drill")
# share of the smallest chip that cuts; a plunge with less is no cut [-]. Common practice, no source
SCRAPING_CHIP = 0.4


def ramp_angle_deg(tooling: Tooling) -> float:
    """Ramp angle to use.

    tooling: What cuts what.
    Returns: The starting angle of the material; the low end for cutters below 3 mm [deg].
    """
    band = tooling.material.ramp_angle_deg
    if tooling.cutter.diameter_mm < _SMALL_CUTTER_MM:
        return band.low
    return band.begin


def plunge_share(tooling: Tooling) -> float:
    """Straight plunge feed as a share of the side feed.

    tooling: What cuts what.
    Returns: Share; the low end for cutters below 3 mm [-].
    """
    band = tooling.material.plunge_share
    if tooling.cutter.diameter_mm < _SMALL_CUTTER_MM:
        return band.low
    return band.begin


def slot_feed_mm_min(tooling: Tooling, speed_rpm: float, proven: bool = False) -> float:
    """Full-width feed the entries are measured by.

    tooling: What cuts what.
    speed_rpm: Spindle speed [rev/min].
    proven: Use the upper end of the band.
    Returns: Feed [mm/min].
    """
    _, begin, high = tooling.chip_band_mm("slot")
    return float(feed_mm_min(high if proven else begin, tooling.cutter.flutes, speed_rpm))
