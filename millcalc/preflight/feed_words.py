"""Where a new feed word belongs, so that it changes the cuts that are meant and no others; what goes with a speed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Span
from millcalc.preflight.context import Context
from millcalc.preflight.facts import STILL_MM
from millcalc.tables.models import Machine

# farther below the lowest speed than this is no plan, but S1800 for S18000; common practice, no source
MISSING_DIGIT = 2.0


@dataclass(frozen=True, slots=True)
class FeedEdit:
    """A feed word to write, and the one to restore after it.

    span: Where it belongs; None where the word that stands there can simply be changed.
    words: The edit in words, for the end of a remedy; empty where there is nothing to add.
    """

    span: Span | None
    words: str


def feed_edit(ctx: Context, bad: NDArray[np.intp], worst: int) -> FeedEdit:
    """The edit that changes the feed of some cuts, and leaves the others that share their feed word alone.

    ctx: Program and set-up.
    bad: Rows whose feed has to change, ascending [-].
    worst: One of them [-].
    Returns: The edit at the passage around `worst`.
    """
    facts, motions = ctx.facts, ctx.program.motions
    moves = np.flatnonzero(facts.feed)
    feed = motions.feed_mm_min
    at = int(np.searchsorted(moves, worst))
    first, last = _while(feed[moves] == feed[worst], at)
    scope = moves[first : last + 1]
    wrong = np.isin(scope, bad)
    if not (facts.cutting[scope] & ~wrong).any():
        return FeedEdit(None, "")
    begin, end = _while(wrong, at - first)
    line = int(motions.line[scope[begin]])
    own = ctx.say.word_span(line, "F")
    words = f", in line {line}"
    after = int(scope[end + 1]) if end + 1 < len(scope) else None
    if after is not None and not ctx.say.word_span(int(motions.line[after]), "F").start:
        words += f" (and F {ctx.edit.feed(feed[worst])} again in line {int(motions.line[after])})"
    others = int(np.count_nonzero(np.diff(np.concatenate([[False], wrong]).astype(int)) == 1)) - 1
    if others:
        words += f", and at {others} more place{'s' if others > 1 else ''} like it"
    return FeedEdit(own, words)


def _while(good: NDArray[np.bool_], at: int) -> tuple[int, int]:
    """First and last place of the run of True around a place."""
    false = np.flatnonzero(~good)
    k = int(np.searchsorted(false, at))
    return (int(false[k - 1]) + 1 if k else 0), (int(false[k]) - 1 if k < len(false) else len(good) - 1)


def speed_edit(ctx: Context, row: int, rpm: float, machine: Machine) -> str:
    """What to write for a speed outside the range, and the feed that keeps the chip; none that the axes do not reach.

    ctx: Program and set-up.
    row: A motion with that speed [-].
    rpm: The end of the range that is nearest [rev/min].
    machine: Whose range it is.
    Returns: The remedy in words.
    """
    most = machine.max_feed_mm_min
    reach = most.z if ctx.facts.plan_mm[row] <= STILL_MM else min(most.x, most.y)
    old = float(ctx.program.motions.spindle_rpm[row])
    same = float(ctx.facts.feed_mm_min[row]) * rpm / old
    if rpm > MISSING_DIGIT * old or same > reach:
        return (
            f"look whether a digit is missing in S{old:.0f}; set S{rpm:.0f} or more, and find the feed anew"
        )
    feed = f"; with F {ctx.edit.feed_to_set(same)} the chip stays as it was planned"
    return f"set S{rpm:.0f}{feed if np.isfinite(same) else ''}"
