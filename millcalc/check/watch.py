"""When to stand at the machine: first plunge, through cuts, tabs, stops, changes of cutter."""

from __future__ import annotations

import numpy as np

from millcalc.check.model import Watch
from millcalc.preflight.context import Context
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
            rows.setdefault(piece.motion, "a piece comes free")
    quick = np.concatenate([[0.0], np.cumsum(np.nan_to_num(model.time_quick_s))])
    strict = np.concatenate([[0.0], np.cumsum(np.nan_to_num(model.time_strict_s))])
    return tuple(
        Watch(
            line=int(facts.motions.line[row]),
            from_s=round(float(quick[row]), 1),
            to_s=round(float(strict[row]), 1),
            what=rows[row],
        )
        for row in sorted(rows)[:MOST]
    )
