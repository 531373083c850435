"""Work frames: where the numbers of the program lie in part coordinates.

The part frame is the work offset in force at the first motion (or G92); every other offset is held relative to it,
NaN where the difference is known only to the machine.
"""

from __future__ import annotations

import math

from millcalc.gcode.modal import FRAME_CODES, code_name
from millcalc.gcode.options import Point, ReadOptions
from millcalc.gcode.program import Frame
from millcalc.gcode.state import FRAME, PLACED, POS, SHIFT, State
from millcalc.gcode.tuning import MAX_FRAMES

NAN = float("nan")


class WorkFrames:
    """Offsets of the work systems, of G92 and of G52, and the frames met so far.

    options: Offsets the job knows.
    system: Work system in force: G code times ten [-].
    origin: Machine coordinates of the part zero [mm].
    g92, g52: Shifts [mm].
    frames: Frames met so far.
    """

    def __init__(self, options: ReadOptions) -> None:
        self.machine: dict[int, list[float]] = {code: [NAN] * 3 for code in FRAME_CODES}
        for number, offset in options.work_offsets_mm.items():
            code = round(float(number) * 10)
            if code in self.machine:
                self.machine[code] = [float(value) for value in offset]
        self._relative: dict[int, list[float]] = {}
        self.system = 540
        self.origin = [NAN] * 3
        self.g92 = [0.0] * 3
        self.g92_stored = [0.0] * 3
        self.g92_assumed = [False] * 3
        self.g52 = [0.0] * 3
        self.placed = False
        self.frames: list[Frame] = [Frame("G54")]
        self._index: dict[Frame, int] = {self.frames[0]: 0}
        home = options.home_mm or (NAN,) * 3
        second = options.second_home_mm or (NAN,) * 3
        self.home: dict[int, Point] = {280: home, 300: second}
        self.home_part: dict[int, list[float] | None] = {280: None, 300: None}

    def place(self, state: State) -> None:
        """Make the system in force the part frame, once."""
        if not self.placed:
            self.placed = True
            state[PLACED] = 1.0
            self.origin = list(self.machine[self.system])
            self._relative[self.system] = [0.0] * 3
            if not any(frame is not self.frames[0] for frame in self.frames):
                self.frames[0] = Frame(code_name("G", self.system))
                self._index = {self.frames[0]: 0}
            self.apply(state)

    def relative(self, system: int, axis: int) -> float:
        """Offset of a system from the part frame [mm]; NaN where unknown."""
        if not self.placed:
            return 0.0
        known = self._relative.get(system)
        if known is not None and not math.isnan(known[axis]):
            return known[axis]
        return self.machine[system][axis] - self.origin[axis]

    def set_relative(self, system: int, axis: int, value: float) -> None:
        """Set an offset from the part frame [mm]."""
        self._relative.setdefault(system, [NAN] * 3)[axis] = value
        if not math.isnan(self.origin[axis]):
            self.machine[system][axis] = self.origin[axis] + value

    def set_machine(self, system: int, axis: int, value: float) -> None:
        """Set an offset in machine coordinates (G10 L2) [mm]."""
        self.machine[system][axis] = value
        if self.placed:
            self._relative.setdefault(system, [NAN] * 3)[axis] = value - self.origin[axis]

    def base(self, axis: int) -> float:
        """Offset of the system in force, zero where unknown, plus G52 [mm]."""
        offset = self.relative(self.system, axis)
        return (0.0 if math.isnan(offset) else offset) + self.g52[axis]

    def apply(self, state: State) -> None:
        """Put the shift in force into the state and name its frame; `state` is changed in place."""
        shift = []
        known = True
        for axis in range(3):
            if math.isnan(self.relative(self.system, axis)) or self.g92_assumed[axis]:
                known = False
            shift.append(self.base(axis) + self.g92[axis])
        name = code_name("G", self.system)
        if any(self.g92) or any(self.g92_assumed):
            name += "+G92"
        if any(self.g52):
            name += "+G52"
        state[SHIFT : SHIFT + 3] = shift
        if not self.placed and name == "G54" and not any(shift):
            state[FRAME] = 0
            return
        frame = Frame(name, (shift[0], shift[1], shift[2]), known)
        index = self._index.get(frame)
        if index is None:
            index = len(self.frames)
            if index >= MAX_FRAMES:
                index = MAX_FRAMES
                frame = Frame("many", (NAN, NAN, NAN), False)
                if len(self.frames) == MAX_FRAMES:
                    self.frames.append(frame)
            else:
                self.frames.append(frame)
                self._index[frame] = index
        state[FRAME] = index

    def preset(self, state: State, axis: int, value: float) -> None:
        """Make the present position read `value` by a G92 shift [mm]; changes the state in place."""
        self.place(state)
        position = float(state[POS + axis])
        if math.isnan(position):
            self.g92[axis] = 0.0
            self.g92_assumed[axis] = True
            state[POS + axis] = value + self.base(axis)
        else:
            self.g92[axis] = position - value - self.base(axis)
        self.g92_stored[axis] = self.g92[axis]

    def zero_here(self, state: State, system: int, axis: int, value: float) -> None:
        """Move a system's offset so that the present position reads `value` (G10 L20) [mm]."""
        first = not self.placed
        self.place(state)
        position = float(state[POS + axis])
        if math.isnan(position):
            if system == self.system:
                state[POS + axis] = value + self.base(axis) + self.g92[axis]
            if not first:
                self.g92_assumed[axis] = True
        else:
            self.set_relative(system, axis, position - value - self.g92[axis] - self.g52[axis])

    def clear_g92(self, stored: bool) -> None:
        """Cancel the G92 shift; with `stored` the stored numbers too."""
        self.g92 = [0.0] * 3
        self.g92_assumed = [False] * 3
        if stored:
            self.g92_stored = [0.0] * 3

    def from_machine(self, axis: int, value: float) -> float:
        """Part coordinate of a machine coordinate [mm]; NaN where the origin is unknown."""
        return value - self.origin[axis] if self.placed else NAN
