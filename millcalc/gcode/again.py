"""Lines that run again, or are like others but for their numbers: what was read of one is kept, nothing is read again.

Only the values of such a line are worked out anew.
"""

from __future__ import annotations

from collections.abc import Callable

from millcalc.gcode.check_reach import place_too_far
from millcalc.gcode.cycles import expand
from millcalc.gcode.execute import run_block
from millcalc.gcode.flow import Flow
from millcalc.gcode.formulas import NO_VALUE, Evaluate, NotPlain, values_of
from millcalc.gcode.line_items import LARGEST_NUMBER
from millcalc.gcode.machine import Machine
from millcalc.gcode.modes import set_motion
from millcalc.gcode.motions import LINE, RAPID
from millcalc.gcode.output import decoded
from millcalc.gcode.state import (
    COMP,
    FEED,
    FEED_MODE,
    INCREMENTAL,
    MOTION,
    PLACED,
    PLANE,
    POS,
    ROWS,
    SHIFT,
    UNIT,
)
from millcalc.gcode.sticky import NEEDS_DWELL, PECKING
from millcalc.gcode.tuning import FARTHEST_MM
from millcalc.gcode.words import Block, TextRules

SETTINGS, CONTROL, MOVE, BLOCK = range(4)
PLAIN_CODES: tuple[list[int], ...] = ([], [0], [10])
HOLES = (730, 810, 820, 830, 850, 890)
"""Cycles whose further holes are drilled without a look at the words again."""


class Kept:
    """A line as it was read: its kind, what in it does not change, and the function for what does."""

    __slots__ = ("axes", "block", "comments", "evaluate", "kind", "letters", "motion")

    def __init__(self, block: Block, evaluate: Evaluate) -> None:
        self.block = block
        self.evaluate = evaluate
        self.letters = list(block.words)
        self.comments = [
            (kind, decoded(block.text[start:end].encode("latin-1")).strip())
            for kind, start, end in block.comments
        ]
        codes = [code for code, _, _ in block.g]
        self.motion = codes[0] if codes else -1
        self.kind = BLOCK
        if block.flow is not None:
            self.kind = CONTROL
        elif block.settings:
            self.kind = SETTINGS
        elif (
            not block.m
            and codes in PLAIN_CODES
            and set(self.letters) <= set("XYZF")
            and set(self.letters) & set("XYZ")
        ):
            self.kind = MOVE
        self.axes = ["FXYZ".find(letter) - 1 for letter in self.letters]


