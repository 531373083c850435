"""What a raised copy is held against: the original, motion by motion, and what stands on the bed."""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from millcalc.errors import ProgramError
from millcalc.gcode.modal import FRAME_CODES
from millcalc.gcode.motions import FLAG_HOME, FLAG_MACHINE, MotionTable
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.program import Program
from millcalc.gcode.reader import read_program
from millcalc.rewrite.desk import Desk

TOUCH_MM = 1e-6  # mm; heights closer than this are the same (rounding of binary fractions)


def compare_raised(desk: Desk, old: Program, new: Program, data: bytes, by_mm: float) -> None:
    """Hold a raised copy against the original: the same X and Y, every cut higher by the same amount.

    desk: How to read.
    old, new: Original and copy as read.
    data: The copy.
    by_mm: By how much it was raised [mm].
    Raises ProgramError: If a motion differs in anything but its height, or its height by anything but the
      amount.
    """
    _compare(old, new, by_mm, everything_known=False)
    # once more with the machine's own points given, so that heights which only the machine knows take part
    known = ReadOptions(
        profile=old.profile,
        start_mm=(1.0, 2.0, 50.0),
        work_offsets_mm={code / 10: (0.5 * k, 0.25 * k, -0.125 * k) for k, code in enumerate(FRAME_CODES)},
        home_mm=(3.0, 5.0, 400.0),
        second_home_mm=(7.0, 9.0, 300.0),
    )
    pair = [read_program(each, old.name, options=known) for each in (desk.data, data)]
    _compare(pair[0], pair[1], by_mm, everything_known=True)
    problems = [{(f.code, f.line) for f in each.findings} for each in (old, new)]
    if problems[1] - problems[0]:
        code, line = min(problems[1] - problems[0])
        raise _differs(old, line or 1, f"raising it would add the finding {code}")


def _differs(program: Program, line: int, what: str) -> ProgramError:
    return ProgramError(
        f"{what}; nothing was written",
        "a program whose heights can all be raised alike",
        "raise Z0 at the machine instead, by touching off higher",
        file=program.name,
        line=line,
    )


def _compare(old: Program, new: Program, by_mm: float, *, everything_known: bool) -> None:
    a, b = old.motions, new.motions
    if len(a) != len(b):
        raise _differs(old, 1, f"the raised program makes {len(b)} motions instead of {len(a)}")
    for name in (f.name for f in fields(MotionTable)):
        if name in ("start_mm", "end_mm", "centre_mm", "length_mm", "feed_mm_min", "sweep_rad"):
            continue
        one, two = getattr(a, name), getattr(b, name)
        wrong = np.flatnonzero(~((one == two) | ((one != one) & (two != two))))
        if len(wrong):
            raise _differs(old, int(a.line[wrong[0]]), f"raising it would change its {name}")
    machine = (a.flags & (FLAG_MACHINE | FLAG_HOME)) != 0
    for name in ("start_mm", "end_mm", "centre_mm"):
        delta = getattr(b, name) - getattr(a, name)
        gone = np.isnan(getattr(a, name)) != np.isnan(getattr(b, name))
        aside = gone.any(axis=1) | (np.abs(np.nan_to_num(delta[:, :2])) > TOUCH_MM).any(axis=1)
        up = np.abs(delta[:, 2] - by_mm) <= TOUCH_MM
        same = np.isnan(delta[:, 2]) | (np.abs(delta[:, 2]) <= TOUCH_MM)
        wrong = aside | ~(up | same)
        if name == "end_mm":
            # at feed every end must be up, but for the machine's own points
            wrong |= a.is_feed & ~machine & ~(up | (np.isnan(delta[:, 2]) & (not everything_known)))
        if wrong.any():
            row = int(np.flatnonzero(wrong)[0])
            raise _differs(old, int(a.line[row]), "its way is not the same, that much higher, after raising")
    level = np.abs((b.start_mm - a.start_mm)[:, 2] - (b.end_mm - a.end_mm)[:, 2]) <= TOUCH_MM
    for name in ("length_mm", "sweep_rad", "feed_mm_min"):
        one, two = getattr(a, name), getattr(b, name)
        close = np.isclose(one, two, rtol=1e-9, atol=1e-6, equal_nan=True)
        wrong = ~close & (level | (name == "sweep_rad"))
        if wrong.any():
            raise _differs(old, int(a.line[np.flatnonzero(wrong)[0]]), f"raising it would change its {name}")
