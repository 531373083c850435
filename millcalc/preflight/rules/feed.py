"""Feeds and chips: is a feed set, can the machine do it, and does each tooth get a chip it can cut."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from millcalc.findings import Finding, Severity
from millcalc.gcode.motions import FLAG_FEED_UNKNOWN
from millcalc.preflight import tuning
from millcalc.preflight.context import Context
from millcalc.preflight.feed_model import FeedModel
from millcalc.preflight.registry import rule


@rule("FEED-01", Severity.STOP, "no feed set", what="whether a feed is set", needs=("motions",))
def _no_feed(ctx: Context) -> Iterator[Finding]:
    """A feed motion without a feed.

    Flags: G1, G2 or G3 before any F word, or with F0.
    Why: the controller halts, or moves at a feed left over from an earlier program.
    Wrong: ``G1 X20`` as the first feed motion.
    Right: ``G1 X20 F600``.
    Limits of the rule: none known.
    Source: NIST RS274/NGC Interpreter version 3 (2000), 3.5.2: it is an error if no feed has been set.
    """
    facts = ctx.facts
    feed = facts.motions.feed_mm_min
    unknown = (facts.motions.flags & FLAG_FEED_UNKNOWN) != 0
    rows = np.flatnonzero(facts.feed & (unknown | np.isnan(feed) | (feed <= 0)))
    if len(rows):
        zero = bool(feed[rows[0]] <= 0)
        yield ctx.say.finding(
            "FEED-01",
            Severity.STOP,
            "feed is zero: the machine stands in the cut"
            if zero
            else "motion at feed rate, but no feed has been set",
            rows=rows,
            word="F" if zero else "G",
            action="write an F word in or before this line",
        )


@rule("FEED-02", Severity.WARNING, "feed above the machine's top feed", needs=("machine", "motions"),
      what="feed against the machine's top feed of each axis")  # fmt: skip
def _above_machine(ctx: Context, feeds: FeedModel) -> Iterator[Finding]:
    """The feed asks an axis for more than it can do.

    Flags: motions whose feed, split over the axes, exceeds the top feed of one of them.
    Why: the controller slows down (then the chip is thinner than planned) or the axis loses steps.
    Wrong: ``G1 Z-2 F3000`` on a Z axis that ends at 1000 mm/min.
    Right: a feed every axis can follow.
    Limits of the rule: for arcs the slower of the two axes of the plane counts.
    Source: the machine table of the job.
    """
    facts = ctx.facts
    top = feeds.top_feed_mm_min
    asked = facts.feed_mm_min
    rows = np.flatnonzero(facts.feed & (asked > top + 1e-6))
    if len(rows):
        worst = int(rows[np.argmax(asked[rows] / top[rows])])
        yield ctx.say.finding(
            "FEED-02",
            Severity.WARNING,
            f"F {ctx.say.feed(asked[worst])} in a direction where the machine ends at {ctx.say.feed(top[worst])}",
            rows=rows,
            worst=worst,
            word="F",
            compared=(asked[worst], top[worst], "mm/min"),
            action=f"F {ctx.edit.feed_to_set(top[worst])}, and the speed in proportion so that the chip stays",
        )


@rule("FEED-05", Severity.WARNING, "side cut at the plunge's feed", what="feeds inherited from a plunge",
      needs=("motions",))  # fmt: skip
def _plunge_feed_kept(ctx: Context) -> Iterator[Finding]:
    """The feed of a plunge carries on into the side cut.

    Flags: a side cut straight after a plunge at the plunge's feed without its own F word, while side cuts
      elsewhere in the program run at more than twice that feed.
    Why: the outline crawls at plunge feed and rubs.
    Wrong: ``G1 Z-1 F100 / G1 X50`` (F600 elsewhere).
    Right: ``G1 Z-1 F100 / G1 X50 F600``.
    Limits of the rule: a program that always runs that slowly is left to FEED-04.
    Source: common practice, no source.
    """
    facts = ctx.facts
    feed = facts.motions.feed_mm_min
    side = facts.cutting & facts.sideways & np.isfinite(feed)
    if not side.any():
        return
    usual = float(np.max(feed[side]))
    after = np.zeros(facts.n, bool)
    after[1:] = facts.going_down[:-1] & (facts.drop_deg[:-1] > 45) & side[1:] & (feed[1:] == feed[:-1])
    rows = np.flatnonzero(after & (feed < usual / 2))
    if len(rows):
        worst = int(rows[0])
        yield ctx.say.finding(
            "FEED-05",
            Severity.WARNING,
            f"the side cut keeps the plunge's feed, {ctx.say.feed(feed[worst])}; "
            f"others run at {ctx.say.feed(usual)}",
            rows=rows,
            worst=worst,
            word="G",
            compared=(feed[worst], usual, "mm/min"),
            action=f"write F {ctx.edit.feed(usual)} in this line if it was meant to run like the others",
        )


@rule("FEED-06", Severity.WARNING, "feed never reached", needs=("machine", "motions"),
      what="the feed that acceleration lets the machine reach")  # fmt: skip
def _not_reached(ctx: Context, feeds: FeedModel) -> Iterator[Finding]:
    """The machine spends much of the cut below the feed asked for.

    Flags: more than a fifth of the cutting time below 70 % of the feed, even if it did not stop at corners.
    Why: the chip is then thinner than planned, and the run takes longer than the feeds say.
    Wrong: a 1 mm radius pocket at F1500 on a machine with 200 mm/s2.
    Right: a lower speed with a lower feed in such places, so that the chip stays.
    Limits of the rule: how a controller takes corners is unknown; this is the case without stops at corners.
    Source: v squared = a r and v squared = 2 a s; the 70 % is common practice, no source.
    """
    facts = ctx.facts
    mean = feeds.mean_quick_mm_min
    cut = facts.cutting & np.isfinite(mean) & np.isfinite(facts.feed_mm_min)
    time = feeds.time_quick_s
    slow = cut & (mean < tuning.REACHED_SHARE * facts.feed_mm_min)
    rows = np.flatnonzero(slow)
    if not len(rows):
        return
    share = float(np.nansum(time[slow]) / np.nansum(time[cut]))
    if share > tuning.SLOW_TIME_SHARE:
        ratio = mean[rows] / facts.feed_mm_min[rows]
        worst = int(rows[np.argmin(ratio)])
        reached = float(np.nansum(feeds.length_mm[slow]) / np.nansum(time[slow]) * 60)
        asked = float(facts.feed_mm_min[worst])
        yield ctx.say.finding(
            "FEED-06",
            Severity.WARNING,
            f"{100 * share:.0f} % of the cutting time runs below 70 % of the feed; "
            f"at the worst place {ctx.say.feed(mean[worst])} of {ctx.say.feed(asked)}",
            rows=rows,
            worst=worst,
            word="F",
            compared=(share, tuning.SLOW_TIME_SHARE, "of the time"),
            action=f"for these passages F {ctx.edit.feed_to_set(reached)} and the speed lowered by the "
            f"same factor ({reached / asked:.2f}) keep the planned chip",
        )
