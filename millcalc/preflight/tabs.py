"""Finds tabs: short lifts within the passes that go through the stock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from millcalc.preflight.context import Context

LONGEST_TAB_MM = 40.0  # mm; a longer lift is another feature
THROUGH_MM = 0.3  # mm; a pass this close to the underside is meant to go through


@dataclass(frozen=True, slots=True)
class Tab:
    """One tab.

    up, side, down: Rows of the lift, the (first) way across and the way down [-].
    top_mm, low_mm: Height of the cutter over the tab and beside it [mm].
    length_mm: Way of the cutter's centre across the tab [mm].
    """

    up: int
    side: int
    down: int
    top_mm: float
    low_mm: float
    length_mm: float


def find_tabs(ctx: Context) -> list[Tab]:
    """Tabs left by the passes that go through the stock.

    ctx: Program and a set-up with a known underside.
    Returns: In program order; empty when the underside is unknown.

    Note: A tab is a rise at feed rate out of a pass that reaches the underside (within 0.3 mm), one or more
      level feed motions above, no longer than 40 mm in all, and a way down again to the same depth. The
      slopes of ramped tabs count half to the length.
    """
    facts, bottom = ctx.facts, ctx.facts.bottom_mm
    if bottom is None or facts.top_mm is None:
        return []
    start, end = facts.motions.start_mm[:, 2], facts.motions.end_mm[:, 2]
    lifts = np.flatnonzero(
        facts.feed & (start <= bottom + THROUGH_MM) & (end > start + 0.05) & (end < facts.top_mm - 0.02)
    )
    tabs: list[Tab] = []
    for up in lifts.tolist():
        row, length = up + 1, float(facts.plan_mm[up]) / 2
        while row < facts.n and facts.feed[row] and abs(facts.dz[row]) < 1e-6 and length < LONGEST_TAB_MM:
            length += float(facts.plan_mm[row])
            row += 1
        if row == up + 1 or row >= facts.n or not facts.going_down[row] or length > LONGEST_TAB_MM:
            continue
        if end[row] > start[up] + 0.05:
            continue
        length += float(facts.plan_mm[row]) / 2
        tabs.append(Tab(up, up + 1, row, float(end[up]), float(start[up]), length))
    return tabs
