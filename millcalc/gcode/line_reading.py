"""Read and carry out one line with the plain reader, and what a run over a program keeps."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from millcalc.gcode.again import Again, Kept
from millcalc.gcode.execute import run_block
from millcalc.gcode.expressions import ValueReader
from millcalc.gcode.flow import Flow
from millcalc.gcode.line_words import read_block
from millcalc.gcode.machine import Machine, Observer
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.output import Output
from millcalc.gcode.problems import FindingLog, Problem
from millcalc.gcode.profiles import load_profile
from millcalc.gcode.rules import kernel_rules, suits_kernel
from millcalc.gcode.shapes import Shapes
from millcalc.gcode.source import Source, is_binary, recoded
from millcalc.gcode.state import (
    POS,
    R_SOFT,
    SOFT_CODES,
    WORDS,
    new_state,
)
from millcalc.gcode.tuning import FAST_FROM_LINES, MAX_BAD_LINES, MAX_LINE_BYTES
from millcalc.gcode.words import Block


class LineReading:
    """What a run over a program keeps, and one line of it at a time.

    data: The bytes of the file.
    name: Name to show.
    options: What is known beforehand.
    progress: Called now and then with the share of the text that was read.
    observe: Told of every block just before it is carried out.
    """

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
        self.log = FindingLog()
        text, encoding = recoded(data)
        self._digest = "" if text is data else hashlib.sha256(data).hexdigest()
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
        self.shapes = Shapes(self.again, self.source, self.text_rules, wanted=not options.force_slow)
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

    def _again(self, kept: Kept | None, pc: int) -> int | None:
        """Carry out a line that is kept, or whose shape is; the line to go on with, None when it has to be read."""
        self.blocks += 1
        if self.blocks > self.most_blocks:
            self.flow.give_up(pc, self.blocks)
            return self.source.lines
        if kept is not None:
            following = self.again.run(kept)
        else:
            following = self.shapes.run(pc, compiled=self.fast, most=self.most_blocks - self.blocks)
        if following is None:
            self.blocks -= 1
            return None
        if kept is None:
            self.blocks += self.shapes.more
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
        self.shapes.keep(block, pc)
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
