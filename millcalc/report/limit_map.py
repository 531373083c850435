"""Depths that limits allow, over something else, as a drawing: what the operating map and the width map share."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc.check.coarse_ways import nice_length
from millcalc.units_show import System, show_depth

Floats = NDArray[np.float64]


LABEL_ROOM = 23.0  # drawing units between two labels, large enough for the letters of a narrow screen
OVER = 1.02  # of the depth allowed; rounding may use this much of it


class LimitDrawing:
    """Limits as SVG paths on a field of 640 by 300: depth upwards, something else to the right.

    across: What goes to the right, rising.
    depths_mm: By title of the limit: the depth at which its usable share is used up [mm].
    order: Titles of the limits, the governing ones first.
    ceiling_mm: Depth at which the first is used up; 0 where none is allowed [mm].
    points: Place to the right, and depth [mm], of each cut shown.
    top_mm: Upper end of the depth axis [mm].
    inch: Whether depths are shown in inches.
    """

    WIDTH, HEIGHT = 640, 300

    def __init__(
        self,
        across: Floats,
        depths_mm: dict[str, Floats],
        order: list[str],
        ceiling_mm: Floats,
        points: tuple[tuple[float, float], ...],
        top_mm: float,
        inch: bool,
    ) -> None:
        self._units: System = "in" if inch else "mm"
        self._across, self._depths, self.top_mm = across, depths_mm, top_mm
        self._low, self._high = float(across[0]), float(across[-1])
        self._at = points[0][0] if points else float(across[len(across) // 2])
        self.area = ""
        if (ceiling_mm > 0).any():
            keep = ceiling_mm > 0
            top = "".join(
                f"L{self.x(s)} {self.y(d)}" for s, d in zip(across[keep], ceiling_mm[keep], strict=True)
            )
            first, last = self.x(across[keep][0]), self.x(across[keep][-1])
            self.area = f"M{first} {self.HEIGHT}{top}L{last} {self.HEIGHT}Z"
        self.lines = [self._line(i, title) for i, title in enumerate(self._shown(order), 1)]
        _spread(self.lines)
        self.points = [(self.x(s), self.y(d)) for s, d in points]
        allowed = np.interp([s for s, _ in points], across, ceiling_mm) if points else np.zeros(0)
        self.over = [d > most * OVER for (_, d), most in zip(points, allowed, strict=True)]
        scale = 25.4 if inch else 1.0
        self.depth_ticks = [(self.y(d * scale), f"{d:g}") for d in ticks(0.0, top_mm / scale) if d > 0]
        self.depth_unit = self._units

    def x(self, value: float) -> float:
        """Drawing coordinate of a place to the right."""
        return round(self.WIDTH * (float(value) - self._low) / (self._high - self._low), 1)

    def y(self, depth_mm: float) -> float:
        """Drawing coordinate of a depth [mm]."""
        return round(self.HEIGHT * (1 - min(float(depth_mm) / self.top_mm, 1.0)), 1)

    def _shown(self, order: list[str]) -> list[str]:
        """Limits that come into the picture, the governing ones first."""
        top = self.top_mm * (1 - 1e-9)
        return [t for t in order if (self._depths[t] < top).any()][:7]

    def _line(self, number: int, title: str) -> dict[str, Any]:
        depth = self._depths[title]
        path = "M" + "L".join(f"{self.x(s)} {self.y(d)}" for s, d in zip(self._across, depth, strict=True))
        here = float(np.interp(self._at, self._across, depth))
        beyond = here >= self.top_mm * (1 - 1e-9)
        return {
            "number": number,
            "title": title,
            "path": path,
            "label_y": self.y(depth[-1]),
            "dash": number,
            "here": ("more than " if beyond else "") + show_depth(here, self._units),
        }


def _spread(lines: list[dict[str, Any]]) -> None:
    """Move the labels at the right end apart."""
    ordered = sorted(lines, key=lambda line: float(line["label_y"]))
    last = -20.0
    for line in ordered:
        line["label_y"] = max(float(line["label_y"]), last + LABEL_ROOM, 8.0)
        last = line["label_y"]
    over = max(0.0, last - 296.0)
    for line in ordered:
        line["label_y"] = round(line["label_y"] - over, 1)


def ticks(low: float, high: float) -> list[float]:
    """Round values between two ends, four to nine of them.

    low, high: The ends.
    Returns: Rising.
    """
    step = nice_length((high - low) / 4)
    first = int(np.ceil(low / step - 1e-9))
    return [round(k * step, 10) for k in range(first, int(np.floor(high / step + 1e-9)) + 1)]
