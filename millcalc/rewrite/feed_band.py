"""The feeds each motion of a program may have: from the same limits that the checks hold it against."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from millcalc.limits.entries import DRILLS
from millcalc.limits.judge import depth_uses
from millcalc.limits.request import CutRequest
from millcalc.limits.tuning import RAMP_FEED_SHARE
from millcalc.mechanics.chip import max_chip_mm
from millcalc.preflight.context import Context
from millcalc.preflight.entry_feed import most_down_mm_min, slow_down_mm_min
from millcalc.preflight.facts import STEEP_DEG
from millcalc.preflight.limits import SLOT_SHARE, Limits, chip_tops_mm, limits, tooling
from millcalc.rewrite import tuning

if TYPE_CHECKING:
    from millcalc.limits.tooling import Tooling

Floats = NDArray[np.float64]
STEPS = 20  # chips tried between the thinnest that cuts and the top of the band
MOST_CASES = 3000  # different cuts that are judged one by one; beyond, they are rounded more coarsely


STRAIGHT_DOWN = "what the end of the cutter takes straight down"


@dataclass
class FeedBand:
    """Feeds each motion may have; arrays (n,) with NaN where nothing is known.

    high_mm_min: Highest feed that every limit allows; infinite where none applies [mm/min].
    low_mm_min: Feed below which the edge rubs; 0 where it does not matter [mm/min].
    begin_mm_min: Feed that gives a chip where the band begins, no higher than `high_mm_min` [mm/min].
    gentle_mm_min: Feed that gives the chip a first cut should have at this engagement, within the limits
      [mm/min].
    by: Which limit makes the highest feed.
    """

    high_mm_min: Floats
    low_mm_min: Floats
    begin_mm_min: Floats
    gentle_mm_min: Floats
    by: NDArray[np.object_]

    def cap(self, rows: NDArray[np.intp], feed_mm_min: Floats, why: str) -> None:
        """Lower the highest feed of some motions.

        rows: Rows of the motion table [-].
        feed_mm_min: New highest feed [mm/min].
        why: Name of the limit.
        """
        lower = feed_mm_min < self.high_mm_min[rows]
        self.high_mm_min[rows[lower]] = feed_mm_min[lower]
        self.by[rows[lower]] = why


def feed_band(ctx: Context) -> FeedBand:
    """Compute the feeds each motion may have at its speed and simulated engagement.

    ctx: Program, job with machine, material and cutters, and the simulated cut.
    Returns: One entry a motion.

    Note: The limits are the whole ones (no first-cut reserve), as in the checks: chip-load band, force,
      deflection and strength at the simulated depth and width, plunge and ramp, and what the axes can do.
    """
    facts = ctx.facts
    n = facts.n
    band = FeedBand(
        np.where(facts.feed, np.inf, np.nan), np.zeros(n), np.full(n, np.nan), np.full(n, np.nan),
        np.full(n, "", dtype=object),
    )  # fmt: skip
    if ctx.feeds is not None:
        rows = np.flatnonzero(facts.feed & np.isfinite(ctx.feeds.top_feed_mm_min))
        band.cap(rows, ctx.feeds.top_feed_mm_min[rows], "the machine's top feed")
    for tool, rows in facts.split(facts.feed & np.isfinite(facts.rpm) & (facts.rpm > 0)):
        fitted, bound = facts.fitted(tool), limits(ctx, tool)
        if fitted is None or bound is None or fitted.cutter.kind in DRILLS:
            continue
        per_mm = fitted.cutter.flutes * facts.rpm  # feed for 1 mm a tooth
        _entries(ctx, band, rows, bound, per_mm, tool)
        _chips(ctx, band, rows[facts.cutting[rows] & facts.milling[rows]], bound, per_mm, tool)
        found = tooling(ctx, tool)
        if not isinstance(found, str):
            _forces(ctx, band, rows[facts.cutting[rows] & facts.milling[rows]], bound, per_mm, found)
    band.begin_mm_min = np.fmin(band.begin_mm_min, band.high_mm_min)
    band.gentle_mm_min = np.fmin(np.fmax(band.gentle_mm_min, band.low_mm_min), band.high_mm_min)
    return band


def chip_factor(ctx: Context, rows: NDArray[np.intp], diameter_mm: float) -> Floats:
    """Thickest chip of each motion for a feed of 1 mm a tooth.

    ctx: Program and simulated cut.
    rows: Motions [-].
    diameter_mm: Cutter diameter [mm].
    Returns: Chip over feed per tooth, at most 1 [-].
    """
    width = np.clip(np.nan_to_num(ctx.facts.width_mm[rows], nan=diameter_mm), 1e-6, diameter_mm)
    return np.asarray(max_chip_mm(np.ones(len(rows)), width, diameter_mm), dtype=np.float64)


def _chips(
    ctx: Context, band: FeedBand, rows: NDArray[np.intp], bound: Limits, per_mm: Floats, tool: int
) -> None:
    facts = ctx.facts
    fitted = facts.fitted(tool)
    if not len(rows) or fitted is None or ctx.setup is None or ctx.setup.material is None:
        return
    factor = chip_factor(ctx, rows, fitted.cutter.diameter_mm)
    scale = per_mm[rows] / factor
    tops = chip_tops_mm(ctx, tool, facts.width_mm[rows])
    if tops is not None:
        band.cap(rows, tops[1] * scale, "the top of the chip-load band")
    flat = facts.milling[rows]
    band.low_mm_min[rows[flat]] = (bound.min_chip_mm * scale)[flat]
    band.begin_mm_min[rows[flat]] = (max(bound.chip_low_mm, bound.min_chip_mm) * scale)[flat]
    found = tooling(ctx, tool)
    if isinstance(found, str):
        return
    slot = facts.width_mm[rows] >= SLOT_SHARE * fitted.cutter.diameter_mm
    for cut, some in (("slot", slot), ("side", ~slot)):
        start = found.chip_band_mm("slot" if cut == "slot" else "side")[1]
        band.gentle_mm_min[rows[flat & some]] = (start * scale)[flat & some]


def _entries(
    ctx: Context, band: FeedBand, rows: NDArray[np.intp], bound: Limits, per_mm: Floats, tool: int
) -> None:
    facts = ctx.facts
    down = rows[facts.cutting[rows] & facts.going_down[rows] & (facts.drop_deg[rows] > 0.5)]
    sine = np.sin(np.radians(facts.drop_deg[down]))
    flutes = round(float(per_mm[down][0] / facts.rpm[down][0])) if len(down) else 1
    plunge = most_down_mm_min(ctx, tool, bound, flutes, facts.rpm[down])
    steep = facts.drop_deg[down] > STEEP_DEG
    band.cap(down[steep], (plunge / sine)[steep], STRAIGHT_DOWN)
    for rpm in np.unique(facts.rpm[down[steep]]):
        # a plunge that has to be slowed gets the feed that settings give, as the check's remedy says
        slow, these = slow_down_mm_min(ctx, tool, float(rpm)), down[steep & (facts.rpm[down] == rpm)]
        if slow is not None:
            band.begin_mm_min[these] = slow / np.sin(np.radians(facts.drop_deg[these]))
    ramp = np.minimum(plunge / sine, RAMP_FEED_SHARE * bound.chip_high_mm * per_mm[down])
    band.cap(down[~steep], ramp[~steep], "what a ramp takes")


def _forces(
    ctx: Context, band: FeedBand, rows: NDArray[np.intp], bound: Limits, per_mm: Floats, found: Tooling
) -> None:
    facts, diameter = ctx.facts, found.cutter.diameter_mm
    rows = rows[np.isfinite(facts.depth_mm[rows]) & (facts.depth_mm[rows] > 1e-3)]
    if not len(rows):
        return
    width = np.clip(np.nan_to_num(facts.width_mm[rows], nan=diameter), 0.01 * diameter, diameter)
    slot = width >= SLOT_SHARE * diameter
    columns = np.column_stack([facts.rpm[rows], facts.depth_mm[rows], np.where(slot, diameter, width), slot])
    digits = 4
    while True:
        scale = np.maximum(columns.max(axis=0), 1e-12) / 10.0**digits
        cases, back = np.unique(np.ceil(columns / scale - 1e-6), axis=0, return_inverse=True)
        if len(cases) <= MOST_CASES or digits <= 2:
            break
        digits -= 1
    cases = cases * scale
    if digits == 4:  # nothing was joined: judge what is there, not its rounding
        cases = columns[np.unique(back.reshape(-1), return_index=True)[1]]
    most, by = np.zeros(len(cases)), np.full(len(cases), "", dtype=object)
    for is_slot in (True, False):
        some = np.flatnonzero((cases[:, 3] > 0.5) == is_slot)
        for part in np.array_split(some, max(1, len(some) // 400)):
            if len(part):
                most[part], by[part] = _thickest(found, cases[part], is_slot, bound)
    back = back.reshape(-1)
    high = most[back] * per_mm[rows]
    lower = high < band.high_mm_min[rows]
    band.high_mm_min[rows[lower]] = high[lower]
    band.by[rows[lower]] = by[back][lower]


def _thickest(found: Tooling, cases: Floats, slot: bool, bound: Limits) -> tuple[Floats, NDArray[np.object_]]:
    """Largest feed per tooth at which every force limit holds [mm]; 0 where none does."""
    from millcalc.limits.table import TITLES

    request = CutRequest("slot" if slot else "side", proven=True)
    diameter = found.cutter.diameter_mm
    factor = np.asarray(max_chip_mm(np.ones(len(cases)), np.minimum(cases[:, 2], diameter), diameter))
    chips = np.geomspace(0.5 * min(bound.min_chip_mm, bound.chip_low_mm), 1.02 * bound.chip_high_mm, STEPS)
    feed = chips[None, :] / factor[:, None]
    uses = depth_uses(found, request, cases[:, :1], feed, cases[:, 1:2], cases[:, 2:3])
    table = np.stack(list(uses.values()))
    worst, which = table.max(axis=0), table.argmax(axis=0)
    holds = worst <= tuning.CORRECT_RESERVE
    count = np.where(
        holds.all(axis=1), STEPS, np.argmin(holds, axis=1)
    )  # chips that hold, from the thinnest on
    index = np.arange(len(cases))
    below, above = np.maximum(count - 1, 0), np.minimum(count, STEPS - 1)
    low, high = worst[index, below], worst[index, above]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.clip((tuning.CORRECT_RESERVE - low) / (high - low), 0.0, 1.0)
    between = feed[index, below] + np.nan_to_num(share) * (feed[index, above] - feed[index, below])
    most = np.where(count == 0, 0.0, np.where(count == STEPS, np.inf, between))
    names = np.array([TITLES[key] for key in uses], dtype=object)
    return most, names[which[index, above]]
