"""A corrected copy: only F and S words change, and only as far as the limits ask."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from millcalc.errors import InputError, ProgramError
from millcalc.findings import Finding
from millcalc.gcode.motions import MotionTable
from millcalc.gcode.program import Program
from millcalc.preflight.context import Context
from millcalc.preflight.run import Outcome
from millcalc.rewrite.desk import Desk, judged, refuse_unreadable
from millcalc.rewrite.edits import apply
from millcalc.rewrite.feed_band import FeedBand, feed_band
from millcalc.rewrite.feed_words import (
    Listener,
    Said,
    WordChange,
    feed_changes,
    number_to_write,
)
from millcalc.rewrite.wanted_feeds import WantedFeeds, idle_motions, smooth_feeds, wanted_feeds
from millcalc.rewrite.wanted_speeds import corrected_speeds, with_words

Floats = NDArray[np.float64]
ROUNDS = 4  # corrections of corrections; more would mean that two limits pull against each other


@dataclass(frozen=True, slots=True)
class Change:
    """One changed word.

    line: Line [-].
    letter: ``F`` or ``S``.
    old: Number before; None where a word was put in [as programmed].
    new: Number after [as programmed].
    in_force: Number that was in force in a line without the word; NaN for none [as programmed].
    why: Which limit asked for it.
    inch: Whether the line is in inches.
    """

    line: int
    letter: str
    old: float | None
    new: float
    in_force: float
    why: str
    inch: bool


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
    _needs(desk)
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
        data, feeds = _written(desk, base, band, wish)
        ctx = with_words(desk, first, data)
        outcome, _ = judged(ctx)
        if not {f.code for f in outcome.findings} & {"FEED-05", "FEED-06"}:
            break
    _only_words_differ(first.program, ctx.program)
    final = desk.look(data)
    after, left = judged(final)
    changes = _listed(speeds, feeds)
    return Corrected(data, changes, before, after, left, final)


def _needs(desk: Desk) -> None:
    setup = desk.setup
    lacking = [] if setup is not None else ["a job file"]
    if setup is not None:
        lacking += [] if setup.machine else ["machine"]
        lacking += [] if setup.material else ["material"]
        lacking += [] if setup.cutters else ["cutters"]
    if lacking:
        raise InputError(
            "no " + ", no ".join(lacking),
            "a job that names machine, material, cutters, stock and zero",
            "feeds cannot be judged without them",
            file=str(setup.path) if setup is not None and setup.path else None,
            field="--job",
        )


def _written(
    desk: Desk, ctx: Context, band: FeedBand, wish: WantedFeeds
) -> tuple[bytes, dict[int, tuple[WordChange, str]]]:
    """The bytes with the wanted feeds, and the changes by line."""
    listener = Listener()
    program = desk.read(ctx.program.data, listener.block)
    low = np.where(wish.changed, band.low_mm_min, 0.0)
    changes = feed_changes(
        program, listener.said, wish.feed_mm_min, wish.changed, number_to_write, low, idle_motions(ctx)
    )
    found = {change.edit.line: (change, _reason(program, listener.said, change, wish)) for change in changes}
    return apply(program, [change.edit for change in changes]), found


def _reason(program: Program, said: list[Said], change: WordChange, wish: WantedFeeds) -> str:
    row = change.row
    if row < 0:  # a bare F word: the first motion after it
        here = next(each for each in said if each.line == change.edit.line)
        rows = np.flatnonzero(program.motions.is_feed[here.row :])
        row = here.row + int(rows[0]) if len(rows) else -1
    if row >= 0 and wish.changed[row]:
        return str(wish.why[row])
    return "the program's own feed again"


def _listed(
    speeds: dict[int, tuple[WordChange, str]], feeds: dict[int, tuple[WordChange, str]]
) -> tuple[Change, ...]:
    out = [
        Change(c.edit.line, c.letter, c.old, c.new, c.in_force, why, c.unit_mm != 1.0)
        for c, why in (*speeds.values(), *feeds.values())
    ]
    return tuple(sorted(out, key=lambda c: (c.line, c.letter)))


def _only_words_differ(old: Program, new: Program) -> None:
    """Make sure that a copy makes the very same motions, at other feeds and speeds only.

    Raises ProgramError: If it does not; nothing may be written then.
    """
    a, b = old.motions, new.motions
    for column in fields(MotionTable):
        if column.name in ("feed_mm_min", "spindle_rpm", "flags"):
            continue
        one, two = getattr(a, column.name), getattr(b, column.name)
        if len(one) != len(two) or not np.array_equal(one, two, equal_nan=one.dtype.kind == "f"):
            raise ProgramError(
                f"a program whose {column.name} depends on its F or S words; nothing was written",
                "a program whose way does not depend on them",
                "have it written without parameters",
                file=old.name,
            )
