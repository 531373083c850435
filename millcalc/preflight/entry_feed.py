"""How fast a cutter may go straight down: what its end cuts, and what Z still pushes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.limits.plunge import plunge_feed_mm_min
from millcalc.preflight.context import Context
from millcalc.preflight.distinct import distinct_values
from millcalc.preflight.limits import Limits, limits, tooling


def most_down_mm_min(
    ctx: Context, tool: int, bound: Limits, flutes: int, rpm: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Fastest feed straight down at each speed: what the end cuts and, where the machine is known, what Z pushes.

    tool, flutes: Tool number and its cutting edges [-].
    bound: What the material takes.
    rpm: Speeds [rev/min].
    Returns: Feeds [mm/min].
    """
    most = bound.plunge_share * bound.chip_high_mm * flutes * rpm
    found = tooling(ctx, tool)
    if isinstance(found, str):
        return np.asarray(most)
    speeds, back = distinct_values(rpm)
    held = [plunge_feed_mm_min(found, float(n), proven=True) for n in speeds]
    return np.array(held)[back]


def slow_down_mm_min(ctx: Context, tool: int, rpm: float) -> float | None:
    """Feed straight down that settings would give a tool at a speed: the one number for every remedy.

    ctx: Program and set-up.
    tool: Tool number [-].
    rpm: Spindle speed [rev/min]; NaN where unknown.
    Returns: Feed [mm/min]; None where cutter, material or speed are unknown.
    """
    fitted, bound, found = ctx.facts.fitted(tool), limits(ctx, tool), tooling(ctx, tool)
    if fitted is None or bound is None or not rpm > 0:
        return None
    if isinstance(found, str):
        return float(most_down_mm_min(ctx, tool, bound, fitted.cutter.flutes, np.array([rpm]))[0])
    return plunge_feed_mm_min(found, rpm, proven=ctx.proven)
