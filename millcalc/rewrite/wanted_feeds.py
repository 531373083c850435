"""The feed that every motion of a corrected copy should have, and why."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.preflight.context import Context
from millcalc.preflight.tuning import REACHED_SHARE, SLOW_TIME_SHARE
from millcalc.rewrite import tuning
from millcalc.rewrite.feed_band import STRAIGHT_DOWN, FeedBand
from millcalc.rewrite.smooth import ladder, without_peaks

Floats = NDArray[np.float64]


@dataclass
class WantedFeeds:
    """Wanted feeds so far: one entry a motion.

    feed_mm_min: Feed [mm/min].
    changed: Whether it is not the program's own.
    why: What asked for it.
    """

    feed_mm_min: Floats
    changed: NDArray[np.bool_]
    why: NDArray[np.object_]

    def set(self, rows: NDArray[np.intp], feed_mm_min: Floats, why: str | NDArray[np.object_]) -> None:
        """Want other feeds of some motions."""
        self.feed_mm_min[rows] = feed_mm_min
        self.changed[rows] = True
        self.why[rows] = why


def wanted_feeds(
    ctx: Context, band: FeedBand, by_engagement: bool, last: WantedFeeds | None, now: Context
) -> WantedFeeds:
    """The feed every motion should have.

    ctx: The program before this round.
    band: What each motion may be fed at.
    by_engagement: Give side cuts and slots the chip of a first cut at their own engagement.
    last, now: Wanted in the round before, and the copy as checked after it.
    Returns: One entry a motion.
    """
    facts = ctx.facts
    own = np.where(facts.feed, facts.feed_mm_min, np.nan)
    wish = WantedFeeds(own.copy(), np.zeros(facts.n, bool), np.full(facts.n, "", dtype=object))
    possible = facts.feed & (band.high_mm_min > 0) & (band.high_mm_min >= band.low_mm_min)
    if by_engagement:
        rows = np.flatnonzero(possible & facts.sideways & facts.cutting & np.isfinite(band.gentle_mm_min))
        feed = np.fmax(ladder(band.gentle_mm_min[rows], tuning.FEED_LADDER), band.low_mm_min[rows])
        wish.set(rows, feed, "the engagement here")
    with np.errstate(invalid="ignore"):
        none = np.flatnonzero(possible & ~(own > 0) & np.isfinite(band.begin_mm_min))
        slow = np.flatnonzero(possible & (wish.feed_mm_min < band.low_mm_min * 0.999))
        fast = np.flatnonzero(possible & (wish.feed_mm_min > band.high_mm_min * (1 + 1e-6)))
    wish.set(none, band.begin_mm_min[none], "no feed was set")
    wish.set(slow, band.begin_mm_min[slow], "the smallest chip that still cuts")
    down = band.by[fast] == STRAIGHT_DOWN
    wish.set(fast, np.where(down, band.begin_mm_min[fast], band.high_mm_min[fast]), band.by[fast])
    if last is not None:
        _second_thoughts(ctx, band, wish, last, now)
    return wish


def _second_thoughts(
    ctx: Context, band: FeedBand, wish: WantedFeeds, last: WantedFeeds, now: Context
) -> None:
    """What the checks of the copy found: a plunge's feed that carries on, feeds the machine never reaches."""
    facts = ctx.facts
    wish.feed_mm_min, wish.changed, wish.why = last.feed_mm_min, last.changed, last.why
    feed = now.facts.feed_mm_min
    side = facts.cutting & facts.sideways & np.isfinite(feed)
    usual = float(np.max(feed[side])) if side.any() else 0.0
    after = np.zeros(facts.n, bool)
    if facts.n:
        after[1:] = facts.going_down[:-1] & (facts.drop_deg[:-1] > 45) & side[1:] & (feed[1:] == feed[:-1])
    carried = np.flatnonzero(after & (feed < usual / 2) & (band.high_mm_min > feed))
    wish.set(carried, np.fmin(usual, band.high_mm_min[carried]), "the plunge's feed carried on")
    model = now.feeds
    assert model is not None
    reached = model.mean_quick_mm_min
    with np.errstate(invalid="ignore"):
        slow = side & (reached < REACHED_SHARE * feed)
    time = model.time_quick_s
    total = float(np.nansum(time[side]))
    if total > 0 and float(np.nansum(time[slow])) / total > SLOW_TIME_SHARE:
        rows = np.flatnonzero(slow & (band.high_mm_min >= band.low_mm_min))
        value = np.fmax(reached[rows], np.fmin(band.low_mm_min[rows], feed[rows]))
        wish.set(rows, value, "what the machine reaches here")


def smooth_feeds(ctx: Context, band: FeedBand, wish: WantedFeeds) -> None:
    """Leave out short rises beside changed feeds.

    ctx: The program.
    band: What each motion may be fed at.
    wish: Wanted feeds; changed in place.
    """
    facts = ctx.facts
    if not wish.changed.any():
        return
    breaks = ~facts.feed | ~facts.cutting
    run = np.cumsum(breaks).astype(np.int64)
    inside = facts.feed & facts.cutting & facts.sideways
    values = np.where(inside, wish.feed_mm_min, np.nan)
    level = without_peaks(values, facts.motions.length_mm, run, tuning.SMOOTH_MM)
    touched = np.zeros(int(run[-1]) + 1 if len(run) else 1, bool)
    touched[run[wish.changed & inside]] = True
    with np.errstate(invalid="ignore"):
        lower = inside & (level < wish.feed_mm_min) & touched[run] & (level >= band.low_mm_min)
    rows = np.flatnonzero(lower)
    wish.set(rows, level[rows], "no flutter between lower feeds")


def idle_motions(ctx: Context) -> NDArray[np.bool_]:
    """Motions that cut nothing but run inside the stock's outline below its top, and short ones anywhere.

    ctx: The program.
    Returns: One entry a motion [-].
    """
    facts = ctx.facts
    short = np.nan_to_num(facts.motions.length_mm, nan=np.inf) <= tuning.SMOOTH_MM
    return np.asarray(~facts.feed | (~facts.cutting & (short | facts.inside)))
