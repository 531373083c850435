"""Rapid motions: through stock, from unknown heights, through low points, to a low end."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, Severity
from millcalc.gcode.motions import FLAG_CYCLE, FLAG_HOME, FLAG_MACHINE
from millcalc.preflight.context import Context
from millcalc.preflight.entry_feed import slow_down_mm_min
from millcalc.preflight.heights import surface_mm
from millcalc.preflight.moments import first_contact
from millcalc.preflight.registry import rule
from millcalc.preflight.wording import lift


@rule("RAPID-01", Severity.STOP, "rapid through the stock", needs=("stock", "motions"),
      what="rapid motions through the stock")  # fmt: skip
def _through_stock(ctx: Context, top_mm: float) -> Iterator[Finding]:
    """A rapid motion moves sideways inside the stock.

    Flags: rapid motions with a sideways part whose cutter is below the stock top inside the stock. Where the
      cut was simulated: only where material still stands in the way.
    Why: at rapid speed the cutter breaks or drags the work off the bed.
    Wrong: ``G0 X50`` at Z-1 inside the plate.
    Right: ``G0 Z5 / G0 X50``.
    Limits of the rule: rapids are taken as straight lines; RAPID-05 speaks of those that may not be.
    Source: common practice, no source.
    """
    facts = ctx.facts
    mask = facts.rapid & facts.inside & (facts.plan_mm > 1e-3)
    if ctx.removal is not None:
        mask &= ctx.removal.axial_depth_mm > max(0.02, ctx.removal.depth_error_mm)
    rows = np.flatnonzero(mask)
    if len(rows):
        deep = top_mm - facts.z_low[rows]
        if ctx.removal is not None:
            deep = ctx.removal.axial_depth_mm[rows].astype(float)
        at = int(np.argmax(deep))
        yield ctx.say.finding(
            "RAPID-01",
            Severity.STOP,
            f"rapid motion {ctx.say.mm(deep[at])} deep through "
            + ("material that still stands" if ctx.removal is not None else "the stock (taken as uncut)"),
            rows=rows,
            worst=int(rows[at]),
            word="G",
            compared=(deep[at], 0.0, "mm"),
            share=first_contact(ctx, int(rows[at])),
            action=_over_it(ctx, rows, int(rows[at])),
        )


def _over_it(ctx: Context, rows: NDArray[np.intp], worst: int) -> str:
    """The whole edit: up before the first of these rapids in a row, down at feed after the last."""
    facts, motions = ctx.facts, ctx.program.motions
    first = last = worst
    inside = set(rows.tolist())
    while first - 1 in inside:
        first -= 1
    while last + 1 in inside:
        last += 1
    up = f"G0 Z {lift(ctx)} before line {int(motions.line[first])}"
    back = float(motions.end_mm[last, 2])
    goes_on = last + 1 < facts.n and bool(facts.feed[last + 1]) and facts.top_mm is not None
    if not goes_on or np.isnan(back):
        return f"write {up}"
    tool = int(facts.tool[last])
    feed = slow_down_mm_min(ctx, tool, float(facts.rpm[last]))
    down = f"G1 Z {ctx.edit.mm(back)}" + (
        f" F {ctx.edit.feed_to_set(feed)}" if feed else " with a plunge feed"
    )
    after = f"after line {int(motions.line[last])}"
    own = ctx.say.word_span(int(motions.line[last + 1]), "F").start
    restore = "" if own else f", and F {ctx.edit.feed(facts.feed_mm_min[last + 1])} again in the next cut"
    between = ", and no Z word between them" if first < last else ""
    return f"write {up}; {after} write {down}{restore}{between}"


@rule("RAPID-02", Severity.STOP, "rapid plunge into the stock", needs=("motions",),
      what="rapid plunges")  # fmt: skip
def _rapid_plunge(ctx: Context) -> Iterator[Finding]:
    """A rapid motion goes down into the stock.

    Flags: straight rapids down that end below the stock top inside the stock, at a place not cut that deep
      before; a drilling cycle's way back into its own hole is left out. Without the stock: those that end below the
      height at which the program itself cuts (a warning).
    Why: no cutter drills at rapid speed.
    Wrong: ``G0 Z-1`` over the plate.
    Right: ``G0 Z1 / G1 Z-1 F120``.
    Limits of the rule: without a simulated cut, "cut before" means a feed motion that ended at the same place as deep.
    Source: common practice, no source.
    """
    facts, motions = ctx.facts, ctx.program.motions
    known = ctx.setup is not None and ctx.setup.stock is not None
    top_mm = facts.top_mm if known else surface_mm(facts)
    if top_mm is None or not (known or facts.cutting.any()):
        return
    straight = ~(facts.plan_mm > 1e-3)
    inside = facts.inside if known else facts.z_low < min(top_mm, facts.travel_level_mm or top_mm) - 0.01
    mask = facts.rapid & inside & straight & (facts.dz < -1e-6) & ((motions.flags & FLAG_CYCLE) == 0)
    if ctx.removal is not None:
        mask &= ctx.removal.axial_depth_mm > max(0.02, ctx.removal.depth_error_mm)
        rows = np.flatnonzero(mask)
    else:
        rows = np.array([r for r in np.flatnonzero(mask).tolist() if not _open_before(ctx, r)], dtype=np.intp)
    if len(rows):
        deep = top_mm - facts.z_low[rows]
        if ctx.removal is not None:
            deep = ctx.removal.axial_depth_mm[rows].astype(float)
        at = int(np.argmax(deep))
        into = (
            "into the stock"
            if known
            else f"below Z {ctx.say.mm(top_mm, 0.01)}, where the program finds the work"
        )
        yield ctx.say.finding(
            "RAPID-02",
            Severity.STOP if known else Severity.WARNING,
            f"rapid motion straight down, {ctx.say.mm(deep[at])} {into}",
            rows=rows,
            worst=int(rows[at]),
            word="G",
            compared=(deep[at], 0.0, "mm"),
            share=first_contact(ctx, int(rows[at])),
            action=_down_at_feed(ctx, int(rows[at]), top_mm),
        )


def _open_before(ctx: Context, row: int) -> bool:
    motions = ctx.program.motions
    x, y, z = motions.end_mm[row]
    end = motions.end_mm[:row]
    near = (np.abs(end[:, 0] - x) < 0.02) & (np.abs(end[:, 1] - y) < 0.02) & (end[:, 2] < z + 0.02)
    return bool((near & ctx.facts.feed[:row]).any())


def _down_at_feed(ctx: Context, row: int, top_mm: float) -> str:
    facts, line = ctx.facts, int(ctx.program.motions.line[row])
    feed = slow_down_mm_min(ctx, int(facts.tool[row]), float(facts.rpm[row]))
    down = f"G1 Z {ctx.edit.mm(facts.motions.end_mm[row, 2], 0.001)}"  # the program's own number
    down += f" F {ctx.edit.feed_to_set(feed)}" if feed else " with a plunge feed"
    return f"in line {line} rapid to Z {ctx.edit.mm(top_mm + 1, 0.1)}, then write {down}"


@rule("RAPID-03", Severity.WARNING, "sideways from an unknown height", needs=("motions",),
      what="height of the first sideways motion")  # fmt: skip
def _unknown_height(ctx: Context) -> Iterator[Finding]:
    """The program moves sideways before it has set a height.

    Flags: motions in X or Y while the height is unknown, or set in the same block as the first sideways move: a
      warning at feed, a note at rapid, as many a program begins. A way home first (G28, G30, G53 with Z) is a height.
    Why: the cutter starts from wherever it was left: it may drag across plate, screws or clamps.
    Wrong: ``G0 X10 Y10`` as the first motion.
    Right: ``G0 Z10 / G0 X10 Y10``.
    Limits of the rule: none known.
    Source: common practice, no source.
    """
    facts, motions = ctx.facts, ctx.program.motions
    unknown = np.isnan(motions.start_mm[:, 2])
    end, start = motions.end_mm[:, :2], motions.start_mm[:, :2]
    sideways = ((end != start) & ~(np.isnan(end) & np.isnan(start))).any(axis=1)
    ends_home = (motions.flags & FLAG_HOME) != 0
    home = ends_home | ((motions.flags & FLAG_MACHINE) != 0)
    lifted = np.logical_or.accumulate(home & np.isnan(motions.end_mm[:, 2])) if facts.n else home
    rows = np.flatnonzero(unknown & sideways & motions.moves & ~ends_home & ~lifted)
    if len(rows):
        row = int(rows[0])
        together = bool(np.isfinite(motions.end_mm[row, 2]))
        yield ctx.say.finding(
            "RAPID-03",
            Severity.WARNING if facts.feed[rows].any() else Severity.NOTE,
            "the first sideways move sets the height in the same block, from an unknown one"
            if together
            else "moves sideways at a height the program has not set",
            rows=rows,
            action=f"lift first, alone: G0 Z {lift(ctx)}"
            if facts.travel_level_mm is not None
            else "write a G0 Z with a clear height, alone, before this line",
        )


@rule("RAPID-04", Severity.WARNING, "low rapid", needs=("motions",), what="rapid motions at cutting height")
def _low(ctx: Context) -> Iterator[Finding]:
    """A rapid moves sideways at a height where the program also cuts.

    Flags: sideways rapids below the travel height, at or below the highest sideways cut; below zero where most cuts
      are; or below where the ways down at feed begin. Where the stock is known, RAPID-01 judges those that meet
      material, and the others inside it are a note.
    Why: such a rapid drags the cutter through what stands between two features.
    Wrong: ``G1 Z-1 / G1 X20 / G0 X60``.
    Right: ``G1 Z-1 / G1 X20 / G0 Z5 / G0 X60``.
    Limits of the rule: whether material stands there is not known without the stock.
    Source: common practice, no source.
    """
    facts = ctx.facts
    level = facts.travel_level_mm
    known = ctx.setup is not None and ctx.setup.stock is not None
    work = facts.at_work_mm
    if level is None or work is None or not facts.cutting.any():
        return
    begins = np.flatnonzero(facts.rapid[:-1] & facts.straight_down[1:])
    if len(begins) and not known:
        work = max(work, float(np.median(facts.motions.end_mm[begins, 2])) - 0.01)
    rows = np.flatnonzero(
        facts.rapid & (facts.plan_mm > 0.1) & (facts.z_low < level - 0.01) & (facts.z_low < work)
        & (facts.inside & (ctx.removal is not None) if known else True)
    )  # fmt: skip
    if len(rows):
        worst = int(rows[np.argmin(facts.z_low[rows])])
        yield ctx.say.finding(
            "RAPID-04",
            Severity.NOTE if known else Severity.WARNING,
            f"rapid sideways at Z {ctx.say.mm(facts.z_low[worst])}, at the work; "
            f"elsewhere it travels at Z {ctx.say.mm(level)}",
            rows=rows,
            worst=worst,
            word="G",
            compared=(facts.z_low[worst], level, "mm"),
            action=f"lift to Z {ctx.edit.mm(level)} before line {int(facts.motions.line[worst])}",
        )


@rule("RAPID-05", Severity.WARNING, "rapid in height and plan at once", needs=("motions",),
      what="rapids that may not run straight")  # fmt: skip
def _dog_leg(ctx: Context) -> Iterator[Finding]:
    """One rapid block moves sideways and in height, to or from a low point.

    Flags: combined rapids with one end below the stock top (below the travel height where that is unknown).
    Why: many controllers do not run rapids in a straight line; each axis at its own speed cuts the corner.
    Wrong: ``G0 X50 Y20 Z-1``.
    Right: ``G0 Z5 / G0 X50 Y20 / G1 Z-1 F120``.
    Limits of the rule: which way your controller takes is unknown.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.5.1: coordinated; others differ, common practice.
    """
    facts = ctx.facts
    level = facts.top_mm if facts.top_mm is not None else facts.travel_level_mm
    if level is None:
        return
    mixed = facts.rapid & (facts.plan_mm > 0.1) & (np.abs(facts.dz) > 0.01)
    rows = np.flatnonzero(mixed & (facts.z_low < level - 0.01))
    if len(rows):
        worst = int(rows[np.argmin(facts.z_low[rows])])
        way = "down to" if facts.dz[worst] < 0 else "up from"
        yield ctx.say.finding(
            "RAPID-05",
            Severity.WARNING,
            f"a rapid goes sideways and {way} Z {ctx.say.mm(facts.z_low[worst])} in one block",
            rows=rows,
            worst=worst,
            word="Z",
            action="split it: lift first, then sideways, then down at feed",
        )


@rule("RAPID-06", Severity.STOP, "home by way of a low point", needs=("motions",), what="homing moves")
def _home_low(ctx: Context) -> Iterator[Finding]:
    """A homing move passes through a low point.

    Flags: G28 or G30 with axis words, whose intermediate point lies at or below the stock top (or the travel
      height where that is unknown).
    Why: in absolute mode the words are a point to pass through: ``G28 Z0`` dives to program zero first.
    Wrong: ``G90 G28 Z0`` with zero on the stock.
    Right: ``G91 G28 Z0 / G90``, or a plain ``G0 Z20``.
    Limits of the rule: where home is, and the way to it, are not in the program.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.5.8.
    """
    facts, motions = ctx.facts, ctx.program.motions
    level = facts.top_mm if facts.top_mm is not None else facts.travel_level_mm
    lines = {event.line for event in ctx.say.events("home")}
    if level is None:
        return
    end = motions.end_mm[:, 2]
    falls = ~(end >= motions.start_mm[:, 2])
    low = np.isfinite(end) & (end <= level + (0.0 if facts.top_mm is not None else -0.01)) & falls
    rows = np.flatnonzero(low & np.isin(motions.line, list(lines)) & facts.rapid)
    if len(rows):
        row = int(rows[0])
        yield ctx.say.finding(
            "RAPID-06",
            Severity.STOP,
            f"the homing move passes through Z {ctx.say.mm(end[row])}, at or below the stock's top"
            if facts.top_mm is not None
            else f"the homing move passes through Z {ctx.say.mm(end[row])}, below the travel height",
            rows=rows,
            word="Z",
            compared=(end[row], level, "mm"),
            action="use the incremental form (G91 G28 Z0, then G90) or a plain G0 to a clear height",
        )
