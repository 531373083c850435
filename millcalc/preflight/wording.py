"""Phrases that several rules share."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.job.setup import Setup
from millcalc.limits.tuning import SMALLEST_DEPTH_MM
from millcalc.preflight import tuning
from millcalc.preflight.context import Context


def tool_name(tool: int) -> str:
    """Tool number as shown.

    tool: Tool number, -1 unknown [-].
    Returns: The number or ``?``.
    """
    return str(tool) if tool >= 0 else "?"


def passes(ctx: Context, depth_mm: float, limit_mm: float) -> str:
    """How many equal passes keep a depth within a limit, in words.

    ctx: For the person's units.
    depth_mm, limit_mm: Depth asked for and depth allowed [mm].
    Returns: The remedy.
    """
    if limit_mm < SMALLEST_DEPTH_MM:
        return "no depth worth cutting remains; another cutter, less stickout or a lower feed is needed"
    count = int(np.ceil(depth_mm / limit_mm - 1e-9))
    return f"{count} passes of {ctx.edit.mm(depth_mm / count)} instead of one"


def width_words(ctx: Context) -> str:
    """How the width of cut is known, for the end of a fact.

    ctx: Program and set-up.
    Returns: Empty when it was simulated.
    """
    return "" if ctx.removal is not None else " (cutting at full width assumed)"


def tops_mm(setup: Setup) -> list[float]:
    """Where the screws and clamps end whose height is known.

    setup: Machine, stock and what holds it.
    Returns: Heights from program zero [mm].
    """
    clamps = [body.z_max for clamp, body in setup.clamps or () if clamp.height_mm is not None]
    return [top for top in [*(screw.z_top_mm for screw in setup.screws or ()), *clamps] if np.isfinite(top)]


def travel_over(ctx: Context, setup: Setup, least_mm: float) -> str:
    """What to do where a program travels too low: one height over the work, its screws and its clamps.

    ctx: For the program's units.
    setup: Machine, stock and what holds it.
    least_mm: What the finding itself asks for [mm].
    Returns: The remedy.
    """
    top = [] if ctx.facts.top_mm is None else [ctx.facts.top_mm + tuning.TRAVEL_ABOVE_MM]
    wanted = max([least_mm, *top, *(head + tuning.TRAVEL_OVER_A_HEAD_MM for head in tops_mm(setup))])
    return f"travel at Z {ctx.edit.mm(wanted, 0.1)} or higher"


def lift(ctx: Context) -> str:
    """Height to travel at, in the program's own numbers where the frame is known.

    ctx: Program and set-up.
    Returns: The height, with its unit.
    """
    facts = ctx.facts
    level = facts.travel_level_mm
    top = facts.top_mm if facts.top_mm is not None else 0.0
    wanted = max(top + tuning.TRAVEL_ABOVE_MM, level if level is not None else top)
    return ctx.edit.mm(wanted, 0.1)


def length_share(ctx: Context, some: NDArray[np.bool_], whole: NDArray[np.bool_]) -> float:
    """How much of the length of motions others among them have.

    ctx: Program and set-up.
    some, whole: Motions, and all of which they are a part; lengths that are unknown count as none. (shape (n,))
    Returns: Their share; 0 where there is no length [-].
    """
    length = np.nan_to_num(ctx.facts.motions.length_mm)
    return float(length[some].sum() / max(length[whole].sum(), 1e-9))
