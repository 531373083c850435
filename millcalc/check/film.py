"""The stock over time, packed small enough to travel in a page."""

from __future__ import annotations

import base64
import zlib
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from millcalc.check.timeline import Timeline, cut_at
from millcalc.stock.cutter_shapes import shape_from_cutter
from millcalc.stock.frames import Frames, heights_over_time

if TYPE_CHECKING:
    from millcalc.check.model import CheckReport
    from millcalc.preflight.context import Context

FRAMES = 240  # evenly spaced moments at which the stock is shown
MOST_OF_INTEREST = 60  # moments of findings at which it is shown besides
MOST_CELLS = 90_000  # cells of the stock over time
MOST_STOCK_BYTES = 2_200_000  # of the packed stock; a third more as text, so 3 MB at most


def of_interest(report: CheckReport, timeline: Timeline) -> list[float]:
    """Moments of the findings, at which the stock must be shown as it is then.

    report: What was found.
    timeline: The program along time.
    Returns: The worst findings' moments (the timeline's unit).
    """
    found = (timeline.moment_of(f.at.motion, f.at.share) for f in report.findings if f.at is not None)
    return list(dict.fromkeys(found))[:MOST_OF_INTEREST]


def stock_over_time(
    ctx: Context, timeline: Timeline, also: list[float] | None = None
) -> dict[str, Any] | None:
    """The stock at evenly spaced moments and some others, as differences of coarse heights, deflated.

    ctx: Program, set-up and simulated cut.
    timeline: The program along time.
    also: Moments that must be among them (the timeline's unit).
    Returns: Sizes and places [mm], number of frames, their moments, and the packed bytes; None where the cut was not
      simulated. Coarser until the packed size is at most 2.2 MB.
    """
    setup = ctx.setup
    if setup is None or setup.stock is None or ctx.removal is None:
        return None
    shapes = {number: shape_from_cutter(fitted.cutter) for number, fitted in setup.cutters.items()}
    cells, count = MOST_CELLS, FRAMES
    while True:
        even = np.linspace(0.0, timeline.total, count + 1)[1:]
        moments = np.unique(np.concatenate([even, also or []]))
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
        "frames": len(moments),
        "moments": base64.b64encode(moments.astype("<f8").tobytes()).decode("ascii"),
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
