"""Which F and S words a program needs so that its motions run at wanted feeds and speeds."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.machine import Machine
from millcalc.gcode.modal import GROUP_FEED_MODE, GROUP_UNITS
from millcalc.gcode.program import Program
from millcalc.gcode.request import Request
from millcalc.gcode.state import FEED_MODE, ROWS, UNIT
from millcalc.gcode.words import Block
from millcalc.rewrite.edits import Edit, end_of_words, spaced
from millcalc.units_show import MM_PER_INCH, System, feed_to_set_mm_min

_SCALES: Final[dict[float, System]] = {
    1.0: "mm",
    MM_PER_INCH: "in",
}  # feed for F1 [mm/min], in feed per minute
SAME = 1e-9  # share; numbers closer than this are the same word


@dataclass(frozen=True, slots=True)
class Said:
    """What one executed block says of feed and speed.

    line: Its line [-].
    row: Motions made before it [-].
    f, s: F and S word: number as programmed and byte columns.
    f_text, s_text: The words as written.
    unit_mm: Millimetres per length unit [mm].
    mode: 93, 94 or 95 [-].
    place: Byte column behind its last word [-].
    apart: Whether its words are written apart.
    lower: Whether its letters are lower case.
    deleted: Whether it is a block-delete line.
    """

    line: int
    row: int
    f: tuple[float, int, int] | None
    s: tuple[float, int, int] | None
    f_text: str
    s_text: str
    unit_mm: float
    mode: int
    place: int
    apart: bool
    lower: bool
    deleted: bool


class Listener:
    """Notes every executed block that says something; give its `block` to the reader as observer."""

    def __init__(self) -> None:
        self.said: list[Said] = []
        self._apart = True

    def block(self, block: Block, request: Request, machine: Machine) -> None:
        """Note one block.

        block: The block.
        request: Its codes.
        machine: The modal state before it.
        """
        if block.kind or block.broken or not (block.words or block.g or block.m):
            return
        state, text = machine.state, block.text
        units = request.groups.get(GROUP_UNITS)
        f = block.words.get("F")
        # the S of a dwell is its time where the profile has it so
        apart = spaced(block)
        self._apart = self._apart if apart is None else apart
        dwell = request.nonmodal == 40 and "S" in machine.profile.dwell
        s = None if dwell else block.words.get("S")
        self.said.append(
            Said(
                block.line,
                int(state[ROWS]),
                f,
                s,
                text[f[1] : f[2]] if f else "",
                text[s[1] : s[2]] if s else "",
                float(state[UNIT]) if units is None else 25.4 if units == 200 else 1.0,
                request.groups.get(GROUP_FEED_MODE, int(state[FEED_MODE]) * 10) // 10,
                end_of_words(block),
                self._apart,
                any("a" <= letter <= "z" for letter in text[: end_of_words(block)].split("(")[0]),
                block.deleted,
            )
        )


@dataclass(frozen=True, slots=True)
class WordChange:
    """A word that is changed or put in.

    edit: The change.
    letter: ``F`` or ``S``.
    old: Number before; None where the word is put in [as programmed].
    new: Number after [as programmed].
    in_force: For a word that is put in: the number that would have been in force [as programmed]; NaN for
      none.
    unit_mm: Millimetres per length unit of the line [mm].
    row: First motion it is for [-].
    """

    edit: Edit
    letter: str
    old: float | None
    new: float
    in_force: float
    unit_mm: float
    row: int


def feed_changes(
    program: Program,
    said: list[Said],
    wanted_mm_min: NDArray[np.float64],
    changed: NDArray[np.bool_],
    write: Callable[[float, float, float], float],
    low_mm_min: NDArray[np.float64],
    idle: NDArray[np.bool_],
) -> list[WordChange]:
    """F words that make motions run at wanted feeds.

    program: The program.
    said: What its blocks say.
    wanted_mm_min: Wanted feed of each motion at feed rate, NaN for the others [mm/min].
    changed: Motions whose wanted feed is not the program's own.
    write: From highest and lowest feed and the scale [mm/min per unit] to the number to write.
    low_mm_min: Lowest feed of each motion; a number is rounded so that it stays above where it can
      [mm/min].
    idle: Motions that cut nothing and may stay at a lower feed that is in force [-].
    Returns: In the order of the lines. A line that is run more than once gets the lowest of its wanted
      feeds.

    Note: A word that governs later lines only is changed where that spares putting one in. After a
      block-delete line that says a feed, the next motion says its own, so that the switch does not matter.
    """
    numbers = _numbers(program, said, wanted_mm_min, changed, write, low_mm_min)
    short = _all_idle(program, said, idle)
    fixed: dict[int, float] = {}
    while True:
        decided, found = _pass(said, numbers, short, fixed)
        grown = {line: value for line, value in found.items() if fixed.get(line) != value}
        if not grown:
            break
        fixed.update(grown)
    return [decided[line] for line in sorted(decided)]


def _numbers(
    program: Program,
    said: list[Said],
    wanted: NDArray[np.float64],
    changed: NDArray[np.bool_],
    write: Callable[[float, float, float], float],
    low: NDArray[np.float64],
) -> list[tuple[float, bool, int]]:
    """For every block: number its motions want (NaN for none), whether that is new, and the first such row."""
    motions = program.motions
    feed = motions.is_feed
    ends = [each.row for each in said[1:]] + [len(motions)]
    out: list[tuple[float, bool, int]] = []
    for each, end in zip(said, ends, strict=True):
        rows = np.arange(each.row, end)[feed[each.row : end]]
        rows = rows[np.isfinite(wanted[rows])]
        if not len(rows):
            out.append((math.nan, False, -1))
            continue
        scale = each.unit_mm * (float(motions.spindle_rpm[rows[0]]) if each.mode == 95 else 1.0)
        worst = int(rows[np.argmin(wanted[rows])])
        if changed[rows].any():
            number = write(float(wanted[worst]), float(np.max(low[rows])), scale)
        else:
            number = float(motions.feed_mm_min[worst]) / scale
        out.append((number, bool(changed[rows].any()), int(rows[0])))
    return out


def _all_idle(program: Program, said: list[Said], idle: NDArray[np.bool_]) -> list[bool]:
    """Which blocks make idle motions only."""
    ends = [each.row for each in said[1:]] + [len(program.motions)]
    return [bool(idle[each.row : end].all()) for each, end in zip(said, ends, strict=True)]


def _pass(
    said: list[Said],
    numbers: list[tuple[float, bool, int]],
    short: list[bool],
    fixed: dict[int, float],
) -> tuple[dict[int, WordChange], dict[int, float]]:
    """Walk the blocks once: what must be written where, given what earlier walks have fixed."""
    changes: dict[int, WordChange] = {}
    found = dict(fixed)
    once: dict[int, int] = {}
    for each in said:
        once[each.line] = once.get(each.line, 0) + 1
    current = original = math.nan
    unsure = False  # a block-delete line may or may not have set the feed
    for k, each in enumerate(said):
        want, new, row = numbers[k]
        moves = not math.isnan(want)
        if each.f is not None:
            original = each.f[0]
            number = fixed.get(each.line)
            if number is None:
                number = want if moves and new else original
                if not moves:
                    number = _next_want(said, numbers, k, original)
            if not _same(number, original):
                # a line that is run again keeps the lowest number
                number = min(number, found.get(each.line, number))
                found[each.line] = number
                changes[each.line] = _word(each, "F", number, math.nan, row)
            current, unsure = number, each.deleted and not _same(number, original)
            continue
        if not moves:
            continue
        if short[k] and not new and current < want and each.line not in fixed and not unsure:
            continue
        number = fixed.get(each.line, want)
        if each.line in fixed or unsure or not _same(number, current):
            if once[each.line] > 1:
                number = min(number, found.get(each.line, number))
            found[each.line] = number
            changes[each.line] = _word(each, "F", number, original, row)
            current, unsure = number, each.deleted
    return changes, found


def _next_want(said: list[Said], numbers: list[tuple[float, bool, int]], at: int, number: float) -> float:
    """What the first motion after a bare F word wants, if that motion relies on it and uses the same units."""
    here = said[at]
    for k in range(at + 1, len(said)):
        each = said[k]
        if each.unit_mm != here.unit_mm or each.mode != here.mode or each.f is not None:
            return number
        want, new, _ = numbers[k]
        if not math.isnan(want):
            return want if new else number
    return number


def _same(one: float, two: float) -> bool:
    return abs(one - two) <= SAME * max(abs(one), abs(two)) or (math.isnan(one) and math.isnan(two))


def _word(each: Said, letter: str, number: float, in_force: float, row: int) -> WordChange:
    """A change of the word that is there, or one put in behind the last word."""
    there = each.f if letter == "F" else each.s
    written = number_text(number)
    if there is None:
        name = letter.lower() if each.lower else letter
        text = (" " if each.apart else "") + name + written
        edit = Edit(each.line, each.place, each.place, text)
        return WordChange(edit, letter, None, number, in_force, each.unit_mm, row)
    value, start, end = there
    head = re.match(r"[A-Za-z][ \t]*", each.f_text if letter == "F" else each.s_text)
    assert head is not None
    return WordChange(
        Edit(each.line, start, end, head.group() + written),
        letter,
        value,
        number,
        math.nan,
        each.unit_mm,
        row,
    )


def speed_change(each: Said, rpm: float) -> WordChange:
    """The change of an S word.

    each: Block with the word.
    rpm: New speed [rev/min].
    Returns: The change.
    """
    return _word(each, "S", rpm, math.nan, each.row)


def number_text(number: float) -> str:
    """A number as a program writes it: no exponent, no needless digits.

    number: The number.
    Returns: At most nine decimals.

    >>> number_text(390.0), number_text(0.0312), number_text(1e-10)
    ('390', '0.0312', '0')
    """
    text = f"{number:.9f}".rstrip("0").rstrip(".")
    return text or "0"


def number_to_write(high_mm_min: float, low_mm_min: float, scale_mm_min: float) -> float:
    """The number that settings name, or the roundest, not above one feed and, where it can be, not below another.

    high_mm_min: Feed that must not be passed [mm/min].
    low_mm_min: Feed that should be kept [mm/min].
    scale_mm_min: Feed for the number 1 [mm/min].
    Returns: The number as programmed; at least its feed is above zero [as programmed].

    >>> number_to_write(547.3, 0, 1.0), number_to_write(547.3, 541, 1.0), number_to_write(547.3, 0, 25.4)
    (540.0, 545.0, 21.0)
    >>> number_to_write(79.2, 0, 1.0), number_to_write(1290, 0, 1.0)
    (79.0, 1280.0)
    """
    units = _SCALES.get(scale_mm_min)
    if units is not None and high_mm_min > 0:
        named = feed_to_set_mm_min(high_mm_min, units)
        if named > 0 and named >= low_mm_min * (1 - 1e-12):
            return round(named / scale_mm_min, 9)
    high, low = high_mm_min / scale_mm_min, low_mm_min / scale_mm_min
    size = 10.0 ** math.floor(math.log10(high)) if high > 0 else 1.0
    first = size / 10 if high < 5 * size else size / 5
    for step in (
        first,
        size / 20,
        size / 50,
        size / 100,
        size / 200,
        size / 1000,
        size / 10_000,
        size / 100_000,
    ):
        number = math.floor(high / step * (1 + 1e-12)) * step
        if number > 0 and number >= low * (1 - 1e-12):
            return round(number, 12)
    return high
