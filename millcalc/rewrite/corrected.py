"""What a corrected copy says of its changes, and that only F and S words differ."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from millcalc.errors import InputError, ProgramError
from millcalc.gcode.motions import MotionTable
from millcalc.gcode.program import Program
from millcalc.preflight.context import Context
from millcalc.rewrite.desk import Desk
from millcalc.rewrite.edits import apply
from millcalc.rewrite.feed_band import FeedBand
from millcalc.rewrite.feed_words import (
    Listener,
    Said,
    WordChange,
    feed_changes,
    number_to_write,
)
from millcalc.rewrite.wanted_feeds import WantedFeeds, idle_motions


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


def needs(desk: Desk) -> None:
    """Refuse to correct without what the limits are computed from.

    desk: Job and program.
    Raises InputError: Naming what the job lacks.
    """
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


def written(
    desk: Desk, ctx: Context, band: FeedBand, wish: WantedFeeds
) -> tuple[bytes, dict[int, tuple[WordChange, str]]]:
    """The bytes with the wanted feeds, and the changes by line.

    desk, ctx: How the program is read, and the program.
    band: Feeds that each motion may have.
    wish: Feeds that are wanted.
    Returns: The bytes; changes by line, each with its reason.
    """
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


def listed(
    speeds: dict[int, tuple[WordChange, str]], feeds: dict[int, tuple[WordChange, str]]
) -> tuple[Change, ...]:
    """The changes in the order of the program.

    speeds, feeds: Changes by line, each with its reason.
    Returns: One entry a word.
    """
    out = [
        Change(c.edit.line, c.letter, c.old, c.new, c.in_force, why, c.unit_mm != 1.0)
        for c, why in (*speeds.values(), *feeds.values())
    ]
    return tuple(sorted(out, key=lambda c: (c.line, c.letter)))


def only_words_differ(old: Program, new: Program) -> None:
    """Make sure that a copy makes the very same motions, at other feeds and speeds only.

    old, new: The program and its copy.
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
