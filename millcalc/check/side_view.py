"""The side view: a section through stock and board, and the cutter that stands in it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.check.scene import Picture, Scene

if TYPE_CHECKING:
    from millcalc.preflight.context import Context

LEAST_SHARE = 0.07  # the stock is drawn at least this high, as a share of the view's width
TALLEST_SHARE = 0.42  # and the view at most this high


@dataclass(frozen=True, slots=True)
class Silhouette:
    """A cutter from the side [mm]; 0 for what is unknown."""

    number: int
    diameter_mm: float
    flute_mm: float
    shank_mm: float
    stickout_mm: float
    nut_diameter_mm: float
    nut_length_mm: float
    point_mm: float


@dataclass(frozen=True, slots=True)
class HoldMet:
    """A screw or clamp in the section: what the plane meets of it by its true chord, or what stands behind [mm]."""

    name: str
    x_mm: float
    half_mm: float
    low_mm: float
    high_mm: float
    shank_mm: float
    behind: bool


@dataclass(frozen=True)
class SideView:
    """A section along X.

    x_min, x_max, z_min, z_max: What it shows [mm].
    stretch: Heights are drawn this many times as large as lengths [-].
    top_mm, bottom_mm, board_mm: Stock top, stock bottom, bottom of the board (equal to the stock's where
      unknown) [mm].
    below: What lies under the board.
    lowest_mm, travel_mm: Lowest point of the program, and the height at which it travels [mm].
    cutters: The job's cutters.
    y_mm: Where the section is when nothing else is chosen [mm].
    """

    x_min: float
    x_max: float
    z_min: float
    z_max: float
    stretch: float
    top_mm: float
    bottom_mm: float
    board_mm: float
    below: str
    lowest_mm: float | None
    travel_mm: float | None
    cutters: tuple[Silhouette, ...]
    y_mm: float

    def z(self, height_mm: float) -> float:
        """Height as it is drawn, downwards.

        height_mm: Height in part coordinates [mm].
        Returns: Coordinate in the drawing [mm].
        """
        return -height_mm * self.stretch

    @property
    def drawn_height_mm(self) -> float:
        """Height of the drawing [mm]."""
        return (self.z_max - self.z_min) * self.stretch

    def met(self, scene: Scene) -> tuple[HoldMet, ...]:
        """Screws and clamps that the section meets, and those behind it; what stands in front is cut away.

        scene: The top view.
        Returns: Screws first.
        """
        found = []
        for k in scene.screws:
            off = self.y_mm - k.y_mm
            half = math.sqrt(max(k.head_mm**2 - off**2, 0.0))
            shank = math.sqrt(max(k.shank_mm**2 - off**2, 0.0))
            if half > 0 or off < 0:
                found.append(self._hold(k.name, k.x_mm, half or k.head_mm, k.top_mm, shank, behind=half <= 0))
        for c in scene.clamps:
            inside = c.y_min <= self.y_mm <= c.y_max
            if inside or c.y_min > self.y_mm:
                middle, half = (c.x_min + c.x_max) / 2, (c.x_max - c.x_min) / 2
                found.append(self._hold(c.name, middle, half, c.top_mm, 0.0, behind=not inside))
        return tuple(found)

    def _hold(self, name: str, x: float, half: float, top: float, shank: float, *, behind: bool) -> HoldMet:
        high = top if math.isfinite(top) and top < 1e9 else self.top_mm + 4.0
        return HoldMet(name, x, half, min(self.top_mm, high), high, shank, behind)

    def stock_path(self, finished: Picture | None, y_mm: float) -> str:
        """The stock's section as SVG path data.

        finished: What is left of the stock; None draws it uncut.
        y_mm: Where the section is [mm].
        Returns: Closed outlines, one for each standing part.
        """
        if finished is None:
            row = np.full(1, 255, np.uint8)
        else:
            ny = finished.levels.shape[0]
            at = int((y_mm - finished.y_min) / (finished.y_max - finished.y_min) * ny)
            row = finished.levels[min(max(at, 0), ny - 1)]
        left, right = (finished.x_min, finished.x_max) if finished else (self.x_min, self.x_max)
        return section_path(row, left, right, self.z(self.bottom_mm), self.z(self.top_mm))


def section_path(row: NDArray[np.uint8], left: float, right: float, bottom: float, top: float) -> str:
    """One row of levels as closed outlines.

    row: Levels along the section, 0 cut through [-].
    left, right: Ends of the row [mm].
    bottom, top: Drawing coordinates of levels 0 and 255 [mm].
    Returns: SVG path data.
    """
    step = (right - left) / len(row)
    parts: list[str] = []
    open_part = False
    last = -1
    for i, level in enumerate(row.tolist()):
        if level == last:
            continue
        x = left + i * step
        y = bottom + (top - bottom) * level / 255.0
        if level == 0:
            if open_part:
                parts.append(f"H{x:.2f}V{bottom:.2f}Z")
                open_part = False
        elif not open_part:
            parts.append(f"M{x:.2f} {bottom:.2f}V{y:.2f}")
            open_part = True
        else:
            parts.append(f"H{x:.2f}V{y:.2f}")
        last = level
    if open_part:
        parts.append(f"H{right:.2f}V{bottom:.2f}Z")
    return "".join(parts)


def make_side_view(ctx: Context, scene: Scene) -> SideView | None:
    """Lay out the side view.

    ctx: Program and set-up.
    scene: The top view.
    Returns: None without a placed stock.
    """
    setup, stock = ctx.setup, scene.stock
    if setup is None or stock is None:
        return None
    bed = setup.job.bed
    board = bed.spoilboard_mm or 0.0
    facts = ctx.facts
    lows = facts.z_low[facts.feed & np.isfinite(facts.z_low)]
    lowest = float(lows.min()) if len(lows) else None
    travel = facts.travel_level_mm
    cutters = tuple(silhouette(ctx, number) for number in sorted(setup.cutters))
    tops = [stock.z_max, travel or stock.z_max, *(s.top_mm for s in scene.screws if math.isfinite(s.top_mm))]
    tops += [c.top_mm for c in scene.clamps if math.isfinite(c.top_mm)]
    bottom = min(stock.z_min - board, lowest if lowest is not None else stock.z_min)
    thick = stock.z_max - stock.z_min
    width = scene.width_mm
    stretch = max(1.0, LEAST_SHARE * width / thick)
    room = TALLEST_SHARE * width / stretch
    reach = max((c.stickout_mm + c.nut_length_mm for c in cutters), default=10.0)
    top = min(max(tops) + reach, bottom + max(room, 1.5 * thick))
    margin = 0.04 * (top - bottom)
    return SideView(
        scene.box[0],
        scene.box[1],
        bottom - 1.5 * margin,
        top + margin,
        stretch,
        stock.z_max,
        stock.z_min,
        stock.z_min - board,
        bed.below or "",
        lowest,
        travel,
        cutters,
        _where(ctx, scene),
    )


def silhouette(ctx: Context, number: int) -> Silhouette:
    """A cutter of the job from the side.

    ctx: A check with a job.
    number: Its T number [-].
    """
    assert ctx.setup is not None
    fitted = ctx.setup.cutters[number]
    cutter, nose = fitted.cutter, ctx.setup.job.nose
    spindle = ctx.setup.machine.spindle if ctx.setup.machine else None
    nut = nose.collet_nut_diameter_mm or (spindle.collet_nut_diameter_mm if spindle else None)
    length = nose.collet_nut_length_mm or (spindle.collet_nut_length_mm if spindle else None)
    point = 0.0
    if cutter.included_angle_deg and cutter.kind != "tapered ball":
        half = math.radians(cutter.included_angle_deg) / 2
        point = (cutter.diameter_mm - cutter.tip_diameter_mm) / 2 / math.tan(half)
    elif cutter.kind == "ball":
        point = cutter.diameter_mm / 2
    return Silhouette(
        number,
        cutter.diameter_mm,
        cutter.flute_length_mm,
        cutter.shank_mm,
        fitted.stickout_mm or 0.0,
        nut or 0.0,
        length or 0.0,
        min(point, cutter.flute_length_mm),
    )


def _where(ctx: Context, scene: Scene) -> float:
    """Where the section is drawn first: through the worst finding in the stock, else through its deepest cut."""
    stock = scene.stock
    assert stock is not None
    for mark in scene.marks:
        if stock.y_min < mark.y_mm < stock.y_max:
            return mark.y_mm
    facts = ctx.facts
    rows = np.flatnonzero(facts.cutting & np.isfinite(facts.z_low))
    if len(rows):
        y = float(facts.motions.end_mm[rows[np.argmin(facts.z_low[rows])], 1])
        if stock.y_min < y < stock.y_max:
            return y
    return (stock.y_min + stock.y_max) / 2
