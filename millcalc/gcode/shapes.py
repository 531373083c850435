"""Lines that are alike but for their numbers: such a shape is read once, then only the numbers are.

A shape is the text of a line without the numbers of its words and expressions.  What decides what a line is stays in
it: codes, labels, indexes of parameters.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import partial
from itertools import accumulate

from millcalc.gcode.again import HOLES, MOVE, Again, Kept
from millcalc.gcode.formulas import HOLE, NO_VALUE
from millcalc.gcode.hole_rows import HoleRows, repeatable
from millcalc.gcode.source import Source
from millcalc.gcode.state import MOTION, POS, ROWS
from millcalc.gcode.tuning import MAX_LINE_BYTES
from millcalc.gcode.words import Block, FlowWord, TextRules

MOST_SHAPES = 4096  # texts that have so many are not alike [-]
MOST_PLAIN = 8  # lines in a row that the compiled reader takes as well [-]
_MEETINGS = 3
"""How often a shape is met before it is kept: making its function costs as much as reading five lines."""
# numbers up to 9 digits either side of the point, but for those of codes, labels and parameters
_NUMBER = re.compile(rb"(?<![GMNOgmno#0-9.])([0-9]{1,9}(?:\.[0-9]{0,9})?|\.[0-9]{1,9})")
_LINE_NUMBER = re.compile(rb"[Nn][0-9]{1,9}[ \t]*")
_ODD = re.compile(rb"[(;%]|<[^<>]*\x00")
_LOGIC = re.compile(rb"[#\[]")


class Shapes:
    """Carries out lines of a known shape.

    again: Carries out what is kept of them.
    source: The text.
    rules: What the profile says about text.
    """

    def __init__(self, again: Again, source: Source, rules: TextRules, *, wanted: bool) -> None:
        self.again, self.source = again, source
        self.usable = again.usable and wanted
        self.known: dict[bytes, tuple[Kept, int, tuple[tuple[int, int], ...], bool] | None] = {}
        self._met: dict[bytes, int] = {}
        self._longest = min(rules.max_line or MAX_LINE_BYTES, MAX_LINE_BYTES)
        self._digits = rules.number_digits
        self._last = source.lines - 1
        self._plain = 0
        self._state, self._most_rows = again.machine.state, again.machine.output.max_motions
        self._holes = HoleRows(again.machine, source, self._digits, self._longest)
        self.more = 0
        """Lines that were carried out behind the last one [-]."""

    def _parts(self, pc: int) -> tuple[bytes, int, list[bytes]]:
        """A line, how many characters its line number takes, and the rest split at its numbers."""
        start, end = self.source.bounds(pc)
        line = self.source.data[start:end]
        if line[:1] in b"Nn" and line:
            number = _LINE_NUMBER.match(line)
            if number is not None and len(number.group().rstrip()) <= self._digits + 1:
                return line, number.end(), _NUMBER.split(line[number.end() :])
        return line, 0, _NUMBER.split(line)

    def keep(self, block: Block, pc: int) -> None:
        """Keep the shape of a line that was read and is not yet carried out, when it was met often enough.

        block: The block as read.
        pc: Its line, 0-based [-].
        """
        if not self.usable or not 0 < pc < self._last or len(self._met) >= MOST_SHAPES:
            return
        _, skipped, parts = self._parts(pc)
        shape = b"\0".join(parts[::2])
        met = self._met[shape] = self._met.get(shape, 0) + 1
        if met != _MEETINGS:
            return
        kept = None
        if not _ODD.search(shape):
            text = HOLE.join(part.decode("latin-1") for part in parts[::2]).rstrip("\r\n")
            kept = self.again.made(block, text, tuple(map(float, parts[1::2])))
        if kept is None:
            self.known[shape] = None
            return
        places = [place[1:] for place in (*block.words.values(), *block.g, *block.m)]
        if block.flow is not None:
            places = [(block.flow.start, block.flow.end)]
        ends = list(accumulate(map(len, parts), initial=skipped))
        anchors = tuple(anchor for place in places for anchor in (_anchor(ends, at) for at in place))
        plain = kept.kind == MOVE and _LOGIC.search(shape) is None
        self.known[shape] = kept, len(parts) // 2, anchors, plain

    def run(self, pc: int, *, compiled: bool, most: int) -> int | None:
        """Carry out a line if its shape is known; behind a hole also further ones that give but places.

        pc: The line, 0-based [-].
        compiled: Whether many plain lines in a row are left to the compiled reader.
        most: Most further lines to carry out [-].
        Returns: The line to go on with, 0-based; None when it has to be read [-].
        """
        if not 0 < pc < self._last or self._state[ROWS] >= self._most_rows:
            return None
        line, skipped, parts = self._parts(pc)
        found = self.known.get(b"\0".join(parts[::2]))
        if found is None:
            return None
        kept, holes, anchors, plain = found
        numbers = parts[1::2]
        if len(numbers) != holes or len(line) > self._longest:
            return None
        if plain and compiled and self._state[MOTION] in (0.0, 10.0):
            self._plain += 1
            if self._plain > MOST_PLAIN:
                self._plain = 0
                return None
        else:
            self._plain = 0
        try:
            values = kept.evaluate(*map(float, numbers))
        except NO_VALUE:
            return None
        like = partial(_like, kept.block, line, pc, skipped, parts, anchors)
        self.more = 0
        if not plain or self._state[MOTION] not in HOLES:
            return self.again.carry_out(kept, values, pc + 1, like)
        return self._hole(kept, values, pc, like, parts, most)

    def _hole(
        self,
        kept: Kept,
        values: tuple[float, ...],
        pc: int,
        like: Callable[[], Block],
        parts: list[bytes],
        most: int,
    ) -> int | None:
        """A line under a drilling cycle, and those behind it that only give further places."""
        if kept.comments or not self._holes.follow(pc + 1, parts):
            return self.again.carry_out(kept, values, pc + 1, like)
        machine = self.again.machine
        row, before, said = machine.output.count, machine.state[POS : POS + 3].tolist(), machine.log.added
        following = self.again.carry_out(kept, values, pc + 1, like)
        if following is None or machine.log.added != said or not set(kept.axes) <= {0, 1}:
            return following
        rows = machine.output.since(row)
        if repeatable(rows, before, machine.state[POS : POS + 3].tolist()):
            self.more = self._holes.run(following, most, parts, kept.axes, rows)
        return following + self.more


def _like(
    block: Block, line: bytes, pc: int, skipped: int, parts: list[bytes], anchors: tuple[tuple[int, int], ...]
) -> Block:
    """The text of a line, and where in it the words stand."""
    ends = list(accumulate(map(len, parts), initial=skipped))
    at = [ends[part] + more for part, more in anchors]
    places = list(zip(at[::2], at[1::2], strict=True))
    like = Block(line.rstrip(b"\r\n").decode("latin-1"), pc + 1)
    if block.flow is not None:
        like.flow = FlowWord(block.flow.label, block.flow.keyword, [], *places[0])
        return like
    words, codes = len(block.words), len(block.g)
    like.words = {letter: (0.0, *place) for letter, place in zip(block.words, places, strict=False)}
    like.g = [(code[0], *place) for code, place in zip(block.g, places[words:], strict=False)]
    like.m = [(code[0], *place) for code, place in zip(block.m, places[words + codes :], strict=True)]
    return like


def _anchor(ends: list[int], at: int) -> tuple[int, int]:
    """A column as a part of the line and what it lies behind its beginning: an end of a number lies in what follows."""
    part = max(k for k, end in enumerate(ends) if end <= at)
    return part, at - ends[part]
