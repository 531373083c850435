"""Steps that read like places: G91 where G90 was meant, told from the numbers that follow it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, Severity
from millcalc.gcode.motions import FLAG_CYCLE, FLAG_HOME, FLAG_MACHINE, MotionTable
from millcalc.gcode.program import Event
from millcalc.preflight.context import Context
from millcalc.preflight.registry import rule

INCREMENTAL = re.compile(rb"(?i)G0*91(?![\d.])")


@rule("MODE-14", Severity.WARNING, "increments that read like places", needs=("motions",),
      what="whether G91 was meant")  # fmt: skip
def _increments(ctx: Context) -> Iterator[Finding]:
    """G91 stands where the numbers that follow are places, or G90 does not come back after it.

    Flags: a stretch in G91 of three motions or more whose numbers, read as places, make sense (they lie where the
      rest of the program cuts) and, read as steps, do not (they leave it, or pile up in one direction).
    Why: every move adds to the last: the cutter walks off the part and up or down with each line.
    Wrong: ``G91 G28 Z0 / G0 X10 Y10 / G1 Z-1 / ...`` without G90 after the way home.
    Right: ``G91 G28 Z0 / G90 / G0 X10 Y10 / ...``.
    Limits of the rule: programs with subprograms or loops are left out; a short stretch cannot be told.
    Source: plane geometry; the thresholds are estimates.
    """
    motions = ctx.program.motions
    if (np.diff(motions.line) < 0).any():
        return
    found = [s for s in _stretches(ctx) if len(s.rows) >= 3]
    from_home = [_from_home(motions, stretch) for stretch in found]
    asked = [stretch for stretch, home in zip(found, from_home, strict=True) if not home]
    like_places = iter(_are_places(ctx, asked))
    for stretch, home in zip(found, from_home, strict=True):
        if home or next(like_places):
            lines, begins = motions.line[stretch.rows], stretch.event.line
            if home and lines[-1] > begins:  # the way home itself is meant in steps
                lines = lines[lines > begins]
            where = "in" if lines[0] == begins else "before"
            yield ctx.say.at_event(
                "MODE-14",
                Severity.WARNING,
                f"G91 makes steps of the numbers in lines {int(lines[0])} to "
                f"{int(lines[-1])}, which read like places",
                stretch.event,
                word="G",
                action=f"write G90 {where} line {int(lines[0])}, or look whether steps are meant",
                count=len(lines),
            )


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch in G91: the word that begins it, and the rows of its motions but ways home and cycles."""

    event: Event
    rows: NDArray[np.intp]


def _stretches(ctx: Context) -> Iterator[Stretch]:
    """Stretches from each G91 to the next G90."""
    motions, modes = ctx.program.motions, ctx.say.events("distance mode")
    free = (motions.flags & (FLAG_HOME | FLAG_MACHINE | FLAG_CYCLE)) == 0
    end, ends = len(motions), []
    for event in reversed(modes):
        end = event.motion if event.value == 90 else end
        ends.append(end)
    before = 90
    for event, end in zip(modes, reversed(ends), strict=True):
        if event.value == 91 and before != 91:
            yield Stretch(event, event.motion + np.flatnonzero(free[event.motion : end]))
        before = int(event.value)


def _from_home(motions: MotionTable, stretch: Stretch) -> bool:
    """Whether the stretch begins with a way home and then cuts: steps from a place that only the machine knows."""
    first, rows = stretch.event.motion, stretch.rows
    home = bool((motions.flags[first : first + 2] & FLAG_HOME).any())
    return home and bool(motions.is_feed[rows].any() and np.isnan(motions.end_mm[rows]).any())


