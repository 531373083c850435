"""A corrected copy: only F and S words change, and only as far as the limits ask."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.errors import InputError, ProgramError
from millcalc.findings import Finding
from millcalc.preflight.context import Context
from millcalc.preflight.run import Outcome
from millcalc.rewrite.corrected import Change, listed, needs, only_words_differ, written
from millcalc.rewrite.desk import Desk, judged, refuse_unreadable
from millcalc.rewrite.feed_band import feed_band
from millcalc.rewrite.feed_words import (
    WordChange,
)
from millcalc.rewrite.wanted_feeds import WantedFeeds, smooth_feeds, wanted_feeds
from millcalc.rewrite.wanted_speeds import corrected_speeds, with_words

Floats = NDArray[np.float64]
ROUNDS = 4  # corrections of corrections; more would mean that two limits pull against each other


@dataclass(frozen=True)
class Corrected:
    """A corrected copy and what was found in it.

    data: The copy.
    changes: In the order of the lines.
    before, after: What the checks find in the original and in the copy.
    left: Stops and warnings of the copy; while there are any it is not named good.
    context: The copy as checked.
    """

    data: bytes
    changes: tuple[Change, ...]
    before: Outcome
    after: Outcome
    left: tuple[Finding, ...]
    context: Context

    @property
    def good(self) -> bool:
        """Whether the checks of the copy found no stop and no warning."""
        return not self.left


def correct(desk: Desk, *, by_engagement: bool = False) -> Corrected:
    """Change the F and S words of a program so that its cuts stay within the limits.

    desk: The program and its job.
    by_engagement: Give every side cut and slot the chip of a first cut at its own engagement, instead of
      changing only what is outside the limits.
    Returns: The copy, read again, compared motion by motion, simulated and checked again.
    Raises InputError: If the job does not name machine, material and cutters, or the stock that the cut is
      simulated in.
    Raises ProgramError: If the program cannot be read to its end or runs in inverse time.
    """
    needs(desk)
    first = desk.look(desk.data)
    refuse_unreadable(first.program, desk.data)
    if first.removal is None:
        raise InputError(
            f"no simulated cut ({first.removal_missing})",
            "a job that names stock, zero and cutters",
            "complete the job",
            file=desk.name,
            field="--job",
        )
    if (first.program.motions.is_feed & (first.program.motions.feed_mode == 93)).any():
        row = int(np.flatnonzero(first.program.motions.feed_mode == 93)[0])
        raise ProgramError(
            "feed in inverse time (G93)",
            "feeds in mm/min (G94) or per revolution (G95)",
            "have the program written with G94",
            file=desk.name,
            line=int(first.program.motions.line[row]),
        )
    before, _ = judged(first)
    ctx, words = corrected_speeds(desk, first)
    speeds = dict(words)
    feeds: dict[int, tuple[WordChange, str]] = {}
    data = ctx.program.data
    wish: WantedFeeds | None = None
    base = ctx
    for _ in range(ROUNDS):
        band = feed_band(base)
        wish = wanted_feeds(base, band, by_engagement, wish, ctx)
        smooth_feeds(base, band, wish)
        data, feeds = written(desk, base, band, wish)
        ctx = with_words(desk, first, data)
        outcome, _ = judged(ctx)
        if not {f.code for f in outcome.findings} & {"FEED-05", "FEED-06"}:
            break
    only_words_differ(first.program, ctx.program)
    final = desk.look(data)
    after, left = judged(final)
    changes = listed(speeds, feeds)
    return Corrected(data, changes, before, after, left, final)
