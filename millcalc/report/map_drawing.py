"""Operating map and width map as lines and labels of a drawing."""

from __future__ import annotations

from typing import TYPE_CHECKING

from millcalc.report.limit_map import LimitDrawing, ticks

if TYPE_CHECKING:
    from millcalc.advise.operating_map import OperatingMap
    from millcalc.advise.width_map import WidthMap


class MapDrawing(LimitDrawing):
    """An operating map as SVG paths on a field of 640 by 300.

    found: The map.
    inch: Whether depths are shown in inches.
    """

    def __init__(self, found: OperatingMap, inch: bool) -> None:
        speeds = found.speeds_rpm
        super().__init__(
            speeds, found.depths_mm, found.governing(), found.ceiling_mm, found.points, found.top_mm, inch
        )
        self.map = found
        self.verticals = [(name, self.x(s), f"{s:.0f}") for name, s in found.verticals]
        self.speed_ticks = [(self.x(s), f"{s:.0f}") for s in ticks(float(speeds[0]), float(speeds[-1]))]


class WidthDrawing(LimitDrawing):
    """A width map as SVG paths on a field of 640 by 300.

    found: The map.
    inch: Whether lengths are shown in inches.
    """

    def __init__(self, found: WidthMap, inch: bool) -> None:
        widths, scale = found.widths_mm, 25.4 if inch else 1.0
        super().__init__(
            widths, found.depths_mm, found.governing(), found.ceiling_mm, (found.point,), found.top_mm, inch
        )
        self.map = found
        low, high = float(widths[0]) / scale, float(widths[-1]) / scale
        self.width_ticks = [(self.x(w * scale), f"{w:g}") for w in ticks(low, high)]
