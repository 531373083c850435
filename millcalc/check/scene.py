"""What the pictures show, in part coordinates: stock, what is left of it, screws, ways, loose pieces, findings."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from millcalc.check.paths import WayLines, way_lines
from millcalc.preflight.moments import release
from millcalc.stock.frames import TOP_LEVEL

if TYPE_CHECKING:
    from millcalc.check.model import CheckReport, FindingOut
    from millcalc.job.setup import Box
    from millcalc.preflight.context import Context

MARKS = 60  # findings drawn into the picture; the rest are in the list only
IMAGE_CELLS = 900  # cells along the longer side of the picture of the finished stock
LOOSE_ROWS = 220  # rows of the outline of a loose piece


@dataclass(frozen=True, slots=True)
class Mark:
    """A finding in the picture.

    number: Its place in the list of findings, from 1 [-].
    severity, title: Of the finding.
    x_mm, y_mm: Where [mm].
    aside: Where the sign stands beside that place, in sign sizes, so that signs do not cover each other
      [-].
    """

    number: int
    severity: str
    title: str
    x_mm: float
    y_mm: float
    aside: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Screw:
    """A screw with the ring that the cutter's edge keeps out of [mm]."""

    name: str
    x_mm: float
    y_mm: float
    head_mm: float
    shank_mm: float
    keep_mm: float
    top_mm: float


@dataclass(frozen=True, slots=True)
class ClampBox:
    """A clamp [mm]."""

    name: str
    x_min: float
    x_max: float
    y_min: float
    y_max: float
    top_mm: float


@dataclass(frozen=True, slots=True)
class LooseShape:
    """A loose piece: a place inside it [mm], its shape as SVG path data in part coordinates, y downwards, and the
    motion that frees it with the share of it that is done then [-]."""

    x_mm: float
    y_mm: float
    line: int
    text: str
    path: str
    motion: int
    share: float


@dataclass(frozen=True)
class Picture:
    """The finished stock as levels.

    x_min, x_max, y_min, y_max: What it covers [mm].
    levels: 0 cut through, 255 uncut; row 0 at the smallest y [-].
    """

    x_min: float
    x_max: float
    y_min: float
    y_max: float
    levels: NDArray[np.uint8]


@dataclass(frozen=True)
class Scene:
    """Everything the top and side view show.

    units: Units for people.
    box: The top view: x low, x high, y low, y high [mm].
    stock: The uncut stock.
    """

    units: Literal["mm", "in"]
    box: tuple[float, float, float, float]
    stock: Box | None
    finished: Picture | None
    screws: tuple[Screw, ...]
    clamps: tuple[ClampBox, ...]
    loose: tuple[LooseShape, ...]
    ways: WayLines
    marks: tuple[Mark, ...]
    first_cut_mm: tuple[float, float] | None

    @property
    def width_mm(self) -> float:
        """Width of the top view [mm]."""
        return self.box[1] - self.box[0]

    @property
    def height_mm(self) -> float:
        """Height of the top view [mm]."""
        return self.box[3] - self.box[2]


def make_scene(ctx: Context, report: CheckReport) -> Scene | None:
    """Gather what the pictures show.

    ctx: Program, set-up and simulated cut.
    report: Its findings.
    Returns: None when nothing has a known place.
    """
    box = _box(ctx)
    if box is None:
        return None
    setup, facts = ctx.setup, ctx.facts
    stock = setup.stock if setup else None
    finished = _finished(ctx, stock) if stock is not None else None
    first = None
    if facts.first_cut is not None:
        x, y = facts.motions.end_mm[facts.first_cut, :2]
        start = facts.motions.start_mm[facts.first_cut, :2]
        x, y = start if np.isfinite(start).all() else (x, y)
        first = (float(x), float(y)) if math.isfinite(x) and math.isfinite(y) else None
    return Scene(
        units=ctx.units,
        box=box,
        stock=stock,
        finished=finished,
        screws=_screws(ctx),
        clamps=_clamps(ctx),
        loose=_loose(ctx, finished),
        ways=way_lines(ctx, box),
        marks=_marks(report.findings, box),
        first_cut_mm=first,
    )


def _box(ctx: Context) -> tuple[float, float, float, float] | None:
    """The top view: stock, what holds it, and the ways at feed, with a margin."""
    xs: list[float] = []
    ys: list[float] = []
    setup, facts = ctx.setup, ctx.facts
    if setup and setup.stock:
        xs += [setup.stock.x_min, setup.stock.x_max]
        ys += [setup.stock.y_min, setup.stock.y_max]
    for screw in (setup.screws or ()) if setup else ():
        xs += [screw.x_mm - screw.head_radius_mm, screw.x_mm + screw.head_radius_mm]
        ys += [screw.y_mm - screw.head_radius_mm, screw.y_mm + screw.head_radius_mm]
    for _, clamp in (setup.clamps or ()) if setup else ():
        xs += [clamp.x_min, clamp.x_max]
        ys += [clamp.y_min, clamp.y_max]
    low, high = facts.bounds
    rows = facts.feed if facts.feed.any() else facts.motions.moves
    if rows.any():
        radius = np.nan_to_num(facts.diameter_mm[rows], nan=0.0) / 2
        for axis, values in ((0, xs), (1, ys)):
            ends = np.concatenate([low[rows, axis] - radius, high[rows, axis] + radius])
            ends = ends[np.isfinite(ends)]
            if len(ends):
                values += [float(ends.min()), float(ends.max())]
    if not xs or not ys:
        return None
    margin = 0.04 * max(max(xs) - min(xs), max(ys) - min(ys), 5.0)
    return min(xs) - margin, max(xs) + margin, min(ys) - margin, max(ys) + margin


