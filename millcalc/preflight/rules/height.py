"""Heights of travel: at the end, close above the stock, at feed through the air."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, Severity
from millcalc.gcode.motions import FLAG_HOME
from millcalc.job.setup import Box, Setup
from millcalc.preflight import tuning
from millcalc.preflight.context import Context
from millcalc.preflight.heights import SURFACE_MM, surface_mm
from millcalc.preflight.registry import rule
from millcalc.preflight.wording import length_share, lift, travel_over


@rule("RAPID-07", Severity.WARNING, "program ends low", needs=("motions",), what="height at the end")
def _ends_low(ctx: Context) -> Iterator[Finding]:
    """The program ends with the cutter in or at the work.

    Flags: a last height below the stock top; where that is unknown, below zero or the highest cut.
    Why: the next move, of a person or a program, drags the cutter; a file that ends so may be cut short.
    Wrong: ``G1 X50`` at Z-1 as the last line.
    Right: ``G0 Z20 / M30``.
    Limits of the rule: a homing move at the end counts as lifted.
    Source: common practice, no source.
    """
    facts, motions, level = ctx.facts, ctx.program.motions, surface_mm(ctx.facts)
    rows = np.flatnonzero(motions.moves)
    if not len(rows):
        return
    last = int(rows[-1])
    z = float(motions.end_mm[last, 2])
    if np.isnan(z) or level is None or (int(motions.flags[last]) & FLAG_HOME):
        return
    if z < level - 0.01:
        yield ctx.say.finding(
            "RAPID-07",
            Severity.WARNING,
            f"the program ends at Z {ctx.say.mm(z)}, "
            + ("below the stock's top" if facts.top_mm is not None else "where it cuts"),
            rows=[last],
            compared=(z, level, "mm"),
            action=f"end with G0 Z {lift(ctx)}; if the file was cut short, write it again",
        )


@rule("RAPID-08", Severity.WARNING, "travels close above the stock", needs=("stock", "motions"),
      what="height of travel above the stock")  # fmt: skip
def _close(ctx: Context, setup: Setup, stock: Box, top_mm: float) -> Iterator[Finding]:
    """Rapids pass over the stock with hardly any gap.

    Flags: sideways rapids less than 1 mm above the stock top, more where thickness or bed are uneven.
    Why: a bowed plate, a chip or a slightly wrong zero closes the gap.
    Wrong: ``G0 Z0.3 / G0 X50``.
    Right: ``G0 Z3 / G0 X50``.
    Limits of the rule: screws and clamps have their own rules.
    Source: common practice, no source.
    """
    facts = ctx.facts
    job = setup.job
    uneven = (job.stock.thickness_spread_mm or 0.0) + (job.bed.flatness_mm or 0.0)
    need = tuning.TRAVEL_GAP_MM + uneven
    gap = facts.z_low - top_mm
    over = _over_stock(ctx, stock)
    rows = np.flatnonzero(
        facts.rapid & over & (facts.plan_mm > 1.0) & (gap >= -SURFACE_MM) & (gap < need - 1e-6)
    )
    if len(rows):
        worst = int(rows[np.argmin(gap[rows])])
        yield ctx.say.finding(
            "RAPID-08",
            Severity.WARNING,
            f"a rapid passes {ctx.say.mm(max(0.0, gap[worst]))} above the stock; {ctx.say.mm(need)} is the least",
            rows=rows,
            worst=worst,
            compared=(gap[worst], need, "mm"),
            action=travel_over(ctx, setup, top_mm + max(need, tuning.TRAVEL_ABOVE_MM)),
        )


def _over_stock(ctx: Context, stock: Box) -> NDArray[np.bool_]:
    """Motions that pass over the stock, seen from above by their bounding box."""
    low, high = ctx.facts.bounds
    return np.asarray(
        (low[:, 0] < stock.x_max) & (high[:, 0] > stock.x_min)
        & (low[:, 1] < stock.y_max) & (high[:, 1] > stock.y_min)
    )  # fmt: skip


@rule("RAPID-09", Severity.NOTE, "sideways at feed in the air", needs=("stock", "motions"),
      what="travel at feed rate")  # fmt: skip
def _feeds_through_air(ctx: Context, top_mm: float) -> Iterator[Finding]:
    """Much travel above the stock runs at feed rate.

    Flags: more than 30 % of the length at feed rate lies above the stock top.
    Why: it costs time, and often means that the zero or the depth words are wrong.
    Wrong: ``G1 X200 F300`` at Z5.
    Right: ``G0 X200``.
    Limits of the rule: lead-ins from above the stock are counted too.
    Source: common practice, no source.
    """
    facts = ctx.facts
    feed = facts.feed & np.isfinite(facts.z_low)
    air = feed & (facts.z_low >= top_mm)
    rows = np.flatnonzero(air & (facts.plan_mm > 1.0))
    if not len(rows):
        return
    share = length_share(ctx, air, feed)
    if share > tuning.AIR_SHARE:
        yield ctx.say.finding(
            "RAPID-09",
            Severity.NOTE,
            f"{100 * share:.0f} % of the length at feed rate lies above the stock's top",
            rows=rows,
            worst=int(rows[np.nanargmax(facts.motions.length_mm[rows])]),
            compared=(share, tuning.AIR_SHARE, "of the length"),
            action="use G0 above the stock; if it was meant to cut, check Z zero",
        )