class Again:
    """Runs the lines that are kept.

    machine: Carries out the blocks.
    flow: Decides which line comes next.
    rules: What the profile says about text.
    """

    def __init__(self, machine: Machine, flow: Flow, rules: TextRules) -> None:
        self.machine, self.flow = machine, flow
        self.usable = not (rules.refuse or rules.habits or rules.decimals) and machine.observer is None
        self.lines: dict[int, Kept | None] = {}
        self._met: set[int] = set()

    def keep(self, block: Block, pc: int) -> None:
        """Keep a line that was read and is not yet carried out, the second time that it is met after a jump back.

        block: The block as read.
        pc: Its line, 0-based [-].
        """
        if not self.usable or not self.flow.jumps or pc in self.lines:
            return
        if pc not in self._met:
            self._met.add(pc)
            return
        self.lines[pc] = self.made(block, block.text, ())

    def made(self, block: Block, text: str, numbers: tuple[float, ...]) -> Kept | None:
        """What is kept of a line.

        block: The block as read.
        text: Its text; with holes where other lines of its shape have other numbers.
        numbers: Those of this line that belong into the holes [-].
        Returns: None where the plain reader is needed each time.
        """
        flow, settings = block.flow, block.settings
        odd = block.problems or block.deleted or block.percent or block.kind or block.empty
        kinds = bool(flow) + bool(settings) + bool(block.words or block.g or block.m)
        if odd or kinds != 1 or (flow is not None and not flow.keyword):
            return None
        try:
            evaluate = values_of(text, self.machine.parameters)
            values = evaluate(*numbers)
        except (NotPlain, *NO_VALUE):
            return None
        read = [value for value, _, _ in block.words.values()]
        if flow is not None:
            read = flow.values
        wanted = [part for pair in settings for part in pair] if settings else read
        # kept only if it gives, to the last bit, what the plain reader gives
        return Kept(block, evaluate) if repr(list(values)) == repr(wanted) else None

    def run(self, kept: Kept) -> int | None:
        """Carry out a line that is kept.

        kept: The line.
        Returns: The line to go on with, 0-based; None when it needs the plain reader this time [-].
        """
        try:
            values = kept.evaluate()
        except NO_VALUE:
            return None
        if kept.kind == SETTINGS and not kept.comments:
            return self._settings(values, kept.block.line)
        word = kept.block.flow
        if word is not None and not kept.comments:
            word.values = list(values)
            return self.flow.statement(kept.block, kept.block.line - 1)
        return self.carry_out(kept, values, kept.block.line, lambda: kept.block)

    def carry_out(
        self, kept: Kept, values: tuple[float, ...], line: int, like: Callable[[], Block]
    ) -> int | None:
        """Carry out a line whose values are worked out; as :meth:`run`.

        kept: The line, or one of its shape.
        values: In the order in which they stand.
        line: The line, 1-based [-].
        like: Gives its text and where its words stand.
        """
        if kept.kind == MOVE:
            return self._move(kept, values, line, like)
        if kept.kind == BLOCK:
            return self._block(values, line, like())
        if kept.comments:
            for kind, text in kept.comments:
                self.machine.output.event(kind, line, text=text)
        if kept.kind == SETTINGS:
            return self._settings(values, line)
        block = like()
        word = block.flow
        assert word is not None
        word.values = list(values)
        return self.flow.statement(block, line - 1)

    def _settings(self, values: tuple[float | str, ...], line: int) -> int:
        parameters = self.machine.parameters
        if len(values) == 2 and isinstance(values[0], int):
            parameters.numbered[values[0]] = float(values[1])
            return line
        for index, value in zip(values[::2], values[1::2], strict=True):
            if isinstance(index, str):
                parameters.set_name(index, float(value))
            else:
                parameters.numbered[int(index)] = float(value)
        return line

    def _move(
        self, kept: Kept, values: tuple[float, ...], line: int, like: Callable[[], Block]
    ) -> int | None:
        """A straight move, or a hole, in plain circumstances; anything else is left to the plain reader."""
        machine = self.machine
        state = machine.state
        now = state.tolist()
        motion = now[MOTION] if kept.motion < 0 else kept.motion
        if (
            now[ROWS] >= machine.output.max_motions
            or machine.distorted
            or now[COMP]
            or now[FEED_MODE] != 94.0
            or not now[PLACED]
        ):
            return None
        if motion not in (0, 10):
            return self._hole(kept, values, line, like, now) if motion in HOLES else None
        unit, incremental, feed = now[UNIT], now[INCREMENTAL], -1.0
        target = now[POS : POS + 3]
        for axis, value in zip(kept.axes, values, strict=True):
            if axis < 0:
                if not 0.0 <= value <= LARGEST_NUMBER:
                    return None
                feed = value
                continue
            step = value * unit
            if not -FARTHEST_MM <= step <= FARTHEST_MM:
                return None
            target[axis] = target[axis] + step if incremental else step + now[SHIFT + axis]
            if target[axis] > FARTHEST_MM or target[axis] < -FARTHEST_MM:
                return None
        for kind, text in kept.comments:
            machine.output.event(kind, line, text=text)
        machine.output.flags = 0
        if feed >= 0.0:
            state[FEED] = now[FEED] = feed
        same = motion == now[MOTION]
        if not same:
            set_motion(machine, kept.motion)
        machine.output.far_mm = None
        machine.output.row(RAPID if motion == 0 else LINE, target, line, now=now if same else None)
        return line

    def _hole(
        self, kept: Kept, values: tuple[float, ...], line: int, like: Callable[[], Block], now: list[float]
    ) -> int | None:
        """One more hole of the cycle in force, at another X and Y."""
        machine, sticky, motion = self.machine, self.machine.cycle, int(now[MOTION])
        given = sticky.values
        far = any(not abs(value) * now[UNIT] <= FARTHEST_MM for value in values)
        if far or now[PLANE] != 17.0 or sticky.active != motion or not set(kept.letters) <= set("XY"):
            return None
        if (
            not {"R", "Z"} <= given.keys()
            or (motion in PECKING and not given.get("Q", 0.0) > 0)
            or (motion in NEEDS_DWELL and not given.get("P", -1.0) >= 0)
        ):
            return None
        block = _filled(values, like())
        for kind, text in kept.comments:
            machine.output.event(kind, line, text=text)
        machine.output.flags, machine.output.far_mm = 0, None
        expand(block, motion, machine)
        place_too_far(block, machine.output.far_mm)
        for problem in block.problems:
            machine.log.add(problem, line)
        return line

    def _block(self, values: tuple[float, ...], line: int, like: Block) -> int | None:
        """Any other block: checked and carried out as always, only not read again."""
        full = self.machine.output.full
        if full or any(not abs(value) <= LARGEST_NUMBER for value in values):
            return None
        block = _filled(values, like)
        block.comments = like.comments
        request = run_block(self.machine, block)
        return self.flow.after(block, request, line - 1)


def _filled(values: tuple[float, ...], like: Block) -> Block:
    """A block with these values, its words where they stand in the line."""
    words = {
        letter: (value, place[1], place[2])
        for (letter, place), value in zip(like.words.items(), values, strict=True)
    }
    return Block(like.text, like.line, words, list(like.g), list(like.m))
