"""The operating map: which depth each limit allows over spindle speed, where all of them hold, and where you are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.advise.limit_curves import crossing, governing
from millcalc.limits.judge import depth_uses
from millcalc.limits.request import CutRequest
from millcalc.limits.table import TITLES
from millcalc.limits.tooling import Tooling
from millcalc.units_show import System, show_chip_load, show_length

if TYPE_CHECKING:
    from millcalc.advise.result import Advice

Floats = NDArray[np.float64]
SPEEDS = 80  # speeds along the map
DEPTHS = 90  # depths tried for each


@dataclass(frozen=True)
class OperatingMap:
    """Limits over speed and depth at one chip load and width.

    title, cut: What cuts what, and what is held fixed, in words.
    speeds_rpm: Speeds, rising [rev/min].
    depths_mm: By title of the limit: the depth at which its usable share is used up [mm]; the map's top
      where it is not.
    verticals: Limits that do not depend on the depth: name and speed [rev/min].
    allowed_rpm: Lowest and highest speed at which those hold [rev/min].
    points: Speed [rev/min] and depth [mm] of your cut, or of the program's.
    top_mm: Upper end of the depth axis [mm].
    holds_always: What does not hold at any speed and depth; empty when nothing.
    """

    title: str
    cut: str
    speeds_rpm: Floats
    depths_mm: dict[str, Floats]
    verticals: tuple[tuple[str, float], ...]
    allowed_rpm: tuple[float, float]
    points: tuple[tuple[float, float], ...]
    top_mm: float
    holds_always: str = ""

    @property
    def ceiling_mm(self) -> Floats:
        """Depth at which the first limit is used up, for each speed [mm]; 0 outside the allowed speeds."""
        lowest = np.min(np.vstack(list(self.depths_mm.values())), axis=0)
        inside = (self.speeds_rpm >= self.allowed_rpm[0] * (1 - 1e-9)) & (
            self.speeds_rpm <= self.allowed_rpm[1] * (1 + 1e-9)
        )
        return np.where(inside & (not self.holds_always), lowest, 0.0)

    def governing(self) -> list[str]:
        """Titles of the limits that are the lowest somewhere within the allowed speeds, then the others."""
        return governing(self.depths_mm, self.ceiling_mm)


def make_map(
    tooling: Tooling,
    request: CutRequest,
    feed_per_tooth_mm: float,
    width_mm: float,
    points: tuple[tuple[float, float], ...],
    units: System = "mm",
) -> OperatingMap:
    """Compute an operating map.

    tooling: What cuts what.
    request: Kind of cut; a first cut keeps its reserve of each limit.
    feed_per_tooth_mm, width_mm: Chip load and width of cut, held fixed: the feed grows with the speed [mm].
    points: Speed [rev/min] and depth [mm] to show.
    units: ``mm`` or ``in``, for the words.
    Returns: The map.
    """
    speeds, verticals, allowed = _speeds(tooling, feed_per_tooth_mm, points)
    reach = 1.5 * max([depth for _, depth in points] or [0.1])
    most = max(tooling.cutter.flute_length_mm, tooling.stickout_mm, reach)
    depths = np.geomspace(0.01, most * 1.2, DEPTHS)
    uses = depth_uses(
        tooling, request, speeds[:, None], feed_per_tooth_mm, depths[None, :], np.full((1, 1), width_mm)
    )
    found = {TITLES[key]: crossing(depths, uses[key]) for key in uses}
    ceiling = np.min(np.vstack(list(found.values())), axis=0)
    # high enough for the second and third limit, unless they lie far above
    third = sorted(float(np.median(values)) for values in found.values())[2]
    top = max(1.35 * float(np.max(ceiling)), 1.25 * max([depth for _, depth in points] or [0.0]))
    top = max(top, min(1.15 * third, 4.0 * float(np.max(ceiling))))
    top = min(top, float(depths[-1]))
    reserve = "all of each limit" if request.proven else "the first cut's share of each limit"
    slot = width_mm >= tooling.cutter.diameter_mm * 0.999
    wide = "full width" if slot else f"width {show_length(width_mm, units)}"
    return OperatingMap(
        f"{tooling.cutter.title} in {tooling.material.title}",
        f"{request.cut}, {wide}, chip load {show_chip_load(feed_per_tooth_mm, units)}: {reserve} may be used",
        speeds,
        {title: np.minimum(values, top) for title, values in found.items()},
        verticals,
        allowed,
        points,
        top,
        _chip_fault(tooling, request, feed_per_tooth_mm, width_mm),
    )


def _chip_fault(tooling: Tooling, request: CutRequest, feed_per_tooth_mm: float, width_mm: float) -> str:
    """Whether the chip itself is outside its limits, at any speed and depth."""
    from millcalc.mechanics.chip import max_chip_mm

    diameter = tooling.cutter.diameter_mm
    chip = float(max_chip_mm(feed_per_tooth_mm, min(width_mm, diameter), diameter))
    if chip < tooling.smallest_chip_mm * (1 - 1e-9):
        return "the chip is thinner than what still cuts: no speed and no depth is good"
    if chip > tooling.chip_band_mm(request.cut)[2] * (1 + 1e-9):
        return "the chip is thicker than the band: no speed and no depth is good"
    return ""


def _speeds(
    tooling: Tooling, feed_per_tooth_mm: float, points: tuple[tuple[float, float], ...]
) -> tuple[Floats, tuple[tuple[str, float], ...], tuple[float, float]]:
    """Speeds of the map, the limits of speed, and the speeds between them."""
    from millcalc.mechanics.kinematics import spindle_speed_rpm

    low, high = tooling.lowest_rpm, tooling.highest_rpm
    verticals = [("lowest speed", low), ("highest speed", high)]
    band = tooling.speed_band_m_min
    if band is not None:
        verticals.append(("cutting speed", float(spindle_speed_rpm(band.high, tooling.cutter.diameter_mm))))
    feed = tooling.machine.max_feed_mm_min
    verticals.append(("top feed", min(feed.x, feed.y) / (feed_per_tooth_mm * tooling.cutter.flutes)))
    most = min(speed for name, speed in verticals if name != "lowest speed")
    given = [speed for speed, _ in points]
    first = 0.92 * min([low, *given])
    last = 1.06 * max([high, *given])
    speeds = np.unique(np.concatenate([np.linspace(first, last, SPEEDS), [low, min(most, last)]]))
    shown = tuple((name, speed) for name, speed in verticals if first <= speed <= last)
    return speeds, shown, (low, max(most, low) if most >= low else -1.0)


def advice_map(advice: Advice, units: System = "mm") -> OperatingMap:
    """The operating map around an advice.

    advice: Settings that were advised or judged, of any cut but drilling and plunging.
    units: ``mm`` or ``in``, for the words.
    Returns: At its chip load and width.
    """
    settings = advice.settings
    return make_map(
        advice.tooling,
        advice.request,
        settings.feed_per_tooth_mm,
        settings.radial_width_mm,
        ((settings.speed_rpm, settings.axial_depth_mm),),
        units,
    )
