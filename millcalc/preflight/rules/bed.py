"""The bed: how deep the program goes below the stock, and whether it gets through."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, NotChecked, Severity
from millcalc.job.setup import Setup
from millcalc.preflight.context import Context
from millcalc.preflight.facts import STILL_MM
from millcalc.preflight.registry import rule


def z_doubt_mm(ctx: Context) -> float:
    """How far the real height of the stock's underside may be off, from what the job says.

    ctx: Program and set-up.
    Returns: Thickness spread and bed flatness, added [mm].
    """
    if ctx.setup is None:
        return 0.0
    job = ctx.setup.job
    return (job.stock.thickness_spread_mm or 0.0) + (job.bed.flatness_mm or 0.0)


@rule("BED-01", Severity.STOP, "deeper into the bed than allowed", needs=("stock_bottom", "motions"),
      what="depth below the stock")  # fmt: skip
def _too_deep(ctx: Context, setup: Setup, bottom_mm: float) -> Iterator[Finding]:
    """The program cuts deeper into the bed than the job allows.

    Flags: feed motions lower than the stock's underside less ``bed.allowance_mm``; a stop where that is more
      than the stock is thick, or through the board.
    Why: deep grooves ruin the bed; a whole thickness too deep means that Z zero is on another surface.
    Wrong: Z-7.5 in a 6 mm plate with 0.5 mm allowance.
    Right: Z-6.2.
    Limits of the rule: thickness, zero and flatness are as the job says.
    Source: the job.
    """
    facts = ctx.facts
    allowance = setup.job.bed.allowance_mm
    deep = bottom_mm - facts.z_low
    rows = np.flatnonzero(facts.feed & (deep > allowance + 1e-6))
    if not len(rows):
        return
    worst = int(rows[np.argmax(deep[rows])])
    board = setup.job.bed.spoilboard_mm
    thick = setup.job.stock.thickness_mm
    very = (thick is not None and deep[worst] >= thick) or (board is not None and deep[worst] >= board)
    yield ctx.say.finding(
        "BED-01",
        Severity.STOP if very else Severity.WARNING,
        f"cuts {ctx.say.mm(deep[worst])} below the stock; {ctx.say.mm(allowance)} is allowed",
        rows=rows,
        worst=worst,
        word="Z",
        compared=(deep[worst], allowance, "mm"),
        action=f"no deeper than Z {ctx.edit.mm(bottom_mm - allowance)}; or measure the thickness again",
    )


@rule("BED-02", Severity.STOP, "through the board", needs=("stock_bottom", "spoilboard", "motions"),
      what="what lies below the sacrificial board")  # fmt: skip
def _through_board(ctx: Context, setup: Setup, bottom_mm: float, board_mm: float) -> Iterator[Finding]:
    """The program comes near or through the underside of the sacrificial board.

    Flags: feed motions closer than 2 mm to what lies below the board; a stop where they reach it.
    Why: metal below breaks the cutter and throws sparks into wood dust.
    Wrong: 5 mm below the stock with a 6 mm board on a metal frame.
    Right: 0.2 mm below the stock.
    Limits of the rule: heads of screws from below and metal inserts are not known.
    Source: common practice, no source.
    """
    facts = ctx.facts
    bed = setup.job.bed
    floor = bottom_mm - board_mm
    left = facts.z_low - floor
    reserve = 0.0 if bed.below == "nothing" else min(2.0, board_mm)
    rows = np.flatnonzero(facts.feed & (left < reserve - 1e-6))
    if len(rows):
        worst = int(rows[np.argmin(left[rows])])
        below = {"wood": "the wood", "metal": "the metal", "nothing": "the empty space"}.get(
            bed.below or "", "what is"
        )
        yield ctx.say.finding(
            "BED-02",
            Severity.STOP if left[worst] <= 0 or bed.below == "metal" else Severity.WARNING,
            f"goes through the board into {below} below it"
            if left[worst] <= 0
            else f"leaves {ctx.say.mm(left[worst])} of board above {below} below it",
            rows=rows,
            worst=worst,
            word="Z",
            compared=(left[worst], reserve, "mm"),
            action=f"stay above Z {ctx.edit.mm(floor + max(reserve, 2.0))}, or use a thicker board",
        )


@rule("BED-03", Severity.WARNING, "may not cut through", needs=("stock_bottom", "motions"),
      what="whether the outline gets through")  # fmt: skip
def _not_through(ctx: Context, setup: Setup, bottom_mm: float) -> Iterator[Finding | NotChecked]:
    """The lowest pass stops just above the underside, or within the doubt about its height.

    Flags: a program whose deepest cut is within 0.5 mm above the underside; or below it by less than
      thickness spread and bed flatness together.
    Why: a skin of a tenth stays, which tears out, or holds the part where it should not.
    Wrong: Z-5.9 in a 6 mm plate.
    Right: Z-6.2 with a board to cut into.
    Limits of the rule: a floor that was meant to be just above the underside is flagged too.
    Source: common practice, no source.
    """
    facts = ctx.facts
    rows = np.flatnonzero(facts.cutting & (facts.plan_mm > STILL_MM))
    if not len(rows):
        return
    worst = int(rows[np.argmin(facts.z_low[rows])])
    over = float(bottom_mm - facts.z_low[worst])
    doubt = z_doubt_mm(ctx)
    if -0.5 < over < -1e-6:
        yield ctx.say.finding(
            "BED-03",
            Severity.WARNING,
            f"the deepest cut leaves a skin of {ctx.say.mm(-over)} on the underside",
            rows=[worst],
            word="Z",
            compared=(over, 0.0, "mm"),
            action=f"Z {ctx.edit.mm(bottom_mm - max(0.1, doubt))} would go through",
        )
    elif 0 <= over < doubt - 1e-6:
        yield ctx.say.finding(
            "BED-03",
            Severity.WARNING,
            f"goes only {ctx.say.mm(over)} below the stock, while its height is known to {ctx.say.mm(doubt)}",
            rows=[worst],
            word="Z",
            compared=(over, doubt, "mm"),
            action=f"Z {ctx.edit.mm(bottom_mm - doubt)} would get through everywhere",
        )
    elif over >= 0 and setup.job.stock.thickness_spread_mm is None:
        yield NotChecked(
            "BED-03",
            "whether the cut gets through everywhere",
            "how even the stock is was not measured",
            ("stock.thickness_spread_mm", "bed.flatness_mm"),
        )


@rule("BED-04", Severity.WARNING, "no board to cut into", needs=("stock_bottom", "motions"),
      what="what the through cuts run into")  # fmt: skip
def _no_board(ctx: Context, setup: Setup, bottom_mm: float) -> Iterator[Finding]:
    """Through cuts without a sacrificial board.

    Flags: feed motions below the stock's underside, where the job says that the board is 0 mm thick or its
      allowance is 0.
    Why: the cutter runs into the bed itself.
    Wrong: Z-6.2 in a 6 mm plate with ``bed.spoilboard_mm: 0``.
    Right: a board of a few millimetres under the stock.
    Limits of the rule: only what the job says.
    Source: the job.
    """
    facts = ctx.facts
    if setup.job.bed.spoilboard_mm != 0:
        return
    rows = np.flatnonzero(facts.feed & (facts.z_low < bottom_mm - 1e-6))
    if len(rows):
        worst = int(rows[np.argmin(facts.z_low[rows])])
        yield ctx.say.finding(
            "BED-04",
            Severity.STOP if setup.job.bed.below == "metal" else Severity.WARNING,
            f"cuts {ctx.say.mm(bottom_mm - facts.z_low[worst])} below the stock, and there is no board",
            rows=rows,
            worst=worst,
            word="Z",
            action="put a board under the stock, or leave a skin and finish by hand",
        )
