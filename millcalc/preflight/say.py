"""Numbers in the person's units, words found again in the program text, and findings made of motions."""

from __future__ import annotations

import math
import re
from bisect import bisect_right
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from millcalc.findings import Finding, Severity, Span
from millcalc.gcode.program import Event, Program
from millcalc.preflight.geometry import point_on_motion, share_on_motion
from millcalc.units import (
    feed_to_set_mm_min,
    show_angle,
    show_chip,
    show_chips,
    show_cutting_speed,
    show_cutting_speeds,
    show_feed,
    show_feed_as_is,
    show_force,
    show_forces,
    show_length,
    show_speed,
)

COMMENT = re.compile(rb"\([^)]*\)?|;.*")


class Say:
    """How rules speak about one program.

    program: The program as read.
    units: The person's units.
    tool: Tool number of each motion, -1 unknown [-].
    peaks_mm: Where along each motion the cutter is engaged most, NaN where it is not; None without simulation [mm].
    """

    def __init__(
        self,
        program: Program,
        units: Literal["mm", "in"],
        tool: NDArray[np.int32],
        peaks_mm: NDArray[np.float32] | None = None,
    ) -> None:
        self._program, self._units, self._tool, self._peaks = program, units, tool, peaks_mm

    # -- numbers -------------------------------------------------------------------------------
    def mm(self, value: float | None, step: float | None = None) -> str:
        """A length with its unit, to the nearest step of so many mm, or a twentieth of it in inches."""
        own = step if step is None or self._units == "mm" else step / 20
        return show_length(_plain(value), self._units, own)

    def chip(self, value: float | None) -> str:
        """A chip thickness to 0.001 mm or 0.0001 in, nearest, two digits where it is smaller, with its unit."""
        return show_chip(_plain(value), self._units) if value is None or value >= 0 else self.mm(value)

    def feed_to_set(self, value: float | None) -> str:
        """A feed to set, rounded down, with its unit."""
        return show_feed(_plain(value), self._units)

    def feed(self, value: float | None) -> str:
        """A feed as it is, to the nearest 1 mm/min or 0.1 in/min."""
        return show_feed_as_is(_plain(value), self._units)

    def feed_at_least(self, value: float) -> str:
        """A feed to set that must not be slower, rounded up, with its unit."""
        return show_feed(self.no_slower_mm_min(value), self._units)

    def no_slower_mm_min(self, value_mm_min: float) -> float:
        """The slowest feed that a person would write and that is no slower than some [mm/min]."""
        return feed_to_set_mm_min(value_mm_min, self._units, "up")

    def rpm(self, value: float | None) -> str:
        """A spindle speed with its unit."""
        return show_speed(_plain(value))

    def deg(self, value: float | None) -> str:
        """An angle with its unit."""
        return show_angle(_plain(value))

    def newton(self, value: float | None) -> str:
        """A force with its unit."""
        return show_force(_plain(value), self._units)

    def newtons(self, one: float, other: float) -> tuple[str, str]:
        """Two forces, with as many digits as tell them apart."""
        return show_forces(one, other, self._units)

    def chips(self, one: float, other: float) -> tuple[str, str]:
        """Two chip thicknesses, with as many digits as tell them apart."""
        return show_chips(one, other, self._units)

    def edge(self, value: float) -> str:
        """A cutting speed with its unit."""
        return show_cutting_speed(value, self._units)

    def edges(self, one: float, other: float) -> tuple[str, str]:
        """Two cutting speeds, with as many digits as tell them apart."""
        return show_cutting_speeds(one, other, self._units)

    def clock(self, seconds: float) -> str:
        """A duration as people say it."""
        whole = math.floor(seconds + 0.5)  # as the page rounds it, too
        if whole < 90:
            return f"{whole} s"
        if whole < 5400:
            return f"{whole // 60} min {whole % 60:02d} s"
        return f"{whole // 3600} h {whole % 3600 // 60:02d} min"

    def point(self, place: tuple[float, float, float] | None) -> str:
        """A place in the plan."""
        if place is None or any(math.isnan(v) for v in place[:2]):
            return "unknown place"
        return f"X {self.mm(place[0], 0.1)}, Y {self.mm(place[1], 0.1)}"

    # -- program text --------------------------------------------------------------------------
    def word_span(self, line: int, letter: str) -> Span:
        """The first word of a letter in a line, comments left out; the whole line when there is none.

        line: Line of the program, 1-based [-].
        letter: Word letter; empty for the whole line.
        Returns: Its columns.
        """
        program = self._program
        if not letter or not 1 <= line <= program.lines:
            return Span(line)
        raw = program.data[int(program.line_starts[line - 1]) : int(program.line_starts[line])]
        bare = COMMENT.sub(lambda m: b" " * len(m.group()), raw)
        found = re.search(rb"(?i)" + letter.encode("ascii") + rb"\s*[-+]?[\d.#\[][\d.\]]*", bare)
        return Span(line, found.start() + 1, found.end() + 1) if found else Span(line)

    @cached_property
    def _words(self) -> dict[str, tuple[list[int], list[Event]]]:
        table: dict[str, tuple[list[int], list[Event]]] = {}
        for event in self._program.events:
            rows, events = table.setdefault(event.kind, ([], []))
            rows.append(event.motion)
            events.append(event)
        return table

    def events(self, kind: str) -> list[Event]:
        """All events of a kind, in order.

        kind: One of the event kinds.
        Returns: The events.
        """
        return self._words.get(kind, ([], []))[1]

    def last_event(self, kind: str, row: int) -> Event | None:
        """The last event of a kind before (or at) a motion.

        kind: One of the event kinds.
        row: Row of the motion table [-].
        Returns: The event, or None when none came before.
        """
        rows, events = self._words.get(kind, ([], []))
        at = bisect_right(rows, row)
        return events[at - 1] if at else None

    def set_where(self, row: int, letter: str) -> Span:
        """Where the modal word in force for a motion was written: in its own line, or before.

        row: Row of the motion table [-].
        letter: ``F`` or ``S``.
        Returns: The word's place.
        """
        line = int(self._program.motions.line[row])
        span = self.word_span(line, letter)
        if span.start:
            return span
        motions = self._program.motions
        column = motions.feed_mm_min if letter == "F" else motions.spindle_rpm
        other = np.flatnonzero((column[:row] != column[row]) & motions.is_feed[:row])
        start = int(other[-1]) + 1 if len(other) else 0
        for line_before in self._lines_with(letter, motions.line[start : row + 1]):
            span = self.word_span(int(line_before), letter)
            if span.start:
                return span
        event = self.last_event({"F": "feed", "S": "speed"}.get(letter, ""), row)
        return self.word_span(event.line, letter) if event else Span(line)

    def _lines_with(self, letter: str, lines: NDArray[np.int32]) -> list[int]:
        """Of some lines those that may hold a word, in their order: the text is looked through at once."""
        if not len(lines) or (np.diff(lines) < 0).any():  # lines of loops and subprograms come again
            return list(dict.fromkeys(lines.tolist()))
        starts = self._program.line_starts
        first = int(starts[lines[0] - 1])
        text = np.frombuffer(self._program.data, np.uint8, int(starts[lines[-1]]) - first, first)
        places = np.flatnonzero((text | 32) == ord(letter.lower())) + first
        found = np.unique(np.searchsorted(starts, places, side="right"))
        return [int(line) for line in found[np.isin(found, lines)]]

    # -- findings ------------------------------------------------------------------------------
    def finding(
        self,
        code: str,
        severity: Severity,
        fact: str,
        *,
        rows: NDArray[np.intp] | list[int],
        worst: int | None = None,
        word: str = "",
        action: str = "",
        why: str = "",
        compared: tuple[float | None, float | None, str] = (None, None, ""),
        source: str = "",
        place: tuple[float, float, float] | None = None,
        share: float | None = None,
        at: Span | None = None,
    ) -> Finding:
        """One finding that stands for all motions `rows`, worded for the worst of them.

        code, severity, fact, action, why, source: As in :class:`millcalc.findings.Finding`.
        compared: What was measured, the limit, and the unit of both.
        rows: Rows of the motion table, ascending, never empty [-].
        worst: Row the fact is worded for; None for the first [-].
        word: Letter of the word to point at.
        place: Where on the part; None takes the cutter's place at `share` of the worst motion [mm].
        share: Share of the worst motion at which it happens [-]; None takes where it is nearest to `place`, else
          where the cutter is engaged most, else its end.
        at: Where the remedy is to be written; None looks for `word`.
        Returns: The finding; its first span is the worst motion's line, its second the first line if another.
        """
        motions = self._program.motions
        worst = int(rows[0]) if worst is None else int(worst)
        lines = _distinct(motions.line[np.asarray(rows)])
        if share is None:
            share = self._worst_share(worst) if place is None else share_on_motion(motions, worst, place)
        if place is None:
            here = point_on_motion(motions, worst, share)
            place = None if any(math.isnan(v) for v in here) else here
        tool = int(self._tool[worst])
        return Finding(
            code,
            severity,
            fact,
            action,
            why,
            self._spans(worst, word, at, int(lines[0])),
            place,
            _number(compared[0]),
            _number(compared[1]),
            compared[2],
            source,
            tool=tool if tool >= 0 else None,
            motion=worst,
            share=share,
            count=len(lines),
            last_line=int(lines[-1]) if len(lines) > 1 else None,
        )

    def _spans(self, worst: int, word: str, at: Span | None, first: int) -> tuple[Span, ...]:
        """The worst motion's line, where its word or remedy stands, and the first line."""
        line = int(self._program.motions.line[worst])
        found = self.set_where(worst, word) if word in ("F", "S") else self.word_span(line, word)
        spans = [at or found]
        if spans[0].line != line:
            spans = [Span(line), spans[0]]
        return tuple(spans if first == line else [*spans, Span(first)])

    def _worst_share(self, row: int) -> float:
        """Share of a motion at which its cutter is engaged most; its end where that is not known."""
        if self._peaks is None or not np.isfinite(self._peaks[row]).all():
            return 1.0
        x, y, z = (float(value) for value in self._peaks[row])
        return share_on_motion(self._program.motions, row, (x, y, z))

    def left_at(self, kind: str, value: float) -> Event | None:
        """The last event of a kind, where it has a value.

        kind: Kind of event.
        value: What it must have set [-].
        Returns: The event; None where something else was set last, or nothing.
        """
        events = self.events(kind)
        return events[-1] if events and events[-1].value == value else None

    def at_event(
        self,
        code: str,
        severity: Severity,
        fact: str,
        event: Event,
        *,
        word: str = "",
        action: str = "",
        why: str = "",
        source: str = "",
        count: int = 1,
    ) -> Finding:
        """A finding that points at an event's line.

        code, severity, fact, action, why, source, count: As in :class:`millcalc.findings.Finding`.
        event: The event.
        word: Letter of the word to point at.
        Returns: The finding.
        """
        span = self.word_span(event.line, word)
        row = event.motion if event.motion < len(self._program.motions) else None
        return Finding(
            code, severity, fact, action, why, (span,), source=source, motion=row,
            share=None if row is None else 0.0, count=count,
        )  # fmt: skip


def _distinct(lines: NDArray[np.int32]) -> NDArray[np.int32]:
    """Distinct line numbers, ascending; quick where they ascend already, as they do without subprograms."""
    step = np.diff(lines)
    if (step < 0).any():
        return np.unique(lines)
    return np.asarray(lines[np.concatenate([[True], step > 0])])


def _number(value: float | None) -> float | None:
    return None if value is None else float(value)


def _plain(value: float | None) -> float | None:
    return None if value is None or math.isnan(value) else float(value)
