"""The one edit that brings a cut within every limit at once: so many passes, at such a feed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding
from millcalc.limits.judge import depth_uses
from millcalc.limits.request import CutRequest
from millcalc.limits.tuning import SMALLEST_DEPTH_MM
from millcalc.mechanics.chip import max_chip_mm
from millcalc.preflight.context import Context
from millcalc.preflight.limits import chip_tops_mm
from millcalc.preflight.uses import CutUses

HARDEST = 200  # cuts that are tried; the hardest of them decide


@dataclass(frozen=True, slots=True)
class Remedy:
    """What a cut has to become.

    passes: Equal passes instead of one [-]; None when no depth worth cutting remains.
    depth_mm: Depth of each of them at the hardest place [mm].
    feed_mm_min: New feed; None where the feed may stay [mm/min].
    """

    passes: int | None
    depth_mm: float
    feed_mm_min: float | None


def cut_remedy(ctx: Context, cut: CutUses, over: NDArray[np.bool_], feed: Finding | None) -> Remedy:
    """Fewest equal passes at which every limit holds, with a first cut's reserve unless the job says proven.

    ctx: Program and set-up.
    cut: The cuts of one tool.
    over: Which of them are beyond a limit or the reserve.
    feed: The finding on their chip, which asks for another feed; None when the feed may stay.
    Returns: The remedy.
    """
    worst, _ = cut.worst()
    some = np.flatnonzero(over)[np.argsort(worst[over])[::-1][:HARDEST]]
    proven = ctx.proven
    asked, scale = None, np.ones(len(cut.rows))
    if feed is not None and feed.measured and feed.limit and feed.motion is not None:
        was = float(ctx.facts.feed_mm_min[feed.motion])
        asked = was * _chip_wanted_mm(ctx, cut.tool, feed, feed.limit) / feed.measured
        if asked > was:
            asked = ctx.edit.no_slower_mm_min(asked)
        scale[ctx.facts.feed_mm_min[cut.rows] == was] = asked / was
    deepest = float(cut.depth_mm[some].max())
    most = max(1, int(deepest / SMALLEST_DEPTH_MM))
    if not _fits(cut, some, scale, proven, most):
        return Remedy(None, 0.0, asked)
    low, high = 0, most  # fits at high, not at low
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _fits(cut, some, scale, proven, middle) else (middle, high)
    return Remedy(high, float(cut.depth_mm[some[0]]) / high, asked)


def _chip_wanted_mm(ctx: Context, tool: int, feed: Finding, limit_mm: float) -> float:
    """The chip that the edit gives [mm]: a first cut's where it was too thick, else what the finding asks for."""
    if feed.code != "FEED-03" or ctx.proven or feed.motion is None:
        return limit_mm
    found = chip_tops_mm(ctx, tool, ctx.facts.width_mm[[feed.motion]])
    return limit_mm if found is None else float(found[0][0])


def same_feed(ctx: Context, head: Finding, feed: Finding) -> bool:
    """Whether a finding on the chip asks for another feed at the place of another finding, too.

    ctx: Program and set-up.
    head: The other finding.
    feed: The finding on the chip: too thick or too thin.
    Returns: True where both places run at one feed, and the chip is wrong the same way at both.
    """
    facts = ctx.facts
    if head.motion is None or feed.motion is None or feed.limit is None or feed.measured is None:
        return False
    if facts.feed_mm_min[head.motion] != facts.feed_mm_min[feed.motion]:
        return False
    diameter = float(facts.diameter_mm[head.motion])
    width = min(max(float(np.nan_to_num(facts.width_mm[head.motion], nan=diameter)), 1e-6), diameter)
    chip = float(np.asarray(max_chip_mm(float(facts.chip_mm[head.motion]), width, diameter)))
    return chip > feed.limit if feed.measured > feed.limit else chip < feed.limit


def _fits(
    cut: CutUses, some: NDArray[np.intp], scale: NDArray[np.float64], proven: bool, passes: int
) -> bool:
    diameter = cut.tooling.cutter.diameter_mm
    slot = cut.slots()[some]
    for kind, mine in (("slot", some[slot]), ("side", some[~slot])):
        if len(mine):
            request = CutRequest("slot" if kind == "slot" else "side", proven=proven)
            width = diameter if kind == "slot" else cut.width_mm[mine]
            depth, chip = cut.depth_mm[mine] / passes, cut.chip_mm[mine] * scale[mine]
            used = depth_uses(cut.tooling, request, cut.rpm[mine], chip, depth, width)
            if any(float(np.max(use)) > 1.0 + 1e-9 for use in used.values()):
                return False
    return True
