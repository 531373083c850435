"""Carry out one block in the order of execution of NISTIR 6556, table 8."""

from __future__ import annotations

from collections.abc import Callable

from millcalc.gcode import cycles, moves, offsets
from millcalc.gcode.check_block import check_words, sort_codes
from millcalc.gcode.check_counts import check_counts
from millcalc.gcode.check_reach import check_reach
from millcalc.gcode.check_state import check_state
from millcalc.gcode.frames import WorkFrames
from millcalc.gcode.modal import (
    FRAME_CODES,
    GROUP_ARC_DISTANCE,
    GROUP_COMP,
    GROUP_DISTANCE,
    GROUP_FEED_MODE,
    GROUP_FRAME,
    GROUP_LENGTH,
    GROUP_MOTION,
    GROUP_PATH,
    GROUP_PLANE,
    GROUP_RETURN,
    GROUP_SPEED_MODE,
    GROUP_UNITS,
    M_ORIENT,
    M_OVERRIDE,
    M_SPINDLE,
    M_STOP,
    M_TOOL,
)
from millcalc.gcode.motions import (
    FLAG_COMP_LEFT,
    FLAG_COMP_RIGHT,
    FLAG_OPTIONAL,
    FLAG_ROTARY,
)
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.output import Output, decoded
from millcalc.gcode.parameters import Parameters
from millcalc.gcode.problems import FindingLog, Problem
from millcalc.gcode.profiles import Profile
from millcalc.gcode.request import Request
from millcalc.gcode.state import (
    ARC_ABSOLUTE,
    COMP,
    COOLANT,
    DISTANCE_KNOWN,
    FEED,
    FEED_MODE,
    INCREMENTAL,
    MOTION,
    PLANE,
    PLANE_KNOWN,
    POS,
    RPM,
    SEEN,
    SEEN_BITS,
    SHIFT,
    SPINDLE,
    TOOL,
    UNIT,
    UNIT_KNOWN,
    State,
)
from millcalc.gcode.words import Block

NAN = float("nan")
Observer = Callable[[Block, Request, "Executor"], None]
"""Told of every block just before it is carried out."""


