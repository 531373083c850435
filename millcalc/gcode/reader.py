"""Read a program: bytes to motions, events, frames and findings."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.again import Again, Kept
from millcalc.gcode.ending import nothing_to_run, report_after_end, report_missing_end, written_lines
from millcalc.gcode.execute import run_block
from millcalc.gcode.expressions import ValueReader
from millcalc.gcode.flow import Flow
from millcalc.gcode.line_words import read_block
from millcalc.gcode.machine import Machine, Observer
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.output import Output
from millcalc.gcode.problems import FindingLog, Problem
from millcalc.gcode.profiles import load_profile
from millcalc.gcode.program import Program
from millcalc.gcode.rules import kernel_rules, suits_kernel
from millcalc.gcode.source import Source, is_binary, read_bytes, recoded
from millcalc.gcode.state import (
    DONE,
    EVENTS_FULL,
    FULL,
    PC,
    POS,
    R_COUNT,
    R_LAST,
    R_SOFT,
    SEEN,
    SEEN_WORDS,
    SOFT_CODES,
    WORDS,
    new_state,
)
from millcalc.gcode.tuning import FAST_FROM_LINES, MAX_BAD_LINES, MAX_LINE_BYTES
from millcalc.gcode.words import Block


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


class _Reading:
    """One run over one program."""

    def __init__(
        self,
        data: bytes,
        name: str,
        options: ReadOptions,
        progress: Callable[[float], None] | None,
        observe: Observer | None = None,
    ) -> None:
        self.name = name
        self.options = options
        self.progress = progress
        self.profile = load_profile(options.profile)
        self._digest = hashlib.sha256()
        self._hashing = threading.Thread(target=self._digest.update, args=(data,))
        self._hashing.start()  # hashing leaves the interpreter free
        self.log = FindingLog()
        text, encoding = recoded(data)
        self.binary = is_binary(text)
        few = len(text) < 20_000_000 and text.count(b"\n") + text.count(b"\r") < FAST_FROM_LINES
        self.fast = options.force_fast or not (options.force_slow or few)
        if self.binary or observe is not None or not suits_kernel(self.profile):
            self.fast = False
        self.source = Source(text, self.fast or len(text) > 1_000_000)
        self.state = new_state()
        if options.start_mm is not None:
            self.state[POS : POS + 3] = options.start_mm
        rows = self.source.lines + 64 if self.fast else min(self.source.lines + 64, 1 << 16)
        self.output = Output(self.state, text, rows, max(options.max_motions, 1))
        self.machine = Machine(self.state, self.output, self.log, options, self.profile)
        self.machine.observer = observe
        self.flow = Flow(self.source, self.machine)
        self.rules = kernel_rules(self.profile)
        self.text_rules = self.profile.text_rules()
        self.again = Again(self.machine, self.flow, self.text_rules)
        self.blocks = 0
        self.most_blocks = self.source.lines + options.max_blocks
        self.bad = 0
        self.foreign = 0
        self._added = 0
        self._bytes: NDArray[np.uint8] | None = None
        self.demarcated: int | None = None
        self.end_line: int | None = None
        self.complete = True
        if encoding == "utf-16":
            self.log.note(
                "TEXT-19",
                "the file is stored as UTF-16, two bytes a character, which controllers do not read",
                "store it again as plain text (ASCII or UTF-8)",
            )
        elif encoding == "utf-8-bom" and not self.profile.foreign_in_comments:
            self.log.note(
                "TEXT-19",
                "the file begins with a byte-order mark, which this controller class may not read",
                "store it again as UTF-8 without a byte-order mark",
            )

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
        self._hashing.join()
        return Program(
            name=self.name,
            data=self.source.data,
            line_starts=self.source.starts,
            motions=self.output.table(),
            events=tuple(self.output.events),
            frames=tuple(self.machine.frames.frames),
            findings=self.log.findings(),
            sha256=self._digest.hexdigest(),
            machine_origin_mm=(origin[0], origin[1], origin[2]),
            units_seen=units,
            modes_seen=words - units,
            profile=self.profile.name,
            complete=self.complete,
        )

    # ---- the loop over lines
    def _run(self) -> None:
        lines = self.source.lines
        pc = 0
        steps = 0
        kept_lines = self.again.lines
        while pc < lines and not self.machine.ended:
            kept = kept_lines.get(pc)
            if kept is not None:
                following = self._again(kept, pc)
                if following is not None:
                    pc = following
                    continue
            if self.fast and not self.machine.distorted:
                pc = self._fast(pc)
                if pc >= lines:
                    break
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
            steps += 1
            if self.progress is not None and steps % 4096 == 0:
                self.progress(min(pc / max(lines, 1), 1.0))
        if self.flow.stopped:
            self.complete = False

    def _again(self, kept: Kept, pc: int) -> int | None:
        """Carry out a line that is kept; the line to go on with, None when it has to be read."""
        self.blocks += 1
        if self.blocks > self.most_blocks:
            self.flow.give_up(pc, self.blocks)
            return self.source.lines
        following = self.again.run(kept)
        if following is None:
            self.blocks -= 1
            return None
        if self.machine.ended and self.end_line is None:
            self.end_line = pc
        if self.log.added != self._added:
            self._count_softly()
        return following

    def _count_softly(self) -> None:
        """Tell the compiled reader which habits are only counted from now on."""
        self._added = self.log.added
        for k, code in enumerate(SOFT_CODES):
            self.rules[R_SOFT + k] = self.log.full(code)

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

    def _slow(self, pc: int) -> int:
        """Read and carry out one line with the plain reader; the index of the line to go on with."""
        source, log = self.source, self.log
        size = source.size(pc)
        if size > MAX_LINE_BYTES:
            self._too_long(pc, size)
            return pc + 1
        text = source.text(pc)
        reader = ValueReader(
            text, self.machine.parameters, self.text_rules.refuse, self.text_rules.last_parameter
        )
        block = read_block(text, pc + 1, reader, self.text_rules, size)
        self.blocks += 1
        if self.blocks > self.most_blocks:
            self.flow.give_up(pc, self.blocks)
            return source.lines
        if block.broken:
            self.bad += 1
            if self.bad > MAX_BAD_LINES:
                self.log.note(
                    "TEXT-02",
                    f"reading stopped at this line: {self.bad} lines before it are not G-code",
                    "name the right file",
                    pc + 1,
                )
                self.complete = False
                return source.lines
        self.again.keep(block, pc)
        following = self._carry_out(block, pc)
        if log.added != self._added:
            self._count_softly()
        return following

    def _carry_out(self, block: Block, pc: int) -> int:
        if block.kind:
            self.foreign += block.kind != "macro"
            for problem in block.problems:
                if problem.code == "TEXT-03":
                    self.log.add_run(block.kind, problem, pc + 1)
                else:
                    self.log.add(problem, pc + 1)
            self.state[WORDS] = 1.0
            return pc + 1
        if block.percent:
            return self._percent(block, pc)
        if block.empty and not block.problems:
            if block.comments:
                run_block(self.machine, block)
            return pc + 1
        self.state[WORDS] = 1.0
        if block.deleted:
            if "block delete" in self.profile.refuse:
                self.log.note(
                    "WORD-07",
                    f"block delete (/) is not accepted by {self.profile.title}",
                    "write the line or leave it out",
                    pc + 1,
                    "/",
                )
            if self.options.block_delete:
                for problem in block.problems:
                    self.log.add(problem, pc + 1)
                return pc + 1
        if block.flow is not None:
            if block.broken:
                for problem in block.problems:
                    self.log.add(problem, pc + 1)
                return pc + 1
            flow, block.flow = block.flow, None
            run_block(self.machine, block)
            block.flow = flow
            return self.flow.statement(block, pc)
        request = run_block(self.machine, block)
        if self.machine.ended and self.end_line is None:
            self.end_line = pc
        return self.flow.after(block, request, pc)

    def _too_long(self, pc: int, size: int) -> None:
        self.bad += 1
        self.state[WORDS] = 1.0
        self.log.add(
            Problem(
                "TEXT-23",
                -1,
                -1,
                f"the line is {size} bytes long and is not read",
                "split it into lines",
                f"{size} bytes",
                f"at most {MAX_LINE_BYTES} bytes",
                measured=float(size),
                limit=float(MAX_LINE_BYTES),
                unit="byte",
            ),
            pc + 1,
        )
        self.state[POS : POS + 3] = np.nan

    def _percent(self, block: Block, pc: int) -> int:
        rest = block.text.strip().lstrip("%").strip()
        if rest:
            self.output.event("comment", pc + 1, text=rest)
        if "percent" in self.profile.refuse:
            self.log.note(
                "TEXT-17", "a % line is not accepted by this controller class", "remove it", pc + 1, "%"
            )
        if not self.state[WORDS] and self.demarcated is None:
            self.demarcated = pc
            return pc + 1
        if self.demarcated is None:
            self.log.note(
                "TEXT-17",
                "a % line ends the program, but the file does not begin with one",
                "begin the file with a % line, or remove this one",
                pc + 1,
                "%",
            )
        if not self.state[WORDS] and self.demarcated is not None and pc == self.demarcated + 1:
            return pc + 1
        self.output.event("end", pc + 1, text="%")
        self.machine.ended = True
        self.end_line = pc
        return pc + 1

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
