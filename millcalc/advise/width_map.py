"""The width map: how deep each limit lets a cut go over its width, at the speed and feed of an advice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from millcalc.advise.limit_curves import Floats, crossing, governing
from millcalc.limits.judge import depth_uses
from millcalc.limits.table import TITLES
from millcalc.units_show import System, show_feed, show_speed

if TYPE_CHECKING:
    from millcalc.advise.result import Advice

WIDTHS = 28  # widths along the map
DEPTHS = 48  # depths tried for each
NARROWEST = 0.02  # share of the diameter at which the map begins


@dataclass(frozen=True)
class WidthMap:
    """Limits over width and depth at one speed and chip load.

    cut: What is held fixed, in words.
    widths_mm: Widths, rising to the cutter's diameter [mm].
    depths_mm: By title of the limit: the depth at which its usable share is used up [mm]; the map's top
      where it is not.
    point: Width and depth of the advice [mm].
    top_mm: Upper end of the depth axis [mm].
    """

    cut: str
    widths_mm: Floats
    depths_mm: dict[str, Floats]
    point: tuple[float, float]
    top_mm: float

    @property
    def ceiling_mm(self) -> Floats:
        """Depth at which the first limit is used up, for each width [mm]."""
        return np.asarray(np.min(np.vstack(list(self.depths_mm.values())), axis=0))

    def governing(self) -> list[str]:
        """Titles of the limits that are the lowest somewhere, then the others."""
        return governing(self.depths_mm, self.ceiling_mm)


def width_map(advice: Advice, units: System = "mm") -> WidthMap:
    """The width map around an advice.

    advice: Settings that were advised or judged, of a cut whose width can be chosen.
    units: ``mm`` or ``in``, for the words.
    Returns: At its speed and chip load; a first cut keeps its reserve of each limit.
    """
    tooling, settings = advice.tooling, advice.settings
    diameter = tooling.cutter.diameter_mm
    widths = np.unique(np.append(np.geomspace(NARROWEST, 1.0, WIDTHS) * diameter, settings.radial_width_mm))
    widths = widths[widths <= diameter * (1 + 1e-9)]
    most = 1.2 * max(tooling.cutter.flute_length_mm, 1.25 * settings.axial_depth_mm)
    depths = np.geomspace(0.01, most, DEPTHS)
    uses = depth_uses(
        tooling,
        advice.request,
        settings.speed_rpm,
        settings.feed_per_tooth_mm,
        depths[None, :],
        widths[:, None],
    )
    found = {TITLES[key]: crossing(depths, use) for key, use in uses.items()}
    here = float(np.interp(settings.radial_width_mm, widths, np.min(np.vstack(list(found.values())), axis=0)))
    top = min(float(depths[-1]), max(2.5 * here, 1.4 * settings.axial_depth_mm))
    fixed = f"{show_speed(settings.speed_rpm)}, {show_feed(settings.feed_mm_min, units)}"
    return WidthMap(
        f"at {fixed}",
        widths,
        {title: np.minimum(values, top) for title, values in found.items()},
        (settings.radial_width_mm, settings.axial_depth_mm),
        top,
    )