class Executor:
    """The machine as the program sees it.

    state: The modal state, changed in place.
    output: Where motions and events go.
    log: Where problems go.
    options: What is known beforehand.
    profile: What the controller class accepts.
    ended: M2, M30 or the closing percent line was carried out.
    selected: Tool named by the last T word [-].
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
        self.cycle = cycles.Sticky()
        self.length_mm = 0.0
        self.probed: list[float] | None = None
        self.distorted: set[int] = set()
        self.observer: Observer | None = None
        self.comp_radii: list[tuple[int, float]] = []

    # ---- parameters kept by the machine
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

    # ---- one block
    def run(self, block: Block) -> Request:
        """Carry out a block; problems go to the log.

        block: The block; not a control statement.
        Returns: What the block asked for, for the flow of control.
        """
        state, line = self.state, block.line
        self.output.flags = FLAG_OPTIONAL if block.deleted else 0
        for kind, start, end in block.comments:
            self.output.event(kind, line, text=decoded(block.text[start:end].encode("latin-1")).strip())
        request = sort_codes(block, self.profile, int(state[MOTION]))
        distance = request.groups.get(GROUP_DISTANCE)
        incremental = distance == 910 if distance is not None else bool(state[INCREMENTAL])
        if not block.broken:
            check_counts(block, request)
            check_reach(block, request, float(state[UNIT]))
        if not block.broken:
            check_words(block, request, self.profile, incremental=incremental)
            check_state(block, request, state, self.cycle)
        if block.broken:
            self._after_broken(block, request)
        else:
            if self.observer is not None:
                self.observer(block, request, self)
            self._settings(block)
            self._execute(block, request)
        for problem in block.problems:
            self.log.add(problem, line)
        return request

    def _after_broken(self, block: Block, request: Request) -> None:
        """Do not move, but keep the modes the line names and forget the axes it names."""
        groups = {key: code for key, code in request.groups.items() if key not in (GROUP_COMP, GROUP_LENGTH)}
        self._modes(groups, block.line)
        if GROUP_MOTION in groups:
            self._set_motion(groups[GROUP_MOTION])
        feed = block.words.get("F")
        if feed is not None and feed[0] >= 0:
            self.state[FEED] = feed[0]
        if block.kind:
            return
        if block.unknown_count:
            self._lost(block, request)
        for axis, letter in enumerate("XYZ"):
            if letter in block.words or letter in _letters_of(block):
                self.state[POS + axis] = NAN

    def _lost(self, block: Block, request: Request) -> None:
        """Forget where the cutter is and which one it is: a count or a number in the block is unknown."""
        self.state[POS : POS + 3] = NAN
        if "T" in block.words:
            self.selected = -1
        if M_TOOL in request.m or ("T" in block.words and self.profile.tool_word_changes):
            self._change_tool(block.line)
        if GROUP_COMP in request.groups:
            self._compensation(request.groups[GROUP_COMP], block)

    def _settings(self, block: Block) -> None:
        for index, value in block.settings:
            if isinstance(index, str):
                self.parameters.set_name(index, value)
                continue
            if 5161 <= index <= 5390:
                self.log.add(
                    Problem(
                        "PARAM-08",
                        -1,
                        -1,
                        f"the program writes parameter #{index}, which the machine keeps: its effect is not followed",
                        "set offsets with G10 or at the machine",
                        f"#{index}",
                        "a parameter below 5000",
                        blocks=False,
                    ),
                    block.line,
                )
            self.parameters.numbered[index] = value

    # ---- execution, in order
    def _execute(self, block: Block, request: Request) -> None:
        state, groups, words, line = self.state, request.groups, block.words, block.line
        event = self.output.event
        moving = request.moves
        feed_mode = groups.pop(GROUP_FEED_MODE, None)
        for code in groups.values():
            self._saw(code)
        if feed_mode is not None:
            self._feed_mode(feed_mode, line)
        if "F" in words:
            value = words["F"][0]
            if not moving and value != float(state[FEED]):
                event("feed", line, value * float(state[UNIT]))
            state[FEED] = value
        dwells = request.nonmodal == 40
        if "S" in words and not (dwells and "S" in self.profile.dwell):
            value = words["S"][0]
            if not moving and value != float(state[RPM]):
                event("speed", line, value)
            state[RPM] = value
        if "T" in words:
            self.selected = round(words["T"][0])
            event("tool select", line, float(self.selected))
            if self.profile.tool_word_changes and M_TOOL not in request.m:
                self._change_tool(line)
        if M_TOOL in request.m:
            self._change_tool(line)
        if M_SPINDLE in request.m:
            state[SPINDLE] = {3: 1.0, 4: -1.0, 5: 0.0}[request.m[M_SPINDLE]]
            event("spindle", line, 0.0 if state[SPINDLE] == 0.0 else float(state[SPINDLE] * state[RPM]))
        for code in request.coolant:
            bits = 0 if code == 9 else int(state[COOLANT]) | (1 if code == 7 else 2)
            state[COOLANT] = bits
            event("coolant", line, float(bits))
        if M_ORIENT in request.m:
            event("unchecked", line, 19.0, "M19: the spindle stops at an angle")
        if M_OVERRIDE in request.m:
            event("override", line, float(request.m[M_OVERRIDE]))
        if dwells:
            letter = next(letter for letter in self.profile.dwell if letter in words)
            self.output.dwell(line, words[letter][0] * self.profile.dwell[letter])
        self._modes(groups, line)
        if GROUP_COMP in groups:
            self._compensation(groups[GROUP_COMP], block)
        if GROUP_LENGTH in groups:
            offsets.length_offset(self, groups[GROUP_LENGTH], block)
        if GROUP_FRAME in groups:
            self.frames.system = groups[GROUP_FRAME]
            self.frames.apply(state)
            event("frame", line, groups[GROUP_FRAME] / 10)
        offsets.distortion(self, groups, block)
        for letter in "ABC":
            if letter in words:
                self._rotary(block, letter)
                break
        if request.nonmodal is not None and request.nonmodal not in (40, 530, 90):
            offsets.nonmodal(self, request.nonmodal, block)
        if GROUP_MOTION in groups:
            self._set_motion(groups[GROUP_MOTION])
        if moving:
            moves.move(self, block, request)
        if M_STOP in request.m:
            self._stop(request.m[M_STOP], line)

    def _saw(self, code: int) -> None:
        bit = SEEN_BITS.get(code)
        if bit is not None:
            self.state[SEEN] = float(int(self.state[SEEN]) | (1 << bit))

    def _feed_mode(self, code: int, line: int) -> None:
        state = self.state
        self._saw(code)
        if code / 10 != state[FEED_MODE]:
            state[FEED_MODE] = code / 10
            state[FEED] = NAN
            self.output.event("feed mode", line, code / 10)

    def _modes(self, groups: dict[int, int], line: int) -> None:
        """Plane, units, path mode, distance modes and return level."""
        state, event = self.state, self.output.event
        if GROUP_FEED_MODE in groups:
            self._feed_mode(groups[GROUP_FEED_MODE], line)
        plane = groups.get(GROUP_PLANE)
        if plane is not None:
            if plane / 10 != state[PLANE] or state[PLANE_KNOWN] == 0.0:
                event("plane", line, plane / 10)
            state[PLANE], state[PLANE_KNOWN] = plane / 10, 1.0
        units = groups.get(GROUP_UNITS)
        if units is not None:
            unit = 25.4 if units == 200 else 1.0
            if unit != state[UNIT] or state[UNIT_KNOWN] == 0.0:
                event("units", line, units / 10)
            state[UNIT], state[UNIT_KNOWN] = unit, 1.0
        path = groups.get(GROUP_PATH)
        if path is not None:
            event("path mode", line, path / 10)
        distance = groups.get(GROUP_DISTANCE)
        if distance is not None:
            if (distance == 910) != bool(state[INCREMENTAL]) or state[DISTANCE_KNOWN] == 0.0:
                event("distance mode", line, distance / 10)
            state[INCREMENTAL], state[DISTANCE_KNOWN] = float(distance == 910), 1.0
        if GROUP_ARC_DISTANCE in groups:
            state[ARC_ABSOLUTE] = float(groups[GROUP_ARC_DISTANCE] == 901)
        if GROUP_RETURN in groups:
            self.cycle.to_initial = groups[GROUP_RETURN] == 980
        if groups.get(GROUP_SPEED_MODE) == 960:
            self.log.add(
                Problem(
                    "WORD-16",
                    -1,
                    -1,
                    "constant surface speed (G96) is not followed: S is not a spindle speed then",
                    "write G97 and the spindle speed",
                    "G96",
                    "G97",
                    blocks=False,
                ),
                line,
            )

    def _set_motion(self, code: int) -> None:
        if code != self.state[MOTION]:
            self.cycle.leave()
        self.state[MOTION] = code

    def _change_tool(self, line: int) -> None:
        state = self.state
        state[TOOL] = self.selected
        state[SPINDLE] = 0.0
        self.output.event("tool change", line, float(self.selected))

    def _compensation(self, code: int, block: Block) -> None:
        flag = {400: 0, 410: FLAG_COMP_LEFT, 420: FLAG_COMP_RIGHT}[code]
        number = int(self.state[TOOL])
        if "D" in block.words:
            number = -1 if block.unknown_count else round(block.words["D"][0])
        diameter = self.options.tool_diameters_mm.get(number)
        self.comp_radii.append((self.output.count, NAN if diameter is None else 0.5 * diameter))
        if flag != self.state[COMP]:
            text = f"D{number}" if "D" in block.words and number >= 0 else ""
            self.output.event("compensation", block.line, code / 10, text)
        self.state[COMP] = flag

    def _rotary(self, block: Block, letter: str) -> None:
        value, start, end = block.words[letter]
        self.output.flags |= FLAG_ROTARY
        self.log.add(
            Problem(
                "WORD-16",
                start,
                end,
                f"rotary word {letter}{value:g} is read but what it turns is not checked",
                "check this move at the machine",
                block.text[start:end],
                "X, Y and Z only",
                blocks=False,
            ),
            block.line,
        )

    def _stop(self, code: int, line: int) -> None:
        event = self.output.event
        if code in (0, 60):
            event("stop", line, float(code))
        elif code == 1:
            event("optional stop", line, 1.0)
        else:
            event("end", line, float(code))
            self.ended = True


def _letters_of(block: Block) -> str:
    """Axis letters that stand in a broken line, outside its comments."""
    text = block.text
    for _, start, end in block.comments:
        text = text[:start] + " " * (end - start) + text[end:]
    return "".join(letter for letter in "XYZ" if letter in text.upper())
