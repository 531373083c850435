"""The machine as the program sees it: modal state and what else it keeps, as data."""

from __future__ import annotations

from collections.abc import Callable

from millcalc.gcode.frames import WorkFrames
from millcalc.gcode.modal import FRAME_CODES
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.output import Output
from millcalc.gcode.parameters import Parameters
from millcalc.gcode.problems import FindingLog
from millcalc.gcode.profiles import Profile
from millcalc.gcode.request import Request
from millcalc.gcode.state import POS, SHIFT, UNIT, State
from millcalc.gcode.sticky import Sticky
from millcalc.gcode.words import Block

NAN = float("nan")
Observer = Callable[[Block, Request, "Machine"], None]
"""Told of every block just before it is carried out."""


class Machine:
    """What a program is carried out on; ``execute`` and the writers of motions change it in place.

    state: The modal state.
    output: Where motions and events go.
    log: Where problems go.
    options: What is known beforehand.
    profile: What the controller class accepts.
    frames: Work offsets and shifts.
    parameters: Numbered and named parameters.
    ended: M2, M30 or the closing percent line was carried out.
    selected: Tool named by the last T word [-].
    cycle: What a canned cycle keeps for the lines that follow.
    length_mm: Tool length offset in force [mm].
    probed: Where the last probing move ended [mm]; None before any.
    distorted: Codes times ten that rotate, scale, mirror or read as polar.
    observer: Told of every block before it is carried out.
    comp_radii: Row from which each compensation holds, and its cutter radius [mm].
    """

    def __init__(
        self, state: State, output: Output, log: FindingLog, options: ReadOptions, profile: Profile
    ) -> None:
        self.state = state
        self.output = output
        self.log = log
        self.options = options
        self.profile = profile
        self.frames = WorkFrames(options)
        self.parameters = Parameters(system=self._system_parameter)
        self.ended = False
        self.selected = -1
        self.cycle = Sticky()
        self.length_mm = 0.0
        self.probed: list[float] | None = None
        self.distorted: set[int] = set()
        self.observer: Observer | None = None
        self.comp_radii: list[tuple[int, float]] = []

    def _system_parameter(self, index: int) -> float | None:
        state, unit = self.state, float(self.state[UNIT])
        if 5061 <= index <= 5063:
            return None if self.probed is None else self.probed[index - 5061] / unit
        if 5161 <= index <= 5163 or 5181 <= index <= 5183:
            home = self.frames.home[280 if index < 5180 else 300]
            return home[(index - 5161) % 20] / unit
        if 5211 <= index <= 5213:
            return NAN if self.frames.g92_assumed[index - 5211] else self.frames.g92[index - 5211] / unit
        if index == 5220:
            return float(FRAME_CODES.index(self.frames.system) + 1)
        if 5221 <= index <= 5383 and (index - 5221) % 20 < 3:
            return self.frames.machine[FRAME_CODES[(index - 5221) // 20]][(index - 5221) % 20] / unit
        if 5420 <= index <= 5422:
            axis = index - 5420
            return (float(state[POS + axis]) - float(state[SHIFT + axis])) / unit
        return None
