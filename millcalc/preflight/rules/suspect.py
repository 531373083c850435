"""Words that contradict the rest of the program: the other unit, a feed beyond any machine, a block written twice."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, Severity, Span
from millcalc.preflight import tuning
from millcalc.preflight.context import Context
from millcalc.preflight.facts import STILL_MM
from millcalc.preflight.geometry import reach_mm
from millcalc.preflight.registry import rule


@dataclass(frozen=True, slots=True)
class Size:
    """How large a program is as read: path [mm], travel above the work [mm], deepest cut [mm], usual feed [mm/min]."""

    x: float
    y: float
    travel: float
    depth: float
    feed: float


def _size(ctx: Context) -> Size | None:
    facts = ctx.facts
    work, level = facts.at_work_mm, facts.travel_level_mm
    if work is None or level is None:
        return None
    rows = np.flatnonzero(facts.feed & (facts.z_low < level - 1e-3) & np.isfinite(facts.feed_mm_min))
    if not len(rows):
        return None
    side = rows[facts.plan_mm[rows] > STILL_MM]
    side = side if len(side) else rows
    low, high = reach_mm(facts.motions, side, ends=False)
    wide = (high - low)[:2]
    if not wide.max() > 0:  # a single hole, or nothing known
        return None
    depth = work - float(facts.z_low[rows].min())
    feed = float(np.median(facts.feed_mm_min[side]))
    return Size(float(wide[0]), float(wide[1]), level - work, depth, feed)


@rule("MODE-15", Severity.WARNING, "sizes and feeds of the other unit", needs=("motions",),
      what="unit of the numbers, from their size")  # fmt: skip
def _other_unit(ctx: Context) -> Iterator[Finding]:
    """Path, travel height, depth and feed together are those of a program in the other unit.

    Flags: read in millimetres, a feed under 120 mm/min with two of: path within 25 mm, travel within 1 mm of the
      work, cuts within 0.5 mm. Read in inches, two of: path over 1000 mm, travel more than 50 mm above the work, cuts
      deeper than 20 mm, feed over 9000 mm/min.
    Why: a lost or wrong unit word makes every move 25.4 times as long or as short.
    Wrong: ``G21`` above a program with F35 and Z0.2 for travel.
    Right: the unit word that the program was written in.
    Limits of the rule: tiny metric engravings at a very slow feed look alike, and so do huge programs in inches. With
      the stock's size known ZERO-03 judges as well, and a reading that does not fit the stock is not proposed.
    Source: 1 in = 25.4 mm exactly; the thresholds are estimates.
    """
    found = _size(ctx)
    events = ctx.say.events("units")
    if found is None or (events and any(e.value != events[0].value for e in events)):
        return
    inch = bool(events) and events[0].value == 20
    wide = max(found.x, found.y)
    factor, word, other = (
        (1 / 25.4, "G20", "G21") if inch else (25.4, "G21" if events else "no unit word", "G20")
    )
    job = ctx.setup.job.stock if ctx.setup else None
    most = max(job.size_x_mm, job.size_y_mm) if job and job.size_x_mm and job.size_y_mm else np.inf
    if not _reads_wrong(found, inch) or wide * factor > 1.1 * most:
        return
    line = events[0].line if events else int(ctx.program.motions.line[0])

    def sizes(by: float) -> str:
        mm = ctx.say.mm
        return (
            f"a path of {mm(found.x * by, 0.1)} by {mm(found.y * by, 0.1)}, travel {mm(found.travel * by)} above the "
            f"work, {mm(found.depth * by)} deep, {ctx.say.feed(found.feed * by)}"
        )

    yield Finding(
        "MODE-15",
        Severity.WARNING,
        f"read with {word}: {sizes(1.0)}; with {other}: {sizes(factor)}, which is more usual",
        f"look in which unit the program was written; if it was the other one, write {other}",
        spans=(ctx.say.word_span(line, "G"), *([Span(line)] if not events else [])),
        measured=found.feed,
        limit=found.feed * factor,
        unit="mm/min",
        count=1,
    )


def _reads_wrong(size: Size, inch: bool) -> bool:
    """Whether two signs or more say that a program was written in the other unit than it is read in."""
    wide = max(size.x, size.y)
    if inch:
        return sum((wide > 1000, size.travel > 50, size.depth > 20, size.feed > 9000)) >= 2
    return size.feed <= 120 and sum((wide <= 25, size.travel <= 1.0, size.depth <= 0.5)) >= 2


@rule(
    "FEED-09",
    Severity.WARNING,
    "feed beyond such machines",
    needs=("motions",),
    what="feeds beyond any small machine",
)
def _beyond(ctx: Context) -> Iterator[Finding]:
    """A feed that no machine of the class reaches.

    Flags: cuts at more than 15 000 mm/min. With the machine known FEED-02 judges instead.
    Why: the word belongs to the other unit, to another feed mode, or has a digit too many.
    Wrong: ``G20 ... F3000`` (76 m/min).
    Right: ``G20 ... F30``.
    Limits of the rule: light cutters of foam and large routers do reach such feeds.
    Source: common practice, no source.
    """
    facts = ctx.facts
    if ctx.setup is not None and ctx.setup.machine is not None:
        return
    rows = np.flatnonzero(facts.cutting & (facts.feed_mm_min > tuning.FEED_BEYOND_MM_MIN))
    if len(rows):
        yield from _too_fast(ctx, "FEED-09", rows, tuning.FEED_BEYOND_MM_MIN, "more than such machines reach",
                             "look at unit, feed mode and digits of the F word")  # fmt: skip


@rule(
    "FEED-10",
    Severity.WARNING,
    "one feed far above the others",
    needs=("motions",),
    what="feeds that stand out",
)
def _stands_out(ctx: Context) -> Iterator[Finding]:
    """A few cuts run many times faster than all the others of the same kind.

    Flags: side cuts at eight times the usual side feed of the cutter or more, ways down at eight times the usual
      feed down, where they are less than half of such cuts; and ways down at three times the usual side feed. A note
      where cutter and material are known: FEED-03 and PLUNGE-01 then hold every feed against its limit.
    Why: a digit too many in one F word; the cutter meets ten times the chip.
    Wrong: ``F9000`` once in a program of ``F900``.
    Right: ``F900``.
    Limits of the rule: a program with a single feed has nothing to compare with.
    Source: common practice, no source; the factors are estimates.
    """
    facts = ctx.facts
    feed = facts.feed_mm_min
    work = facts.at_work_mm
    known = facts.feed & np.isfinite(feed) & (feed > 0) & (facts.z_low < (np.inf if work is None else work))
    for _, rows in facts.split(known):
        side, down = rows[facts.sideways[rows]], rows[facts.straight_down[rows]]
        for some, least in ((side, 4), (down, 2)):
            usual = float(np.median(feed[some])) if len(some) >= least else np.inf
            fast = some[feed[some] >= 8 * usual]
            if 0 < len(fast) < len(some) / 2:
                yield from _too_fast(ctx, "FEED-10", fast, usual, "the others of its kind run at", "")
        usual = float(np.median(feed[side])) if len(side) else np.inf
        under = rows[facts.going_down[rows]]
        fast = under[feed[under] >= 3 * usual]
        if len(fast):
            yield from _too_fast(ctx, "FEED-10", fast, usual, "on the way down; side cuts run at", "")


def _too_fast(
    ctx: Context, code: str, rows: NDArray[np.intp], limit: float, words: str, action: str
) -> Iterator[Finding]:
    feed = ctx.facts.feed_mm_min
    worst = int(rows[np.argmax(feed[rows])])
    than = f", {words}" if action else f"; {words} {ctx.say.feed(limit)}"
    judged = (
        code == "FEED-10" and ctx.setup is not None and ctx.setup.material is not None and ctx.setup.cutters
    )
    yield ctx.say.finding(
        code,
        Severity.NOTE if judged else Severity.WARNING,
        f"F {ctx.say.feed(feed[worst])}{than}",
        rows=rows,
        worst=worst,
        word="F",
        compared=(float(feed[worst]), limit, "mm/min"),
        action=action or f"write F {ctx.edit.feed(limit)} here, if no digit too many was meant",
    )


@rule("MODE-16", Severity.NOTE, "block written twice", needs=("motions",), what="repeated blocks")
def _twice(ctx: Context) -> Iterator[Finding]:
    """Two blocks in a row are the same, and the second moves nothing.

    Flags: a cutting block that ends where it begins and repeats the text of the line before it.
    Why: a line was doubled in editing; what should stand there is perhaps missing.
    Wrong: ``G1 X20 / G1 X20``.
    Right: ``G1 X20``.
    Limits of the rule: only blocks in absolute mode that follow each other at once.
    Source: common practice, no source.
    """
    program, motions = ctx.program, ctx.program.motions
    still = motions.is_feed & (motions.length_mm <= 1e-6) & ~motions.is_arc
    rows = [r for r in np.flatnonzero(still).tolist() if r and motions.line[r] == motions.line[r - 1] + 1]
    rows = [r for r in rows if _text(program.line_text(int(motions.line[r])))
            == _text(program.line_text(int(motions.line[r - 1])))]  # fmt: skip
    if rows:
        yield ctx.say.finding(
            "MODE-16",
            Severity.NOTE,
            "this block repeats the one before it and moves nothing",
            rows=rows,
            word="G",
            action="take one of the two out, or write what should stand there",
        )


def _text(line: str) -> str:
    """Code of a line without number and blanks."""
    return re.sub(r"^N\d+|\s", "", re.sub(r"\([^)]*\)|;.*", "", line).upper().lstrip())
