"""What must be known before hold-downs are searched, and the refusal where it is not."""

from __future__ import annotations

import math

import numpy as np

from millcalc.errors import InputError
from millcalc.holding.asked import Wish
from millcalc.preflight.context import Context
from millcalc.preflight.keepouts import Z_MARGIN_MM


def require_wish(wish: Wish) -> None:
    """Refuse numbers out of range.

    wish: What is asked for.
    Raises InputError: If the number of screws, the safety factor or the clamp makes no sense.
    """
    if wish.count is not None and not 1 <= wish.count <= 200:
        raise InputError(f"{wish.count} screws", "1 to 200", field="--count")
    if not (math.isfinite(wish.safety) and 1.0 <= wish.safety <= 100.0):
        raise InputError(f"a safety factor of {wish.safety:g}", "1 to 100; 5.51 is usual", field="--safety")
    if wish.clamp_mm is not None and not all(0.0 < v < 10_000.0 for v in wish.clamp_mm):
        raise InputError(f"a clamp of {wish.clamp_mm}", "three lengths above 0", field="--clamp")


def require(ctx: Context) -> None:
    """Refuse what cannot be answered.

    ctx: Program, set-up and simulated cut.
    Raises InputError: If stock or zero are unknown, or the cut could not be simulated.
    """
    setup = ctx.setup
    if setup is None:
        raise InputError("no job", "a job file with stock, zero and cutters", field="--job")
    file = str(setup.path) if setup.path else None
    if setup.stock is None:
        job = setup.job
        missing = [
            name
            for name, value in (
                ("stock.size_x", job.stock.size_x_mm),
                ("stock.size_y", job.stock.size_y_mm),
                ("stock.thickness", job.stock.thickness_mm),
                ("zero.xy", job.zero.xy),
                ("zero.z", job.zero.z),
            )
            if value is None
        ]
        raise InputError(
            "a stock whose place is unknown",
            "a job that gives " + ", ".join(missing),
            "without it nobody knows where a screw stands in the work",
            file=file,
            field=missing[0] if missing else "stock",
        )
    if ctx.removal is None:
        raise InputError(
            f"a cut that was not simulated: {ctx.removal_missing}", "a cut that can be", file=file
        )


def require_cutters(ctx: Context, top_mm: float) -> None:
    """Refuse where a cutter of unknown size comes down: no place could be called clear of it.

    ctx: Program and set-up.
    top_mm: Height of the screws' heads [mm].
    Raises InputError: If there is such a motion.
    """
    facts, motions = ctx.facts, ctx.program.motions
    with np.errstate(invalid="ignore"):
        low = facts.z_low < top_mm + Z_MARGIN_MM
    unknown = np.flatnonzero(low & motions.moves & np.isnan(facts.diameter_mm))
    if not len(unknown):
        return
    tools = sorted({int(t) for t in facts.tool[unknown]})
    names = ", ".join(f"T{t}" if t >= 0 else "no tool number" for t in tools)
    raise InputError(
        f"motions with {names}, the first in line {int(motions.line[unknown[0]])}, whose cutter is unknown",
        "a cutter in the job for every tool number that comes down to the work",
        "add it under cutters: no place can be called clear of a cutter of unknown size",
        file=str(ctx.setup.path) if ctx.setup and ctx.setup.path else None,
        field=f"cutters.{next((t for t in tools if t >= 0), 1)}",
    )
