"""How much room there is at a place: exact, for cutter and everything above it, over the whole program."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.motions import DWELL
from millcalc.preflight.clearances import kept_mm
from millcalc.preflight.context import Context
from millcalc.preflight.geometry import Z_TOUCH_MM
from millcalc.preflight.keepouts import Z_MARGIN_MM, Body, cutter_body, holder_bodies

Floats = NDArray[np.float64]
RUN_LENGTH = 32  # motions that are ruled out together; measured on programs of 1e5 motions


@dataclass(frozen=True)
class Least:
    """The least room at each of m places.

    spare_mm: Gap of the body that leaves the least room, less what is to be kept from it; infinity where
      nothing comes down to the place [mm].
    body: Index into :attr:`Clearance.names`; -1 where nothing comes down [-].
    row: Row of the motion [-].
    share: Share of that motion's length [-].
    """

    spare_mm: Floats
    body: NDArray[np.intp]
    row: NDArray[np.intp]
    share: Floats


@dataclass(frozen=True)
class _Swept:
    """The motions of one body that come below a height, ready for the kernel."""

    need_mm: float
    rows: NDArray[np.intp]
    kinds: tuple[NDArray[np.uint8], NDArray[np.uint8]]
    ends: tuple[Floats, Floats, Floats]
    numbers: tuple[Floats, Floats, Floats]
    bounds: Floats
    runs: Floats


class Clearance:
    """Distances of a program from whatever stands up to one height.

    ctx: Program and set-up.
    top_mm: Height of what stands there, part coordinates [mm].
    cutter_margin_mm: Distance to keep from the cutter [mm]; from holder and shoe 1 mm is kept.

    Note: The same bodies, heights and distances as the rules SCREW-01 to SCREW-03 judge by. Motions with an
      unknown coordinate or an unknown cutter are left out; the caller says so.
    """

    def __init__(self, ctx: Context, top_mm: float, cutter_margin_mm: float) -> None:
        self.top_mm = top_mm
        self.cutter_margin_mm = cutter_margin_mm
        bodies = [cutter_body(ctx), *holder_bodies(ctx)]
        self.names = tuple(body.name for body in bodies)
        self.needs_mm = tuple(kept_mm(body.name, cutter_margin_mm) for body in bodies)
        self._swept = [
            _swept(ctx, body, top_mm, need) for body, need in zip(bodies, self.needs_mm, strict=True)
        ]

    def boxes(self, boxes_mm: Floats) -> Least:
        """Room beside upright boxes.

        boxes_mm: x_min, x_max, y_min, y_max of each [mm].
        Returns: One entry a box.
        """
        from millcalc.holding.clearance_kernels import least_gaps

        boxes = np.ascontiguousarray(boxes_mm, dtype=np.float64).reshape(-1, 4)
        m = len(boxes)
        spare, body = np.full(m, np.inf), np.full(m, -1, np.intp)
        row, share = np.full(m, -1, np.intp), np.zeros(m)
        out = np.empty((m, 3))
        for index, swept in enumerate(self._swept):
            if not len(swept.rows) or not m:
                continue
            least_gaps(
                swept.kinds, swept.ends, swept.numbers, swept.bounds, swept.runs, RUN_LENGTH, boxes, out
            )
            less = out[:, 0] - swept.need_mm < spare
            spare[less] = out[less, 0] - swept.need_mm
            body[less] = index
            row[less] = swept.rows[out[less, 1].astype(np.intp)]
            share[less] = out[less, 2]
        return Least(spare, body, row, share)

    def discs(self, places_mm: Floats, radius_mm: float) -> Least:
        """Room beside upright cylinders.

        places_mm: Axes [mm].
        radius_mm: Radius of all of them [mm].
        Returns: One entry a cylinder.
        """
        places = np.asarray(places_mm, dtype=np.float64).reshape(-1, 2)
        least = self.boxes(np.repeat(places, 2, axis=1))
        return Least(least.spare_mm - radius_mm, least.body, least.row, least.share)


def _swept(ctx: Context, body: Body, top_mm: float, need_mm: float) -> _Swept:
    motions = ctx.program.motions
    low, high = ctx.facts.bounds
    level = top_mm + Z_MARGIN_MM - np.broadcast_to(body.above_mm, (ctx.facts.n,)) - Z_TOUCH_MM
    radius = np.broadcast_to(body.radius_mm, (ctx.facts.n,))
    known = np.isfinite(level) & np.isfinite(radius) & np.isfinite(low).all(axis=1)
    known &= np.isfinite(motions.start_mm).all(axis=1) & np.isfinite(motions.end_mm).all(axis=1)
    with np.errstate(invalid="ignore"):
        rows = np.flatnonzero(known & (motions.kind != DWELL) & (low[:, 2] < level))
    bounds = np.ascontiguousarray(np.column_stack([low[rows, 0], high[rows, 0], low[rows, 1], high[rows, 1]]))
    starts = np.arange(0, len(rows), RUN_LENGTH)
    runs = np.empty((len(starts), 5))
    if len(rows):
        for column, whole in ((0, np.minimum), (1, np.maximum), (2, np.minimum), (3, np.maximum)):
            runs[:, column] = whole.reduceat(bounds[:, column], starts)
        runs[:, 4] = np.maximum.reduceat(radius[rows], starts)

    def take(column: Floats) -> Floats:
        return np.ascontiguousarray(column[rows], dtype=np.float64)

    return _Swept(
        need_mm,
        rows,
        (np.ascontiguousarray(motions.kind[rows]), np.ascontiguousarray(motions.plane[rows])),
        (take(motions.start_mm), take(motions.end_mm), take(motions.centre_mm)),
        (take(motions.sweep_rad), take(level), take(radius)),
        bounds,
        runs,
    )
