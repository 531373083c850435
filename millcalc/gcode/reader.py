"""Read a program: bytes to motions, events, frames and findings."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

from millcalc.gcode.ending import nothing_to_run, report_after_end, report_missing_end, written_lines
from millcalc.gcode.line_reading import LineReading
from millcalc.gcode.machine import Observer
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.program import Program
from millcalc.gcode.source import read_bytes
from millcalc.gcode.state import (
    DONE,
    EVENTS_FULL,
    FULL,
    MOTION,
    PC,
    R_COUNT,
    R_LAST,
    SEEN,
    SEEN_WORDS,
    SOFT_CODES,
    WORDS,
)

FEW_LINES = 4
"""So many plain lines between others of a loop are kept like these [-]."""


def read_program_file(path: Path | str, options: ReadOptions | None = None) -> Program:
    """Read a program file.

    path: The file.
    options: What is known beforehand.
    Returns: The program as read; its findings say what could not be.
    Raises ProgramError: If the file is absent, a directory, unreadable or too large.
    """
    path = Path(path)
    return read_program(read_bytes(path), str(path), options=options)


def read_program(
    data: bytes,
    name: str = "",
    *,
    options: ReadOptions | None = None,
    progress: Callable[[float], None] | None = None,
    observe: Observer | None = None,
) -> Program:
    """Read a program from its bytes; never fails on what it holds.

    data: The bytes of the file.
    name: Name to show.
    options: What is known beforehand.
    progress: Called now and then with the share of the text that was read, 0 to 1 [-].
    observe: Told of every block just before it is carried out; only the plain reader runs then.
    Returns: The program as read.
    Raises UsageError: If the options name an unknown profile.

    Note: A NaN coordinate is a position that the text does not determine.  Comments beyond the first 10
      000, and feed and speed words on lines that move, are not kept as events: the columns of the motion
      table show the latter.

    >>> program = read_program(b"G21 G90 G0 X1 Y2 Z3\\nG1 Z-1 F100\\nM30\\n")
    >>> program.motions.end_mm[-1].tolist(), program.findings
    ([1.0, 2.0, -1.0], ())
    """
    return _Reading(data, name, options or ReadOptions(), progress, observe).program()


class _Reading(LineReading):
    """One run over one program: the loop over its lines, and the program that comes of it."""

    def program(self) -> Program:
        """Run over the text and put the result together."""
        if self.binary:
            self.log.note(
                "TEXT-02", "the file is not text: it holds bytes that no program has", "name the program file"
            )
            self.complete = False
        else:
            self._run()
            self._judge_end()
        self._judge_compensation()
        self.output.drain()
        for k, code in enumerate(SOFT_CODES):
            self.log.count_more(code, int(self.rules[R_COUNT + k]))
        seen = int(self.state[SEEN])
        words = frozenset(word for bit, word in enumerate(SEEN_WORDS) if seen >> bit & 1)
        units = words & {"G20", "G21"}
        origin = self.machine.frames.origin
        return Program(
            name=self.name,
            data=self.source.data,
            line_starts=self.source.starts,
            motions=self.output.given(),
            events=tuple(self.output.events),
            frames=tuple(self.machine.frames.frames),
            findings=self.log.findings(),
            digest=self._digest,
            machine_origin_mm=(origin[0], origin[1], origin[2]),
            units_seen=units,
            modes_seen=words - units,
            profile=self.profile.name,
            complete=self.complete,
        )

    def _run(self) -> None:
        lines = self.source.lines
        pc = 0
        steps = 0
        kept_lines, known = self.again.lines, self.shapes.known
        between: set[int] = (
            set()
        )  # plain lines of loops, too few in a row to be worth a call of the compiled reader
        while pc < lines and not self.machine.ended:
            steps += 1
            if self.progress is not None and steps % 4096 == 0:
                self.progress(min(pc / max(lines, 1), 1.0))
            kept = kept_lines.get(pc)
            if kept is not None or known:
                following = self._again(kept, pc)
                if following is not None:
                    pc = following
                    continue
            if self.fast and not self.machine.distorted and pc not in between:
                before, pc = pc, self._fast(pc)
                if pc >= lines:
                    break
                if self.flow.jumps and pc - before <= FEW_LINES:
                    between.update(range(before, pc))
                if pc != before and known:
                    continue
            if self.output.full:
                self.log.note(
                    "FLOW-04",
                    f"reading stopped after {self.output.count} motions",
                    "split the program into parts",
                    pc + 1,
                )
                self.complete = False
                break
            pc = self._slow(pc)
        if self.flow.stopped:
            self.complete = False

    def _fast(self, pc: int) -> int:
        from millcalc.gcode import read_kernels

        if self._bytes is None:
            self._bytes = np.frombuffer(self.source.data, np.uint8)
        data = self._bytes
        state, rules = self.state, self.rules
        lines = self.source.lines
        step = 200_000  # a tenth of a second; between two stretches Ctrl-C is heard
        state[PC] = pc
        while True:
            rules[R_LAST] = min(int(state[PC]) + step, lines)
            self.output.note_start()
            status = read_kernels.read_plain(
                data, self.source.starts, rules, state, self.output.columns, self.output.buffer
            )
            now = int(state[PC])
            if self.machine.cycle.active != state[MOTION]:
                self.machine.cycle.leave()  # as ``set_motion`` does where the plain reader ends a cycle
            self.output.drain()
            if status == EVENTS_FULL:
                continue
            if status == FULL:
                if self.output.grow():
                    continue
                return now
            if status == DONE and now < lines:
                if self.progress is not None:
                    self.progress(now / lines)
                continue
            return now

    def _judge_end(self) -> None:
        """Report what is wrong with the text as a whole."""
        log, source, machine = self.log, self.source, self.machine
        log.close_run()
        if not self.state[WORDS] and not log.counts:
            log.note("TEXT-01", nothing_to_run(source), "name the right file; nothing was checked")
            self.complete = False
            return
        if self.foreign >= 3 and self.output.count == 0 and self.foreign * 2 > written_lines(source):
            log.note(
                "TEXT-02",
                "most lines of the file are not G-code and nothing in it moves the machine",
                "name the program file",
            )
        self.flow.judge()
        if self.end_line is not None:
            report_after_end(source, log, self.end_line + 1, self.flow.called)
        elif not machine.ended and not self.flow.stopped and self.complete:
            opened = self.demarcated is not None
            self.complete = not report_missing_end(source, log, self.profile, opened)

    def _judge_compensation(self) -> None:
        """Report where a cutter of known diameter does not fit a compensated path."""
        radii = self.machine.comp_radii
        if not any(radius > 0 for _, radius in radii):
            return
        from millcalc.gcode.comp import compensation_problems

        table = self.output.table()
        radius = np.full(len(table), np.nan)
        for row, value in radii:
            radius[row:] = value
        for row, problem in compensation_problems(table, radius):
            self.log.add(problem, int(table.line[row]))
