"""What a program does in numbers: extents, tools, feeds, speeds, lengths, times, words."""

from __future__ import annotations

import itertools
import re
from collections import Counter
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.arcs import motion_extents
from millcalc.gcode.modal import code_name
from millcalc.gcode.motions import KIND_NAMES, RAPID, MotionTable
from millcalc.gcode.program import Event, Program
from millcalc.gcode.tuning import FAST_FROM_LINES

_COMMENTS = re.compile(rb"\([^)\r\n]*\)?|;[^\r\n]*")
_WORDS = re.compile(rb"([A-Za-z])[ \t]*([+-]?[0-9]+(?:\.[0-9]+)?|[+-]?\.[0-9]+)")
SHOWN_VALUES = 12
"""Most different feeds or speeds listed for a tool [-]."""


@dataclass(frozen=True, slots=True)
class Extents:
    """Lowest and highest coordinates [mm]; None when nothing is known of an axis."""

    low_mm: tuple[float | None, float | None, float | None]
    high_mm: tuple[float | None, float | None, float | None]


@dataclass(frozen=True, slots=True)
class ToolUse:
    """What one stay of a tool in the spindle does.

    number: Tool number; -1 when the program names none [-].
    first_line, last_line: Lines of its first and last motion [-].
    feed_length_mm, rapid_length_mm: Path lengths at feed and at rapid, where known [mm].
    feeds_mm_min, speeds_rpm: Different values used, sorted; at most SHOWN_VALUES, the ends always among
      them [mm/min], [rev/min].
    feed_time_s, rapid_time_s, dwell_time_s: Times at the commanded feed; the rapid time is None without a
      rapid rate [s].
    untimed: Feed motions whose time is not known [-].
    low_z_mm: Lowest point at feed [mm].
    """

    number: int
    first_line: int
    last_line: int
    feed_length_mm: float
    rapid_length_mm: float
    feeds_mm_min: tuple[float, ...]
    speeds_rpm: tuple[float, ...]
    feed_time_s: float
    rapid_time_s: float | None
    dwell_time_s: float
    untimed: int
    low_z_mm: float | None


@dataclass(frozen=True, slots=True)
class ProgramSummary:
    """A program in numbers.

    name, sha256, profile: Of the program.
    lines, bytes_read: Size of the text [-], [byte].
    motions: Number of motions by kind [-].
    feed_extents, rapid_extents: Where the tool tip goes at feed and at rapid, bulges of arcs included.
    unknown_ends: Motions with an end the program does not determine [-].
    tools: One entry for each stay of a tool in the spindle.
    codes: G and M codes and how often they are written; comments do not count [-].
    letters: Other word letters and how often they are written [-].
    not_understood: What the reader could not use, and how often [-].
    events: Stops, tool changes, messages, frames and the like; comments and modal words left out.
    complete: Whether the whole text was read.
    """

    name: str
    sha256: str
    profile: str
    lines: int
    bytes_read: int
    motions: dict[str, int]
    feed_extents: Extents
    rapid_extents: Extents
    unknown_ends: int
    tools: tuple[ToolUse, ...]
    codes: dict[str, int]
    letters: dict[str, int]
    not_understood: dict[str, int]
    events: tuple[Event, ...]
    complete: bool


QUIET_EVENTS = frozenset(
    ("comment", "feed", "speed", "units", "distance mode", "plane", "feed mode", "coolant", "spindle")
)


def summarise(program: Program, rapid_mm_min: float | None = None) -> ProgramSummary:
    """Sum a program up.

    program: The program as read.
    rapid_mm_min: Rapid rate, for the time of rapids; None leaves it out [mm/min].
    Returns: The numbers.

    Note: Times are path length over commanded feed; acceleration is left out, so short segments take longer
      in truth.
    """
    table = program.motions
    low, high = motion_extents(table)
    counts = np.bincount(table.kind, minlength=len(KIND_NAMES))
    unknown = np.isnan(table.end_mm).any(axis=1) & table.moves
    codes, letters = word_counts(program.data, program.lines)
    not_understood: Counter[str] = Counter()
    for finding in program.findings:
        if finding.code in ("WORD-01", "WORD-06", "WORD-20", "TEXT-03", "FLOW-11", "PARAM-04"):
            not_understood[finding.found or finding.fact] += finding.count
    return ProgramSummary(
        name=program.name,
        sha256=program.sha256,
        profile=program.profile,
        lines=program.lines,
        bytes_read=len(program.data),
        motions={name: int(counts[kind]) for kind, name in enumerate(KIND_NAMES) if counts[kind]},
        feed_extents=_extents(low, high, table.is_feed),
        rapid_extents=_extents(low, high, table.kind == RAPID),
        unknown_ends=int(unknown.sum()),
        tools=tuple(_tools(table, low, rapid_mm_min)),
        codes=codes,
        letters=letters,
        not_understood=dict(not_understood),
        events=tuple(event for event in program.events if event.kind not in QUIET_EVENTS),
        complete=program.complete,
    )


