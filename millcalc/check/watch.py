"""When to stand at the machine: first plunge, through cuts, tabs, stops, changes of cutter."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from millcalc.check.model import Watch
from millcalc.preflight.context import Context
from millcalc.preflight.moments import release
from millcalc.preflight.tabs import find_tabs

MOST = 8


def watch_list(ctx: Context) -> tuple[Watch, ...]:
    """Moments of the run to be present at.

    ctx: Program and a set-up with a machine.
    Returns: In order of time, eight at most.
    """
    facts, model = ctx.facts, ctx.feeds
    if model is None:
        return ()
    rows: dict[int, str] = {}
    shares: dict[int, float] = {}
    if facts.first_cut is not None:
        rows[facts.first_cut] = "first cut"
    if facts.bottom_mm is not None:
        through = np.flatnonzero(facts.cutting & (facts.z_low <= facts.bottom_mm + 1e-6))
        if len(through):
            rows.setdefault(int(through[0]), "first cut through the stock")
    tabs = find_tabs(ctx)
    if tabs:
        rows.setdefault(tabs[0].up, "first tab")
    for kind, text in (("stop", "program stop"), ("tool change", "change of cutter")):
        for event in ctx.say.events(kind)[:4]:
            if 0 < event.motion < facts.n:
                rows.setdefault(event.motion, text)
    if ctx.removal is not None:
        for piece in ctx.removal.loose[:2]:
            if piece.motion not in rows:
                rows[piece.motion], shares[piece.motion] = "a piece comes free", release(ctx, piece)
    quick = np.concatenate([[0.0], np.cumsum(np.nan_to_num(model.time_quick_s))])
    strict = np.concatenate([[0.0], np.cumsum(np.nan_to_num(model.time_strict_s))])
    return tuple(
        Watch(
            line=int(facts.motions.line[row]),
            from_s=_within(quick, row, shares.get(row, 0.0)),
            to_s=_within(strict, row, shares.get(row, 0.0)),
            what=rows[row],
        )
        for row in sorted(rows)[:MOST]
    )


def _within(clock: NDArray[np.float64], row: int, share: float) -> float:
    """Moment at a share of a motion [s]."""
    return round(float(clock[row] + share * (clock[row + 1] - clock[row])), 1)
