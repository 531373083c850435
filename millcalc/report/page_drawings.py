"""Drawings of the page as paths and sizes: strips, the scale bar, the drawing on paper, round moments."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from millcalc.check.coarse_ways import nice_length
from millcalc.check.scene import Scene
from millcalc.check.strips import LimitLine, Strip
from millcalc.check.timeline import Timeline
from millcalc.report.page_data import shown_unit
from millcalc.units_show import show_length

STRIP_WIDTH, STRIP_HEIGHT = 900, 72  # drawing units of a strip
PAPER_MM = (180.0, 125.0)  # room for the top view on A4 and Letter
SCALES = (
    0.2,
    0.5,
    1.0,
    2.0,
    2.5,
    5.0,
    10.0,
    20.0,
    50.0,
    100.0,
)  # preferred scales, ISO 5455:1979, and 1 : 2.5


def clock(seconds: float) -> str:
    """A moment or duration as minutes and seconds, hours where there are any.

    seconds: Duration [s].
    Returns: Like ``4:07`` or ``1:02:09``.

    >>> clock(247.2), clock(3729)
    ('4:07', '1:02:09')
    """
    whole = math.floor(seconds + 0.5)  # as the page rounds it, too
    hours, rest = divmod(whole, 3600)
    if hours:
        return f"{hours}:{rest // 60:02d}:{rest % 60:02d}"
    return f"{rest // 60}:{rest % 60:02d}"


class StripDrawing:
    """A strip as SVG paths on a field of 900 by 72.

    strip: What to draw.
    timeline: The program along time.
    inch: Whether lengths are shown in inches.
    """

    def __init__(self, strip: Strip, timeline: Timeline, inch: bool) -> None:
        self.strip = strip
        self.key, self.title, self.basis = strip.key, strip.title, strip.basis
        self.factor, self.unit = shown_unit(strip.unit, inch)
        self._top = strip.top
        high = strip.bands.high
        self.peak = self._show(float(np.nanmax(high)))
        least = self._show(float(np.nanmin(strip.bands.low)))
        self.range = f"{self.peak if least == self.peak else f'{least} to {self.peak}'} {self.unit}"
        self.scale_top = self._show(self._top)
        self.labels = self._labels()
        self.near_top = any(y < 12 for y, _ in self.labels)
        self.near_floor = any(y > 52 for y, _ in self.labels)
        self.band = self._band()
        self.limits = [self._limit(limit) for limit in strip.limits if np.isfinite(limit.values).any()]
        self.over = self._runs(strip.over)
        busy = int(np.isfinite(high).sum())
        self.used = strip.used
        self.over_share = float(strip.over.sum()) / busy if busy else 0.0

    def _labels(self) -> list[tuple[float, str]]:
        """Height and number of each limit line, where they do not cover each other."""
        found: list[tuple[float, str]] = []
        for limit in self.strip.limits:
            good = limit.values[np.isfinite(limit.values)]
            if limit.reference or not len(good) or float(good.max()) > self._top:
                continue
            y = self._y(float(good.max()))
            if all(abs(y - other) >= 12 for other, _ in found):
                found.append((y, self._show(float(good.max()))))
        return found

    def _show(self, value: float) -> str:
        return (
            f"{value * self.factor:.3g}" if abs(value * self.factor) < 1000 else f"{value * self.factor:.0f}"
        )

    def _y(self, value: float) -> float:
        return round(STRIP_HEIGHT * (1 - min(value / self._top, 1.0)), 2)

    def _steps(self, values: NDArray[np.float64]) -> list[tuple[int, int]]:
        """Runs of spans that have a value: first, and one past the last."""
        good = np.concatenate([[False], np.isfinite(values), [False]]).astype(np.int8)
        edge = np.diff(good)
        return list(zip(np.flatnonzero(edge == 1).tolist(), np.flatnonzero(edge == -1).tolist(), strict=True))

    def _walk(self, values: list[float], first: int, width: float, *, back: bool = False) -> str:
        """A stepped line; `back` runs from right to left."""
        order = range(len(values) - 1, -1, -1) if back else range(len(values))
        parts, last = [], None
        for i in order:
            y = self._y(values[i])
            x = (first + i + (0 if back else 1)) * width
            if y != last:
                parts.append(f"V{y:g}H{x:g}")
            else:
                parts[-1] = parts[-1][: parts[-1].rindex("H")] + f"H{x:g}"
            last = y
        return "".join(parts)

    def _band(self) -> str:
        low, high = self.strip.bands.low, self.strip.bands.high
        width = STRIP_WIDTH / len(high)
        parts = []
        for first, end in self._steps(high):
            top, bottom = high[first:end].tolist(), low[first:end].tolist()
            parts.append(
                f"M{first * width:g} {self._y(bottom[0]):g}{self._walk(top, first, width)}"
                f"{self._walk(bottom, first, width, back=True)}Z"
            )
        return "".join(parts)

    def _limit(self, limit: LimitLine) -> dict[str, Any]:
        values = limit.values
        width = STRIP_WIDTH / len(values)
        shown = values <= self._top * (1 + 1e-9)
        masked = np.where(shown, values, np.nan)
        path = "".join(
            f"M{first * width:g} {self._y(float(masked[first])):g}"
            f"{self._walk(masked[first:end].tolist(), first, width)}"
            for first, end in self._steps(masked)
        )
        low, high = float(np.nanmin(values)), float(np.nanmax(values))
        text = (
            self._show(low)
            if math.isclose(low, high, rel_tol=0.005)
            else f"{self._show(low)} to {self._show(high)}"
        )
        return {
            "title": limit.title,
            "path": path,
            "text": text,
            "kind": "reference" if limit.reference else "smallest" if limit.smallest else "greatest",
            "above": not shown[np.isfinite(values)].any(),
        }

    def _runs(self, mask: NDArray[np.bool_]) -> list[tuple[float, float]]:
        width = STRIP_WIDTH / len(mask)
        edge = np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8))
        begin, end = np.flatnonzero(edge == 1).tolist(), np.flatnonzero(edge == -1).tolist()
        return [(a * width, (b - a) * width) for a, b in zip(begin, end, strict=True)]


@dataclass(frozen=True, slots=True)
class ScaleBar:
    """A bar of round length [mm], and its text."""

    length_mm: float
    text: str


def scale_bar(scene: Scene) -> ScaleBar:
    """A bar of a round length, at most a quarter of the top view.

    scene: The top view.
    Returns: Round in the person's unit.
    """
    unit = 25.4 if scene.units == "in" else 1.0
    length = nice_length(scene.width_mm / 4 / unit)
    return ScaleBar(length * unit, f"{length:g} {scene.units}")


@dataclass(frozen=True)
class Paper:
    """The top view on paper.

    width_mm, height_mm: Of the drawing on the paper [mm].
    scale: Millimetres of the part a millimetre of paper [-].
    """

    width_mm: float
    height_mm: float
    scale: float

    @property
    def words(self) -> str:
        """The scale as drawings give it."""
        return f"{1 / self.scale:g} : 1" if self.scale < 1 else f"1 : {self.scale:g}"

    def data(self) -> dict[str, float]:
        """What the script needs: drawing units (mm of the part) of a pixel on paper."""
        return {"unit_mm": self.scale * 25.4 / 96}

    def style(self) -> str:
        """Style that gives the drawing its size on paper, whatever it was printed from."""
        size = f"width: {self.width_mm:.3f}mm; height: {self.height_mm:.3f}mm; max-height: none; max-width: none;"
        return f"@media print {{ #top.view {{ {size} }} }}\n"


def paper_size(scene: Scene) -> Paper:
    """The largest round scale at which the top view fits on the paper.

    scene: The top view.
    Returns: Size and scale.
    """
    scale = next(
        (s for s in SCALES if scene.width_mm / s <= PAPER_MM[0] and scene.height_mm / s <= PAPER_MM[1]),
        SCALES[-1],
    )
    return Paper(scene.width_mm / scale, scene.height_mm / scale, scale)


def moments_along(timeline: Timeline | None) -> list[tuple[float, str]]:
    """Four to eight round moments along the strips.

    timeline: The program along time.
    Returns: Share of the width [-], and text.
    """
    if timeline is None or timeline.total <= 0:
        return []
    total = timeline.total
    if timeline.unit == "s":
        steps = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 18000, 36000, 86400]
        step = next((s for s in steps if total / s <= 8), 864000)
        return [(k * step / total, clock(k * step)) for k in range(int(total / step) + 1)]
    step_mm = nice_length(total / 4)
    return [(k * step_mm / total, show_length(k * step_mm, "mm")) for k in range(int(total / step_mm) + 1)]