def _extents(low: NDArray[np.float64], high: NDArray[np.float64], rows: NDArray[np.bool_]) -> Extents:
    def bound(values: NDArray[np.float64], lowest: bool) -> tuple[float | None, float | None, float | None]:
        found: list[float | None] = []
        for axis in range(3):
            known = values[rows, axis]
            known = known[~np.isnan(known)]
            found.append(None if not len(known) else float(known.min() if lowest else known.max()))
        return found[0], found[1], found[2]

    return Extents(bound(low, True), bound(high, False))


def _values(values: NDArray[np.float64]) -> tuple[float, ...]:
    different = np.unique(values[~np.isnan(values)])
    if len(different) > SHOWN_VALUES:
        picks = np.linspace(0, len(different) - 1, SHOWN_VALUES).round().astype(int)
        different = different[picks]
    return tuple(float(value) for value in different)


def _tools(table: MotionTable, low: NDArray[np.float64], rapid_mm_min: float | None) -> list[ToolUse]:
    if not len(table):
        return []
    bounds = [0, *(np.flatnonzero(np.diff(table.tool)) + 1).tolist(), len(table)]
    uses = []
    for begin, end in itertools.pairwise(bounds):
        part = slice(begin, end)
        feed = table.is_feed[part]
        length = table.length_mm[part]
        rate = table.feed_mm_min[part]
        rapid = (table.kind[part] == RAPID) & ~np.isnan(length)
        with np.errstate(divide="ignore", invalid="ignore"):
            minutes = length / rate
        timed = feed & np.isfinite(minutes)
        lows = low[part, 2][feed]
        lows = lows[~np.isnan(lows)]
        rapid_length = float(length[rapid].sum())
        uses.append(
            ToolUse(
                number=int(table.tool[begin]),
                first_line=int(table.line[begin]),
                last_line=int(table.line[end - 1]),
                feed_length_mm=float(np.nansum(length[feed])),
                rapid_length_mm=rapid_length,
                feeds_mm_min=_values(rate[feed]),
                speeds_rpm=_values(table.spindle_rpm[part][feed]),
                feed_time_s=float(minutes[timed].sum() * 60.0),
                rapid_time_s=None if not rapid_mm_min else rapid_length / rapid_mm_min * 60.0,
                dwell_time_s=float(table.dwell_s[part].sum()),
                untimed=int((feed & ~timed).sum()),
                low_z_mm=float(lows.min()) if len(lows) else None,
            )
        )
    return uses


def word_counts(data: bytes, lines: int) -> tuple[dict[str, int], dict[str, int]]:
    """How often each G and M code and each other word letter is written; comments and brackets do not count.

    data: The program.
    lines: Its number of lines; long programs are counted by the compiled kernel [-].
    Returns: codes: ``G1`` and so on [-]. letters: Letters but G and M [-].

    >>> word_counts(b"G01 X1 Y2 (G2)", 1)
    ({'G1': 1}, {'X': 1, 'Y': 1})
    """
    codes: Counter[str] = Counter()
    letters: Counter[str] = Counter()
    if lines >= FAST_FROM_LINES:
        from millcalc.gcode import text_kernels

        counts = text_kernels.count_words(np.frombuffer(data, np.uint8))
        for code in np.flatnonzero(counts[:2000]).tolist():
            letter, number = ("G", code) if code < 1000 else ("M", code - 1000)
            codes[code_name(letter, number)] = int(counts[code])
        for k in range(26):
            if counts[2000 + k]:
                letters[chr(65 + k)] = int(counts[2000 + k])
    else:
        bare = _COMMENTS.sub(b" ", data)
        while b"[" in bare:
            shorter = re.sub(rb"\[[^\[\]]*\]", b" ", bare)
            if shorter == bare:
                break
            bare = shorter
        for letter_bytes, digits in _WORDS.findall(bare):
            letter = letter_bytes.decode("ascii").upper()
            value = float(digits)
            if letter == "G" and 0 <= value < 100:
                codes[code_name("G", round(value * 10))] += 1
            elif letter == "M" and 0 <= value < 1000:
                codes[code_name("M", round(value))] += 1
            elif letter not in "GM":
                letters[letter] += 1
    return dict(sorted(codes.items(), key=_code_order)), dict(sorted(letters.items()))


def _code_order(item: tuple[str, int]) -> tuple[str, float]:
    return item[0][0], float(item[0][1:])
