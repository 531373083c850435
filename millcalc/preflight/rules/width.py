"""How wide the cutter bites where it comes in, and whether a wall is ever finished."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, Severity
from millcalc.preflight.context import Context
from millcalc.preflight.registry import rule
from millcalc.stock.result import SIDE_SLOT, Removal

WIDE_RAD = np.radians(120.0)  # rad; more than this counts as full width
FULL_FEED = 0.8  # of the tool's largest feed; from here on it counts as full
LEVEL_MM = 0.05  # mm; cuts this close to a tool's lowest one belong to its last level
FINISH_SHARE = 0.2  # of the diameter; a finishing cut is no wider
LEAST_DIAMETERS = 5.0  # path of the last level below which nothing is said [diameters]


@rule("DEPTH-07", Severity.NOTE, "enters at full width and full feed", needs=("cutters", "removal", "motions"),
      what="the width at which the cutter comes in")  # fmt: skip
def _wide_entry(ctx: Context, removal: Removal) -> Iterator[Finding]:
    """The cutter comes from the air straight into a full-width cut at full feed.

    Flags: level feed motions that start beside the stock, reach more than 120 degrees of engagement and run at
      the tool's full feed.
    Why: the load comes on at once; that is where cutters snap at the start of a pocket or outline.
    Wrong: a slot begun from beside the plate at F390.
    Right: the first diameter at half the feed, or an arc into the cut.
    Limits of the rule: entries from a place already cut free inside the stock are not looked at.
    Source: common practice, no source.
    """
    facts = ctx.facts
    stock = ctx.setup.stock if ctx.setup else None
    if stock is None:
        return
    start = facts.motions.start_mm
    x, y = start[:, 0], start[:, 1]
    beside = (x < stock.x_min) | (x > stock.x_max) | (y < stock.y_min) | (y > stock.y_max)
    wide = beside & facts.sideways & facts.feed & ~facts.going_down
    wide &= removal.engagement_rad > WIDE_RAD
    for tool, rows in facts.split(wide):
        full = float(np.fmax.reduce(facts.feed_mm_min[facts.tool == tool]))
        rows = rows[facts.feed_mm_min[rows] >= max(FULL_FEED * full, 1e-9)]
        if not len(rows):
            continue
        worst = int(rows[np.argmax(removal.engagement_rad[rows])])
        degrees = float(np.degrees(removal.engagement_rad[worst]))
        yield ctx.say.finding(
            "DEPTH-07",
            Severity.NOTE,
            f"T{tool} comes in at {degrees:.0f} degrees of engagement and F {ctx.say.feed(full)}",
            rows=rows,
            worst=worst,
            word="F",
            action=f"run the first diameter at F {ctx.edit.feed_to_set(0.5 * full)}, or come in on an arc",
            compared=(degrees, float(np.degrees(WIDE_RAD)), "deg"),
        )


@rule("DEPTH-08", Severity.NOTE, "walls are never finished", needs=("cutters", "removal", "motions"),
      what="finishing passes")  # fmt: skip
def _no_finish(ctx: Context, removal: Removal) -> Iterator[Finding]:
    """Every wall is last touched by a cut at full width.

    Flags: tools whose sideways cuts on their lowest level are all at full width and longer than 5 diameters.
    Why: in a slot the cutter bends to both sides; walls keep its marks and lean, and sizes come out off.
    Wrong: an outline cut as a slot to its final size.
    Right: 0.1 to 0.2 mm left on the wall and taken off in one last narrow pass.
    Limits of the rule: only the lowest level of each tool is looked at; a rough part needs no finishing pass.
    Source: common practice, no source.
    """
    facts = ctx.facts
    for tool, rows, fitted in ctx.by_cutter(facts.cutting & facts.sideways):
        low = facts.z_low[rows]
        last = rows[low <= low.min() + LEVEL_MM]
        diameter = fitted.cutter.diameter_mm
        length = float(np.nansum(facts.motions.length_mm[last]))
        narrow = removal.radial_width_mm[rows] <= FINISH_SHARE * diameter
        slots = removal.side[last] == SIDE_SLOT
        if length < LEAST_DIAMETERS * diameter or not slots.all() or narrow.any():
            continue
        yield ctx.say.finding(
            "DEPTH-08",
            Severity.NOTE,
            f"T{tool} leaves every wall with a full-width cut",
            rows=last,
            action="leave 0.1 to 0.2 mm on walls that matter and take it off in one narrow pass",
        )
