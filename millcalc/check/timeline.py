"""When each motion happens, where the tool then is, and motions cut at chosen moments. Vectorised."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from millcalc.preflight.context import once
from millcalc.stock.frame_points import Pieces, points_of

if TYPE_CHECKING:
    from millcalc.gcode.motions import MotionTable
    from millcalc.preflight.context import Context

Floats = NDArray[np.float64]
ARC_STEP_RAD = 0.2  # rad; an arc's chord of this angle lies within 0.5 % of its radius
MOST_CHORDS = 64  # chords of one arc
Ints = NDArray[np.int64]


@dataclass(frozen=True)
class Timeline:
    """The program laid out along time, or along its way where the machine is unknown.

    unit: ``s`` for the run time without stops at corners; ``mm`` for the way of the tool.
    ends: Moment at which each motion ends, rising (`unit`).
    """

    motions: MotionTable
    unit: Literal["s", "mm"]
    ends: Floats

    @property
    def total(self) -> float:
        """Moment at which the program ends (`unit`)."""
        return float(self.ends[-1]) if len(self.ends) else 0.0

    @cached_property
    def starts(self) -> Floats:
        """Moment at which each motion begins (`unit`)."""
        return np.concatenate([[0.0], self.ends[:-1]]) if len(self.ends) else self.ends

    def rows_at(self, moments: Floats) -> tuple[Ints, Floats]:
        """Motions that run at moments, and how much of each is done.

        moments: Moments between 0 and the total (`unit`).
        Returns: rows, shares: Rows of the motion table, and shares between 0 and 1 [-].
        """
        rows = np.minimum(np.searchsorted(self.ends, moments, "left"), len(self.ends) - 1).astype(np.int64)
        length = self.ends[rows] - self.starts[rows]
        with np.errstate(divide="ignore", invalid="ignore"):
            shares = np.where(length > 0, (moments - self.starts[rows]) / length, 1.0)
        return rows, np.clip(shares, 0.0, 1.0)

    def moment_of(self, row: int, share: float) -> float:
        """Moment at which a share of a motion is done.

        row: Row of the motion table [-].
        share: 0 at its start, 1 at its end [-].
        Returns: The moment (`unit`).
        """
        start = float(self.starts[row])
        return start + share * (float(self.ends[row]) - start)

    def moment_of_line(self, line: int) -> float | None:
        """Moment at which the first motion of a program line begins.

        line: Line of the program, 1-based [-].
        Returns: The moment (`unit`); None when the line moves nothing.
        """
        rows = np.flatnonzero(self.motions.line == line)
        return float(self.starts[rows[0]]) if len(rows) else None


@once
def make_timeline(ctx: Context) -> Timeline | None:
    """Lay a program out along time.

    ctx: Program and set-up.
    Returns: None when the program moves nothing at all.
    """
    motions = ctx.program.motions
    if not len(motions):
        return None
    if ctx.feeds is not None:
        ends = np.cumsum(np.nan_to_num(ctx.feeds.time_quick_s, nan=0.0, posinf=0.0))
        if ends[-1] > 0:
            return Timeline(motions, "s", ends)
    ends = np.cumsum(np.nan_to_num(motions.length_mm, nan=0.0, posinf=0.0))
    return Timeline(motions, "mm", ends) if ends[-1] > 0 else None


@dataclass(frozen=True)
class Keys:
    """Places of the tool between which it moves straight and evenly.

    moments: Rising moments, the first 0 (the timeline's unit).
    row: Motion that ends there or runs then [-].
    place_mm: Tip; NaN where unknown [mm].
    whole: Whether every motion of the program has its own.
    """

    moments: Floats
    row: Ints
    place_mm: Floats
    whole: bool


def keys(timeline: Timeline, also: list[tuple[int, float]], most: int) -> Keys:
    """Places that tell where the tool is at any moment.

    timeline: The program along time.
    also: Motions and shares of them that must be among the keys [-].
    most: Most motions that get a key each; beyond, this many evenly spaced moments do [-].
    Returns: Every end of a motion and points on its arcs, or evenly spaced moments; `also` in either case.

    Note: Within one motion the tool is taken to move evenly.
    """
    motions, n = timeline.motions, len(timeline.ends)
    whole = n <= most
    if whole:
        sweep = np.abs(np.nan_to_num(motions.sweep_rad))
        chords = np.where(motions.is_arc, np.clip(np.ceil(sweep / ARC_STEP_RAD), 1, MOST_CHORDS), 1).astype(
            np.int64
        )
        rows = np.repeat(np.arange(n), chords)
        number = np.arange(len(rows)) - np.repeat(np.cumsum(chords) - chords, chords) + 1
        shares = number / np.repeat(chords, chords)
    else:
        rows, shares = timeline.rows_at(np.linspace(0.0, timeline.total, most))
    rows = np.concatenate([[0], rows, [row for row, _ in also]]).astype(np.int64)
    shares = np.concatenate([[0.0], shares, [share for _, share in also]])
    order = np.lexsort((shares, rows))
    rows, shares = rows[order], shares[order]
    moments = timeline.starts[rows] + shares * (timeline.ends[rows] - timeline.starts[rows])
    return Keys(moments, rows, points_of(motions, rows, shares), whole)


def cut_at(timeline: Timeline, moments: Floats) -> tuple[Pieces, Ints]:
    """Cut the motions at moments, so that each moment falls between two pieces.

    timeline: The program along time.
    moments: Rising moments (the timeline's unit).
    Returns: pieces, done: Pieces in program order, and how many of them are done at each moment [-].
    """
    n = len(timeline.ends)
    at = moments[(moments > 0) & (moments < timeline.total)]
    rows, shares = timeline.rows_at(at)
    inside = (shares > 1e-9) & (shares < 1 - 1e-9)
    rows, shares, at = rows[inside], shares[inside], at[inside]
    all_rows = np.concatenate([np.arange(n), rows])
    begins = np.concatenate([np.zeros(n), shares])
    order = np.lexsort((begins, all_rows))
    all_rows, begins = all_rows[order], begins[order]
    ends = np.ones(len(all_rows))
    same = all_rows[1:] == all_rows[:-1]
    ends[:-1][same] = begins[1:][same]
    moments_end = timeline.starts[all_rows] + ends * (timeline.ends[all_rows] - timeline.starts[all_rows])
    slack = 1e-9 * max(timeline.total, 1.0)
    done = np.searchsorted(moments_end, moments + slack, "right").astype(np.int64)
    if len(done) and len(moments) and moments[-1] >= timeline.total - slack:
        done[-1] = len(all_rows)
    return Pieces(all_rows.astype(np.int64), begins, ends), np.maximum.accumulate(done)


@dataclass(frozen=True)
class Bands:
    """A value along time: the least and the greatest in each of evenly spaced spans; NaN where there is none.

    low, high: In the value's unit.
    """

    low: Floats
    high: Floats


class Spans:
    """Evenly spaced spans of a timeline, and which motions fall into them.

    timeline: The program along time.
    count: Number of spans [-].
    """

    def __init__(self, timeline: Timeline, count: int) -> None:
        self.count = count
        self.width = timeline.total / count
        took = np.flatnonzero(timeline.ends > timeline.starts)
        first = np.minimum((timeline.starts[took] / self.width).astype(np.int64), count - 1)
        last = np.minimum(np.ceil(timeline.ends[took] / self.width).astype(np.int64) - 1, count - 1)
        times = np.maximum(last, first) - first + 1
        self._rows = np.repeat(took, times)
        offset = np.arange(len(self._rows)) - np.repeat(np.cumsum(times) - times, times)
        self._span = np.repeat(first, times) + offset

    def bands(self, values: Floats) -> Bands:
        """Least and greatest of a value in each span.

        values: One entry a motion; NaN counts for nothing.
        Returns: NaN where no motion of the span has a value.
        """
        mine = values[self._rows]
        good = np.isfinite(mine)
        span, mine = self._span[good], mine[good]
        low, high = np.full(self.count, np.nan), np.full(self.count, np.nan)
        if len(span):
            begin = np.flatnonzero(np.concatenate([[True], span[1:] != span[:-1]]))
            low[span[begin]] = np.minimum.reduceat(mine, begin)
            high[span[begin]] = np.maximum.reduceat(mine, begin)
        return Bands(low, high)
