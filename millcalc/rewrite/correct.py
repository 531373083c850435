"""A corrected copy: only F and S words change, and only as far as the limits ask."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from millcalc.errors import InputError, ProgramError
from millcalc.findings import Finding
from millcalc.gcode.motions import MotionTable
from millcalc.gcode.program import Program
from millcalc.mechanics.kinematics import spindle_speed_rpm
from millcalc.preflight.context import Context
from millcalc.preflight.rules.spindle import speed_band
from millcalc.preflight.run import Outcome
from millcalc.preflight.tuning import DIAL_TOLERANCE, REACHED_SHARE, SLOW_TIME_SHARE
from millcalc.rewrite import tuning
from millcalc.rewrite.desk import Desk, judged, refuse_unreadable
from millcalc.rewrite.edits import apply
from millcalc.rewrite.feed_band import STRAIGHT_DOWN, FeedBand, feed_band
from millcalc.rewrite.feed_words import (
    Listener,
    Said,
    WordChange,
    feed_changes,
    number_to_write,
    speed_change,
)
from millcalc.rewrite.smooth import ladder, without_peaks

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


@dataclass
class _Wish:
    """Wanted feeds so far: one entry a motion."""

    feed_mm_min: Floats
    changed: NDArray[np.bool_]
    why: NDArray[np.object_]

    def set(self, rows: NDArray[np.intp], feed_mm_min: Floats, why: str | NDArray[np.object_]) -> None:
        self.feed_mm_min[rows] = feed_mm_min
        self.changed[rows] = True
        self.why[rows] = why


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
    ctx, words = _speeds(desk, first)
    speeds = dict(words)
    feeds: dict[int, tuple[WordChange, str]] = {}
    data = ctx.program.data
    wish: _Wish | None = None
    base = ctx
    for _ in range(ROUNDS):
        band = feed_band(base)
        wish = _wanted(base, band, by_engagement, wish, ctx)
        _smooth(base, band, wish)
        data, feeds = _written(desk, base, band, wish)
        ctx = _again(desk, first, data)
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


def _again(desk: Desk, first: Context, data: bytes) -> Context:
    """A copy with other feeds and speeds: the same motions in the same stock, so the same simulated cut."""
    return replace(first, program=desk.read(data, None))


# ---- speeds
def _speeds(desk: Desk, ctx: Context) -> tuple[Context, dict[int, tuple[WordChange, str]]]:
    """Bring S words into what spindle, cutter and material allow, or to the speed that is dialled."""
    listener = Listener()
    program = desk.read(desk.data, listener.block)
    found: dict[int, tuple[WordChange, str]] = {}
    words = [each for each in listener.said if each.s is not None]
    ends = [each.row for each in words[1:]] + [len(program.motions)]
    for each, end in zip(words, ends, strict=True):
        assert each.s is not None
        rows = np.arange(each.row, end)[program.motions.is_feed[each.row : end]]
        if not len(rows) or each.s[0] <= 0:
            continue
        speed, why = _speed_for(ctx, rows, each.s[0])
        if speed != each.s[0] and each.line not in found:
            found[each.line] = (speed_change(each, speed), why)
    if not found:
        return ctx, {}
    data = apply(program, [change.edit for change, _ in found.values()])
    return _again(desk, ctx, data), found


def _speed_for(ctx: Context, rows: NDArray[np.intp], speed_rpm: float) -> tuple[float, str]:
    """The allowed speed nearest to a programmed one, and why it is not that one."""
    facts, setup = ctx.facts, ctx.setup
    assert setup is not None and setup.machine is not None and setup.material is not None
    if facts.speed_set_by in ("dial", "fixed"):
        dialled = facts.hand_rpm
        if dialled is None or abs(speed_rpm / dialled - 1) <= DIAL_TOLERANCE:
            return speed_rpm, ""
        return float(round(dialled)), "what is dialled"
    spindle = setup.machine.spindle
    top, why = spindle.max_rpm, "the spindle's top speed"
    for tool in np.unique(facts.tool[rows]):
        fitted = facts.fitted(int(tool))
        if fitted is None:
            continue
        if fitted.cutter.max_rpm.value < top:
            top, why = fitted.cutter.max_rpm.value, "the cutter's highest speed"
        band = speed_band(setup.material.cutting_speed_m_min, fitted.cutter.material)
        if band is not None and facts.cutting[rows].any():
            most = float(spindle_speed_rpm(band.high, fitted.cutter.diameter_mm))
            if most < top:
                top, why = most, "the material's top cutting speed"
    if speed_rpm > top * (1.02 if why.startswith("the material") else 1.0):
        if top < spindle.min_rpm:
            return spindle.min_rpm, "the spindle's lowest speed"
        return max(float(np.floor(top / 100) * 100), spindle.min_rpm), why
    if speed_rpm < spindle.min_rpm:
        return float(np.ceil(spindle.min_rpm)), "the spindle's lowest speed"
    return speed_rpm, ""


# ---- feeds
def _wanted(ctx: Context, band: FeedBand, by_engagement: bool, last: _Wish | None, now: Context) -> _Wish:
    """The feed every motion should have."""
    facts = ctx.facts
    own = np.where(facts.feed, facts.feed_mm_min, np.nan)
    wish = _Wish(own.copy(), np.zeros(facts.n, bool), np.full(facts.n, "", dtype=object))
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


def _second_thoughts(ctx: Context, band: FeedBand, wish: _Wish, last: _Wish, now: Context) -> None:
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


def _smooth(ctx: Context, band: FeedBand, wish: _Wish) -> None:
    """Leave out short rises beside changed feeds."""
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


def _written(
    desk: Desk, ctx: Context, band: FeedBand, wish: _Wish
) -> tuple[bytes, dict[int, tuple[WordChange, str]]]:
    """The bytes with the wanted feeds, and the changes by line."""
    listener = Listener()
    program = desk.read(ctx.program.data, listener.block)
    low = np.where(wish.changed, band.low_mm_min, 0.0)
    changes = feed_changes(
        program, listener.said, wish.feed_mm_min, wish.changed, number_to_write, low, _idle(ctx)
    )
    found = {change.edit.line: (change, _reason(program, listener.said, change, wish)) for change in changes}
    return apply(program, [change.edit for change in changes]), found


def _idle(ctx: Context) -> NDArray[np.bool_]:
    """Motions that cut nothing but run inside the stock's outline below its top, and short ones anywhere."""
    facts = ctx.facts
    short = np.nan_to_num(facts.motions.length_mm, nan=np.inf) <= tuning.SMOOTH_MM
    return np.asarray(~facts.feed | (~facts.cutting & (short | facts.inside)))


def _reason(program: Program, said: list[Said], change: WordChange, wish: _Wish) -> str:
    row = change.row
    if row < 0:  # a bare F word: the first motion after it
        here = next(each for each in said if each.line == change.edit.line)
        rows = np.flatnonzero(program.motions.is_feed[here.row :])
        row = here.row + int(rows[0]) if len(rows) else -1
    if row >= 0 and wish.changed[row]:
        return str(wish.why[row])
    return "the program's own feed again"


# ---- the result
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
