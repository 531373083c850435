"""Lines that run again: what was read of them the first time is kept, only their values are worked out anew."""

from __future__ import annotations

from millcalc.gcode.execute import run_block
from millcalc.gcode.flow import Flow
from millcalc.gcode.formulas import NO_VALUE, Evaluate, NotPlain, values_of
from millcalc.gcode.line_items import LARGEST_NUMBER
from millcalc.gcode.machine import Machine
from millcalc.gcode.modes import set_motion
from millcalc.gcode.motions import LINE, RAPID
from millcalc.gcode.output import decoded
from millcalc.gcode.state import COMP, FEED, FEED_MODE, INCREMENTAL, MOTION, PLACED, POS, ROWS, SHIFT, UNIT
from millcalc.gcode.tuning import FARTHEST_MM
from millcalc.gcode.words import Block, TextRules

SETTINGS, CONTROL, MOVE, BLOCK = range(4)
PLAIN_CODES: tuple[list[int], ...] = ([], [0], [10])


class Kept:
    """A line as it was read: its kind, what in it does not change, and the function for what does."""

    __slots__ = (
        "axes",
        "block",
        "comments",
        "evaluate",
        "g",
        "kind",
        "letters",
        "line",
        "m",
        "motion",
        "spans",
    )

    def __init__(self, block: Block, evaluate: Evaluate) -> None:
        self.block, self.line = block, block.line
        self.evaluate = evaluate
        self.letters = list(block.words)
        self.spans = [span[1:] for span in block.words.values()]
        self.g, self.m = list(block.g), list(block.m)
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
            not self.m
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
        self.lines[pc] = self._made(block)

    def _made(self, block: Block) -> Kept | None:
        flow, settings = block.flow, block.settings
        odd = block.problems or block.deleted or block.percent or block.kind or block.empty
        kinds = bool(flow) + bool(settings) + bool(block.words or block.g or block.m)
        if odd or kinds != 1 or (flow is not None and not flow.keyword):
            return None
        try:
            evaluate = values_of(block.text, self.machine.parameters)
            values = evaluate()
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
        if kept.kind == CONTROL:
            return self._control(kept, values)
        if kept.kind == MOVE:
            return self._move(kept, values)
        if kept.kind == SETTINGS:
            return self._settings(kept, values)
        return self._block(kept, values)

    def _tell(self, kept: Kept) -> None:
        """Write the comments of a line."""
        for kind, text in kept.comments:
            self.machine.output.event(kind, kept.line, text=text)

    def _control(self, kept: Kept, values: tuple[float, ...]) -> int:
        word = kept.block.flow
        assert word is not None
        word.values = list(values)
        if kept.comments:
            self._tell(kept)
        return self.flow.statement(kept.block, kept.line - 1)

    def _settings(self, kept: Kept, values: tuple[float | str, ...]) -> int:
        if kept.comments:
            self._tell(kept)
        parameters = self.machine.parameters
        for index, value in zip(values[::2], values[1::2], strict=True):
            if isinstance(index, str):
                parameters.set_name(index, float(value))
            else:
                parameters.numbered[int(index)] = float(value)
        return kept.line

    def _move(self, kept: Kept, values: tuple[float, ...]) -> int | None:
        """A straight move in plain circumstances; anything else is left to the plain reader."""
        machine = self.machine
        state = machine.state
        now = state.tolist()
        motion = now[MOTION] if kept.motion < 0 else kept.motion
        if now[ROWS] >= machine.output.max_motions:
            return None
        if (
            machine.distorted
            or now[COMP]
            or now[FEED_MODE] != 94.0
            or not now[PLACED]
            or motion not in (0, 10)
        ):
            return None
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
        if kept.comments:
            self._tell(kept)
        machine.output.flags = 0
        if feed >= 0.0:
            state[FEED] = feed
        if motion != now[MOTION]:
            set_motion(machine, kept.motion)
        machine.output.far_mm = None
        machine.output.row(RAPID if motion == 0 else LINE, target, kept.line)
        return kept.line

    def _block(self, kept: Kept, values: tuple[float, ...]) -> int | None:
        """Any other block: checked and carried out as always, only not read again."""
        full = self.machine.output.full
        if full or any(not abs(value) <= LARGEST_NUMBER for value in values):
            return None
        block = Block(kept.block.text, kept.line, g=list(kept.g), m=list(kept.m))
        for letter, value, (start, end) in zip(kept.letters, values, kept.spans, strict=True):
            block.words[letter] = (value, start, end)
        block.comments = kept.block.comments
        request = run_block(self.machine, block)
        return self.flow.after(block, request, kept.line - 1)