def _finished(ctx: Context, stock: Box) -> Picture | None:
    if ctx.removal is None:
        return None
    field = ctx.removal.final
    stride = max(1, math.ceil(max(field.height_mm.shape) / IMAGE_CELLS))
    height = field.height_mm[stride // 2 :: stride, stride // 2 :: stride]
    share = (height - field.floor_mm) / max(field.top_mm - field.floor_mm, 1e-9)
    levels = np.rint(np.clip(share, 0.0, 1.0) * TOP_LEVEL)
    levels = np.where((share > 0.004) & (levels < 1), 1, levels).astype(np.uint8)
    return Picture(stock.x_min, stock.x_max, stock.y_min, stock.y_max, levels)


def _screws(ctx: Context) -> tuple[Screw, ...]:
    setup = ctx.setup
    return tuple(
        Screw(
            s.name,
            s.x_mm,
            s.y_mm,
            max(s.head_radius_mm, s.shank_radius_mm, 0.5),
            s.shank_radius_mm,
            max(s.head_radius_mm, s.shank_radius_mm) + s.margin_mm,
            s.z_top_mm,
        )
        for s in ((setup.screws or ()) if setup else ())
    )  # fmt: skip


def _clamps(ctx: Context) -> tuple[ClampBox, ...]:
    setup = ctx.setup
    return tuple(
        ClampBox(c.name or f"clamp {i}", b.x_min, b.x_max, b.y_min, b.y_max, b.z_max)
        for i, (c, b) in enumerate((setup.clamps or ()) if setup else (), 1)
    )


def _loose(ctx: Context, finished: Picture | None) -> tuple[LooseShape, ...]:
    if ctx.removal is None or not ctx.removal.loose:
        return ()
    shapes = []
    for piece in ctx.removal.loose[:12]:
        size = " by ".join(ctx.say.mm(v, 0.1) for v in piece.size_mm)
        path = _shape_path(finished, piece.place_mm) if finished else ""
        shapes.append(
            LooseShape(piece.place_mm[0], piece.place_mm[1], piece.line, f"loose: {size}", path, piece.motion,
                       release(ctx, piece))
        )  # fmt: skip
    return tuple(shapes)


def _shape_path(finished: Picture, place: tuple[float, float, float]) -> str:
    """Outline of the standing material connected with a place, as rows of rectangles; empty where none stands."""
    from scipy import ndimage

    stride = max(1, math.ceil(finished.levels.shape[0] / LOOSE_ROWS))
    standing = finished.levels[::stride, ::stride] > 0
    labels, _ = ndimage.label(standing)
    ny, nx = standing.shape
    dx, dy = (finished.x_max - finished.x_min) / nx, (finished.y_max - finished.y_min) / ny
    column = min(max(int((place[0] - finished.x_min) / dx), 0), nx - 1)
    row = min(max(int((place[1] - finished.y_min) / dy), 0), ny - 1)
    if not labels[row, column]:
        return ""
    mine = np.pad(labels == labels[row, column], ((0, 0), (1, 1)))
    edges = np.diff(mine.astype(np.int8), axis=1)
    parts = []
    for j in range(ny):
        begin, end = np.flatnonzero(edges[j] == 1), np.flatnonzero(edges[j] == -1)
        y = -(finished.y_min + (j + 1) * dy)
        for a, b in zip(begin.tolist(), end.tolist(), strict=True):
            parts.append(
                f"M{finished.x_min + a * dx:.2f} {y:.2f}h{(b - a) * dx:.2f}v{dy:.2f}h{(a - b) * dx:.2f}z"
            )
    return "".join(parts)


def _marks(findings: tuple[FindingOut, ...], box: tuple[float, float, float, float]) -> tuple[Mark, ...]:
    """Signs of the findings that have a place, each moved aside until it covers no other."""
    unit = 0.018 * max(box[1] - box[0], 1e-9)  # radius of a sign
    taken: list[tuple[float, float]] = []
    marks = []
    for number, finding in enumerate(findings, 1):
        place = finding.place_mm
        if place is None or not (box[0] <= place.x <= box[1] and box[2] <= place.y <= box[3]):
            continue
        aside = _free_place(place.x, place.y, unit, taken, box)
        taken.append((place.x + aside[0] * unit, place.y + aside[1] * unit))
        marks.append(Mark(number, finding.severity, finding.title, place.x, place.y, aside))
        if len(marks) >= MARKS:
            break
    return tuple(marks)


def _free_place(
    x: float, y: float, unit: float, taken: list[tuple[float, float]], box: tuple[float, float, float, float]
) -> tuple[float, float]:
    """A place for a sign near (x, y), in sign sizes, that keeps clear of the others and inside the picture."""
    for ring in range(1, 12):
        for turn in range(8 * ring):
            angle = math.pi / 4 + 2 * math.pi * turn / (8 * ring)
            dx, dy = 2.3 * ring * math.cos(angle), 2.3 * ring * math.sin(angle)
            px, py = x + dx * unit, y + dy * unit
            inside = box[0] + unit < px < box[1] - unit and box[2] + unit < py < box[3] - unit
            if inside and all(math.hypot(px - a, py - b) > 2.5 * unit for a, b in taken):
                return round(dx, 2), round(dy, 2)
    return 0.0, 0.0