def _are_places(ctx: Context, stretches: list[Stretch]) -> Iterator[bool]:
    """Whether the numbers of each stretch make sense as places and not as steps; the program is read once more."""
    if not stretches:
        return
    motions, other = ctx.program.motions, _read_as_places(ctx, stretches)
    free = (other.flags & FLAG_HOME) == 0
    outside = Outside(motions)
    for stretch in stretches:
        rows = stretch.rows
        lines = motions.line[rows]
        first, last = np.searchsorted(other.line, [lines[0], lines[-1] + 1])
        mine = np.arange(first, last)
        mine = mine[free[first:last] & np.isin(other.line[first:last], lines)]
        going = mine[~(np.nan_to_num(other.length_mm[mine], nan=1.0) <= 1e-6)]
        if len(going) < 0.75 * len(rows) or len(going) < 3:
            yield False  # the same number again and again: steps
            continue
        places, steps = other.end_mm[going, :2], motions.end_mm[rows, :2]
        count, cut = outside.corners(rows)
        near, whole = _box(cut, 1.0), _box(np.concatenate([cut, places]), 0.25)
        if count >= 4 and near is not None and whole is not None:
            leave = _inside(steps, *whole).mean() <= 0.75
            yield bool(_inside(places, *near).mean() >= 0.9 and (leave or _pile_up(other, going)))
        else:
            yield _pile_up(other, going)


def _read_as_places(ctx: Context, stretches: list[Stretch]) -> MotionTable:
    """Motions of the program with G90 where these stretches have G91."""
    from millcalc.gcode.options import ReadOptions
    from millcalc.gcode.reader import read_program

    program, parts, done = ctx.program, [], 0
    for line in sorted({stretch.event.line for stretch in stretches}):
        first, last = int(program.line_starts[line - 1]), int(program.line_starts[line])
        parts += [program.data[done:first], INCREMENTAL.sub(b"G90", program.data[first:last])]
        done = last
    data = b"".join([*parts, program.data[done:]])
    return read_program(data, options=ReadOptions(profile=program.profile)).motions


class Outside:
    """Cuts outside a stretch: how many, and the corners of the rectangle that their ends fill."""

    def __init__(self, motions: MotionTable) -> None:
        self.feed = motions.is_feed
        ends = np.where(self.feed[:, None], motions.end_mm[:, :2], np.nan)
        ends[np.isnan(ends).any(axis=1)] = np.nan
        none = np.full((1, 2), np.nan)
        self.ends, self.total = ends, int(self.feed.sum())
        self.before = [np.concatenate([none, f.accumulate(ends)]) for f in (np.fmin, np.fmax)]
        self.after = [np.concatenate([f.accumulate(ends[::-1])[::-1], none]) for f in (np.fmin, np.fmax)]

    def corners(self, rows: NDArray[np.intp]) -> tuple[int, NDArray[np.float64]]:
        """Number of cuts outside some rows, and lower and upper corners of parts of them, (n, 2) [mm]."""
        first, last = int(rows[0]), int(rows[-1]) + 1
        between = np.setdiff1d(np.arange(first, last), rows)
        edges = [side[first] for side in self.before] + [side[last] for side in self.after]
        return self.total - int(self.feed[rows].sum()), np.vstack([*edges, self.ends[between]])


def _box(ends: NDArray[np.float64], wider: float) -> tuple[NDArray[np.float64], NDArray[np.float64]] | None:
    """Rectangle of some places, wider on each side by a share of its size [mm]."""
    ends = ends[np.isfinite(ends).all(axis=1)]
    if not len(ends):
        return None
    low, high = ends.min(axis=0), ends.max(axis=0)
    grow = wider * (high - low) + 1.0
    return low - grow, high + grow


def _inside(
    places: NDArray[np.float64], low: NDArray[np.float64], high: NDArray[np.float64]
) -> NDArray[np.bool_]:
    with np.errstate(invalid="ignore"):
        return np.asarray(((places >= low) & (places <= high)).all(axis=1))


def _pile_up(places: MotionTable, rows: NDArray[np.intp]) -> bool:
    """Whether numbers, added as steps, run far beyond their own range, as places do and steps do not."""
    for axis, factor in ((0, 2.0), (1, 2.0), (2, 1.5)):
        said = places.end_mm[rows, axis]
        said = said[np.isfinite(said)]
        said = said[np.concatenate([[True], np.diff(said) != 0])] if len(said) else said
        if len(said) < 3:
            continue
        reach = float(np.cumsum(said)[-1]) if axis == 2 else float(np.ptp(np.cumsum(said)))
        if reach > factor * float(np.ptp(said)) > 0:
            return True
    return False
