"""Room over the whole stock on a grid, and what could not be looked at."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.holding.clearance import Clearance
from millcalc.holding.judge import Bench
from millcalc.holding.regions import Regions
from millcalc.holding.result import PlaceMap
from millcalc.holding.room import inside_room, room_beside
from millcalc.preflight.context import Context
from millcalc.preflight.keepouts import holder_bodies

Floats = NDArray[np.float64]


def place_map(
    bench: Bench,
    clearance: Clearance,
    regions: Regions,
    head: float,
    discs: Floats,
    cells: tuple[int, int],
) -> PlaceMap:
    """Room for a head on a grid over the stock.

    bench: Program and set-up.
    clearance: Distances up to the head's top.
    regions: The pieces that are left.
    head: Radius of the head [mm].
    discs: x, y and radius of other heads [mm].
    cells: Columns and rows [-].
    Returns: Exact at the middle of each cell.
    """
    stock = bench.stock
    nx, ny = cells
    x = stock.x_min + (np.arange(nx) + 0.5) * (stock.x_max - stock.x_min) / nx
    y = stock.y_min + (np.arange(ny) + 0.5) * (stock.y_max - stock.y_min) / ny
    at = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    least = clearance.discs(at, head)
    piece, rim = regions.look_up(at)
    boxes = tuple(box for _, box in bench.setup.clamps or ())
    blocked = np.minimum(inside_room(at, stock, head), room_beside(at, boxes, discs, head)) < 0.0
    kind = np.where(piece < 0, 0, np.where(rim, 1, 2)).astype(np.uint8)
    lines = bench.ctx.program.motions.line
    line = np.where(least.row >= 0, lines[np.maximum(least.row, 0)] if len(lines) else 0, 0)
    return PlaceMap(
        x,
        y,
        least.spare_mm.reshape(ny, nx),
        least.body.reshape(ny, nx),
        line.astype(np.int64).reshape(ny, nx),
        kind.reshape(ny, nx),
        blocked.reshape(ny, nx),
        clearance.names,
    )


def not_checked(ctx: Context, regions: Regions) -> tuple[str, ...]:
    """What could not be looked at, in words.

    ctx: Program and set-up.
    regions: The pieces that are left.
    Returns: One entry a fact.
    """
    found: list[str] = []
    setup, motions = ctx.setup, ctx.program.motions
    assert setup is not None
    unknown = (np.isnan(motions.start_mm) | np.isnan(motions.end_mm)).any(axis=1) & motions.moves
    if unknown.any():
        count = int(unknown.sum())
        found.append(
            f"{count} motion{'s' if count > 1 else ''} from or to an unknown place, the first in line "
            f"{int(motions.line[np.flatnonzero(unknown)[0]])}"
        )
    if not any(body.name == "collet nut" for body in holder_bodies(ctx)):
        found.append("the collet nut: its size is unknown (nose.collet_nut_diameter, or the machine)")
    for tool in ctx.facts.tools:
        fitted = ctx.facts.fitted(tool)
        if fitted is not None and fitted.stickout_mm is None:
            found.append(f"the holder of T{tool}: its stickout is unknown (cutters.{tool}.stickout)")
    found += [f"the full size of what stands there: {name} is unknown" for name in setup.incomplete
              if name.startswith(("screws", "clamps"))]  # fmt: skip
    if regions.slivers:
        found.append(f"slivers too small to tell from the simulated cut's cells: {regions.slivers}")
    return tuple(found)
