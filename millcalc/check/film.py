"""The stock over time, packed small enough to travel in a page."""

from __future__ import annotations

import base64
import zlib
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from millcalc.check.timeline import Timeline, cut_at
from millcalc.stock.frames import Frames, heights_over_time
from millcalc.stock.shapes import shape_from_cutter

if TYPE_CHECKING:
    from millcalc.preflight.context import Context

FRAMES = 240  # moments at which the stock is shown
MOST_CELLS = 90_000  # cells of the stock over time
MOST_STOCK_BYTES = 2_200_000  # of the packed stock; a third more as text, so 3 MB at most


def stock_over_time(ctx: Context, timeline: Timeline) -> dict[str, Any] | None:
    """The stock at evenly spaced moments, as differences of coarse heights, deflated.

    ctx: Program, set-up and simulated cut.
    timeline: The program along time.
    Returns: Sizes and places [mm], number of frames, and the packed bytes; None where the cut was not
      simulated. Coarser until the packed size is at most 2.2 MB.
    """
    setup = ctx.setup
    if setup is None or setup.stock is None or ctx.removal is None:
        return None
    shapes = {number: shape_from_cutter(fitted.cutter) for number, fitted in setup.cutters.items()}
    cells, count = MOST_CELLS, FRAMES
    while True:
        moments = np.linspace(0.0, timeline.total, count + 1)[1:]
        pieces, done = cut_at(timeline, moments)
        frames = heights_over_time(
            timeline.motions,
            setup.stock,
            shapes,
            pieces,
            done,
            assume_tool=ctx.facts.assumed_tool,
            most_cells=cells,
        )
        packed = zlib.compress(_differences(frames).tobytes(), 6)
        if len(packed) <= MOST_STOCK_BYTES or cells < 2000:
            break
        cells, count = cells // 2, max(60, count * 2 // 3)
    _, rows, columns = frames.levels.shape
    half = frames.cell_mm / 2
    return {
        "columns": columns,
        "rows": rows,
        "frames": count,
        "cell": frames.cell_mm,
        "x": frames.x0_mm - half,
        "y": frames.y0_mm - half,
        "floor": frames.floor_mm,
        "top": frames.top_mm,
        "packed": base64.b64encode(packed).decode("ascii"),
    }


def _differences(frames: Frames) -> NDArray[np.uint8]:
    """By how many levels each cell falls from frame to frame."""
    return frames.levels[:-1] - frames.levels[1:]
