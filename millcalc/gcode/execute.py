"""Carry out one block in the order of execution of NISTIR 6556, table 8."""

from __future__ import annotations

import math
from collections.abc import Callable

from millcalc.gcode import cycles
from millcalc.gcode.arc_geometry import PLANE_AXES
from millcalc.gcode.arc_words import ArcCase, solve_arc
from millcalc.gcode.check_block import Request, check_words, sort_codes, word_span
from millcalc.gcode.expressions import Parameters
from millcalc.gcode.frames import WorkFrames
from millcalc.gcode.modal import (
    CYCLES,
    FRAME_CODES,
    GROUP_ARC_DISTANCE,
    GROUP_COMP,
    GROUP_DISTANCE,
    GROUP_FEED_MODE,
    GROUP_FRAME,
    GROUP_LENGTH,
    GROUP_MIRROR,
    GROUP_MOTION,
    GROUP_PATH,
    GROUP_PLANE,
    GROUP_POLAR,
    GROUP_RETURN,
    GROUP_ROTATION,
    GROUP_SCALING,
    GROUP_SPEED_MODE,
    GROUP_UNITS,
    M_ORIENT,
    M_OVERRIDE,
    M_SPINDLE,
    M_STOP,
    M_TOOL,
    PROBES,
    code_name,
)
from millcalc.gcode.motions import (
    ARC_CCW,
    ARC_CW,
    FLAG_COMP_LEFT,
    FLAG_COMP_RIGHT,
    FLAG_HOME,
    FLAG_MACHINE,
    FLAG_OPTIONAL,
    FLAG_ROTARY,
    LINE,
    PROBE,
    RAPID,
)
from millcalc.gcode.options import ReadOptions
from millcalc.gcode.output import Output, decoded
from millcalc.gcode.problems import FindingLog, Problem
from millcalc.gcode.profiles import Profile
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
from millcalc.tuning import PROBE_CLEARANCE_MM

NAN = float("nan")
DISTORTING = {680: "rotates", 510: "scales", 511: "mirrors", 160: "reads as polar coordinates"}
DISTORTING_ENDS = {690: 680, 500: 510, 501: 511, 150: 160}
Observer = Callable[[Block, Request, "Executor"], None]
"""Told of every block just before it is carried out."""


class Executor:
    """The machine as the program sees it.

    Parameters
    ----------
    state : float64 (STATE_SIZE,)
        The modal state, changed in place.
    output : Output
        Where motions and events go.
    log : FindingLog
        Where problems go.
    options : ReadOptions
        What is known beforehand.
    profile : Profile
        What the controller class accepts.

    Attributes
    ----------
    ended : bool
        M2, M30 or the closing percent line was carried out.
    selected : int
        Tool named by the last T word [-].
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

        Parameters
        ----------
        block : Block
            The block; not a control statement.

        Returns
        -------
        Request
            What the block asked for, for the flow of control.
        """
        state, line = self.state, block.line
        self.output.flags = FLAG_OPTIONAL if block.deleted else 0
        for kind, start, end in block.comments:
            self.output.event(kind, line, text=decoded(block.text[start:end].encode("latin-1")).strip())
        request = sort_codes(block, self.profile, int(state[MOTION]))
        distance = request.groups.get(GROUP_DISTANCE)
        incremental = distance == 910 if distance is not None else bool(state[INCREMENTAL])
        if not block.broken:
            check_words(block, request, self.profile, incremental=incremental)
            self._check_compensation(block, request)
            if request.moves and request.motion in CYCLES:
                cycles.check(block, request, self.cycle, state, block.problems)
            if request.moves and request.motion in PROBES:
                self._check_probe(block, request)
            self._check_feed_word(block, request)
        if self.observer is not None:
            self.observer(block, request, self)
        if block.broken:
            self._after_broken(block, request)
        else:
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
        for axis, letter in enumerate("XYZ"):
            if letter in block.words or letter in _letters_of(block):
                self.state[POS + axis] = NAN

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

    def _check_feed_word(self, block: Block, request: Request) -> None:
        mode = request.groups.get(GROUP_FEED_MODE, int(self.state[FEED_MODE]) * 10)
        if mode == 930 and request.moves and request.motion in (10, 20, 30) and "F" not in block.words:
            start, end = word_span(block, "XYZABCIJKR")
            block.problems.append(
                Problem(
                    "WORD-18",
                    start,
                    end,
                    "inverse-time feed (G93) is in force, but this feed move has no F word",
                    "write F on every feed move, or G94 before it",
                    block.text[start:end],
                    "an F word",
                )
            )

    def _check_probe(self, block: Block, request: Request) -> None:
        words, state = block.words, self.state
        start, end = next(((s, e) for _, s, e in block.g), (0, len(block.text)))

        def refuse(fact: str, action: str) -> None:
            block.problems.append(Problem("WORD-19", start, end, fact, action, block.text[start:end], ""))

        if not any(letter in words for letter in "XYZ"):
            refuse("a probing move has no X, Y or Z", "write the axis to probe along")
        if any(letter in words for letter in "ABC"):
            refuse("a probing move has a rotary word", "leave A, B and C out")
        if request.groups.get(GROUP_FEED_MODE, int(state[FEED_MODE]) * 10) == 930:
            refuse("a probing move stands under inverse-time feed (G93)", "write G94 before it")

    def _check_compensation(self, block: Block, request: Request) -> None:
        comp = int(self.state[COMP])
        groups = request.groups
        wanted = groups.get(GROUP_COMP)
        problems = block.problems

        def refuse(code: str, fact: str, action: str) -> None:
            start, end = next(((s, e) for _, s, e in block.g), (0, len(block.text)))
            problems.append(Problem(code, start, end, fact, action, block.text[start:end], "", blocks=False))

        plane = groups.get(GROUP_PLANE, int(self.state[PLANE]) * 10)
        if wanted in (410, 420):
            if comp:
                refuse(
                    "COMP-02",
                    f"{code_name('G', wanted)} stands while compensation is on already",
                    "write G40 before it",
                )
            if plane != 170:
                refuse(
                    "COMP-03",
                    "cutter compensation is switched on outside the XY plane",
                    "write G17 before it",
                )
            if "D" in block.words:
                value, start, end = block.words["D"]
                if value < 0 or abs(value - round(value)) > 1e-4:
                    problems.append(
                        Problem(
                            "COMP-04",
                            start,
                            end,
                            f"D{value:g} is not the number of a cutter",
                            "write a whole number from 0 on",
                            block.text[start:end],
                            "a whole number from 0 on",
                        )
                    )
            return
        if not comp or wanted == 400:
            return
        forbidden = []
        if request.nonmodal in (920, 921, 922, 923, 520):
            forbidden.append("a change of axis offsets")
        if request.nonmodal in (280, 300):
            forbidden.append("a move home")
        if request.nonmodal == 530:
            forbidden.append("a move in machine coordinates")
        if GROUP_UNITS in groups:
            forbidden.append("a change of units")
        if GROUP_FRAME in groups:
            forbidden.append("a change of the work offset")
        if GROUP_PLANE in groups and plane != 170:
            forbidden.append("another plane")
        if request.moves and request.motion in CYCLES:
            forbidden.append("a canned cycle")
        if request.moves and request.motion in PROBES:
            forbidden.append("a probing move")
        for what in forbidden:
            refuse("COMP-01", f"{what} is not allowed while cutter compensation is on", "write G40 before it")

    # ---- execution, in order
    def _execute(self, block: Block, request: Request) -> None:
        state, groups, words, line = self.state, request.groups, block.words, block.line
        event = self.output.event
        moves = request.moves
        feed_mode = groups.pop(GROUP_FEED_MODE, None)
        for code in groups.values():
            self._saw(code)
        if feed_mode is not None:
            self._feed_mode(feed_mode, line)
        if "F" in words:
            value = words["F"][0]
            if not moves and value != float(state[FEED]):
                event("feed", line, value * float(state[UNIT]))
            state[FEED] = value
        dwells = request.nonmodal == 40
        if "S" in words and not (dwells and "S" in self.profile.dwell):
            value = words["S"][0]
            if not moves and value != float(state[RPM]):
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
            self._length_offset(groups[GROUP_LENGTH], block)
        if GROUP_FRAME in groups:
            self.frames.system = groups[GROUP_FRAME]
            self.frames.apply(state)
            event("frame", line, groups[GROUP_FRAME] / 10)
        self._distortion(groups, block)
        for letter in "ABC":
            if letter in words:
                self._rotary(block, letter)
                break
        if request.nonmodal is not None and request.nonmodal not in (40, 530, 90):
            self._nonmodal(request.nonmodal, block)
        if GROUP_MOTION in groups:
            self._set_motion(groups[GROUP_MOTION])
        if moves:
            self._move(block, request)
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
        number = round(block.words["D"][0]) if "D" in block.words else int(self.state[TOOL])
        diameter = self.options.tool_diameters_mm.get(number)
        self.comp_radii.append((self.output.count, NAN if diameter is None else 0.5 * diameter))
        if flag != self.state[COMP]:
            text = f"D{number}" if "D" in block.words else ""
            self.output.event("compensation", block.line, code / 10, text)
        self.state[COMP] = flag

    def _length_offset(self, code: int, block: Block) -> None:
        words, unit = block.words, float(self.state[UNIT])
        length: float | None = None
        text = ""
        if code == 490:
            length = 0.0
        elif code == 430 and "H" in words:
            number = round(words["H"][0])
            text = f"H{number}"
            length = 0.0 if number == 0 else self.options.tool_lengths_mm.get(number)
        elif code == 431 and "Z" in words:
            length = words["Z"][0] * unit
            text = f"Z{words['Z'][0]:g}"
        if length is not None and (
            code == 430 and block.words.get("H", (0,))[0] in self.options.tool_lengths_mm
        ):
            self.state[POS + 2] += self.length_mm - length
            self.length_mm = length
        elif code == 490 and self.length_mm:
            self.state[POS + 2] += self.length_mm
            self.length_mm = 0.0
        self.output.event("length offset", block.line, code / 10, text)

    def _distortion(self, groups: dict[int, int], block: Block) -> None:
        for group in (GROUP_ROTATION, GROUP_SCALING, GROUP_MIRROR, GROUP_POLAR):
            code = groups.get(group)
            if code in DISTORTING_ENDS:
                self.distorted.discard(DISTORTING_ENDS[code])
            elif code is not None:
                self._distort(code, code, block)

    def _distort(self, kind: int, code: int, block: Block) -> None:
        """From here on the coordinates are not followed."""
        self.distorted.add(kind)
        start, end = next(((s, e) for each, s, e in block.g if each == code), (0, len(block.text)))
        name = code_name("G", code)
        self.log.add(
            Problem(
                "WORD-20",
                start,
                end,
                f"{name} {DISTORTING[kind]} the coordinates from here on, which is not followed: "
                "positions after it are marked unknown",
                f"have the program written without {name}",
                name,
                "plain coordinates",
                blocks=False,
            ),
            block.line,
        )

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

    # ---- group 0
    def _nonmodal(self, code: int, block: Block) -> None:
        state, frames, words = self.state, self.frames, block.words
        unit = float(state[UNIT])
        axes = [(axis, words[letter][0] * unit) for axis, letter in enumerate("XYZ") if letter in words]
        event, line = self.output.event, block.line
        if code == 100:
            number = round(words["P"][0])
            system = frames.system if number == 0 else FRAME_CODES[number - 1]
            for axis, value in axes:
                if round(words["L"][0]) == 2:
                    frames.set_machine(system, axis, value)
                else:
                    frames.zero_here(state, system, axis, value)
            event("shift", line, 10.0, f"L{round(words['L'][0])} P{number}")
            if words.get("R", (0.0,))[0] != 0.0:
                self._distort(680, 100, block)
        elif code == 520:
            for axis, value in axes:
                frames.g52[axis] = value
            event("shift", line, 52.0)
        elif code == 920:
            for axis, value in axes:
                frames.preset(state, axis, value)
            event("shift", line, 92.0)
        elif code in (921, 922):
            frames.clear_g92(code == 921)
            event("shift", line, code / 10)
        elif code == 923:
            frames.g92 = list(frames.g92_stored)
            event("shift", line, 92.3)
        elif code in (281, 301):
            frames.home_part[code - 1] = [float(value) for value in state[POS : POS + 3]]
            event("home", line, code / 10)
        elif code in (280, 300):
            event("home", line, code / 10)
            self._go_home(code, block)
            return
        frames.apply(state)

    def _go_home(self, code: int, block: Block) -> None:
        state, frames, words = self.state, self.frames, block.words
        target = self._target(block)
        named = [letter in words for letter in "XYZ"]
        if any(named):
            self.frames.place(state)
            self.output.row(RAPID, self._target(block), block.line)
            target = [float(value) for value in state[POS : POS + 3]]
        stored = frames.home_part[code]
        goes = named if self.profile.home_axes == "named" and any(named) else [True] * 3
        for axis in range(3):
            if goes[axis]:
                target[axis] = (
                    stored[axis] if stored is not None else frames.from_machine(axis, frames.home[code][axis])
                )
        self.output.flags |= FLAG_HOME
        self.output.row(RAPID, target, block.line)
        self.output.flags &= ~FLAG_HOME

    # ---- motion
    def _target(self, block: Block) -> list[float]:
        state, words = self.state, block.words
        unit = float(state[UNIT])
        incremental = bool(state[INCREMENTAL])
        target = [float(value) for value in state[POS : POS + 3]]
        for axis, letter in enumerate("XYZ"):
            if letter in words:
                value = words[letter][0] * unit
                target[axis] = target[axis] + value if incremental else value + float(state[SHIFT + axis])
        if self.distorted:
            flat = self.distorted <= {680, 160}
            for axis in range(2 if flat else 3):
                target[axis] = NAN
        return target

    def _move(self, block: Block, request: Request) -> None:
        state, motion, line = self.state, request.motion, block.line
        if request.nonmodal == 530:
            target = [float(value) for value in state[POS : POS + 3]]
            for axis, letter in enumerate("XYZ"):
                if letter in block.words:
                    target[axis] = self.frames.from_machine(axis, block.words[letter][0] * float(state[UNIT]))
            self.output.flags |= FLAG_MACHINE
            self.output.row(RAPID if motion == 0 else LINE, target, line)
            return
        self.frames.place(state)
        if motion in CYCLES:
            cycles.expand(block, motion, self)
            return
        target = self._target(block)
        if motion in (0, 10):
            self.output.row(RAPID if motion == 0 else LINE, target, line)
        elif motion in (20, 30):
            self._arc(block, motion, target)
        else:
            self._probe(block, target)

    def _probe(self, block: Block, target: list[float]) -> None:
        state = self.state
        here = [float(value) for value in state[POS : POS + 3]]
        distance = math.dist(here, target)
        if distance < PROBE_CLEARANCE_MM:
            start, end = next(((s, e) for _, s, e in block.g), (0, len(block.text)))
            block.problems.append(
                Problem(
                    "WORD-19",
                    start,
                    end,
                    f"the probing move is only {distance:.3f} mm long",
                    "begin farther from the target",
                    block.text[start:end],
                    f"at least {PROBE_CLEARANCE_MM} mm",
                    blocks=False,
                    measured=distance,
                    limit=PROBE_CLEARANCE_MM,
                    unit="mm",
                )
            )
        self.output.row(PROBE, target, block.line)
        self.probed = [NAN if here[k] != target[k] else here[k] for k in range(3)]
        for axis in range(3):
            if here[axis] != target[axis]:
                state[POS + axis] = NAN

    def _arc(self, block: Block, motion: int, target: list[float]) -> None:
        state = self.state
        start = [float(value) for value in state[POS : POS + 3]]
        end = list(target)
        absolute = bool(state[ARC_ABSOLUTE])
        in_plane = PLANE_AXES[int(state[PLANE]) - 17][:2]
        unknown = any(math.isnan(start[axis] + end[axis]) for axis in in_plane)
        shifted = False
        if unknown and not absolute and not self.distorted and bool(state[INCREMENTAL]):
            # only distances matter: solve the arc as if it began at zero
            unit = float(state[UNIT])
            start = [0.0] * 3
            end = [block.words[letter][0] * unit if letter in block.words else 0.0 for letter in "XYZ"]
            shifted = True
        case = ArcCase(
            start=start,
            end=end,
            shift=[float(value) for value in state[SHIFT : SHIFT + 3]],
            unit=float(state[UNIT]),
            plane=int(state[PLANE]),
            turn=-1 if motion == 20 else 1,
            absolute=absolute,
            end_required=self.profile.arc_end_required,
            half_arcs=self.profile.half_arcs_by_radius,
            idle_centre_words=self.profile.idle_centre_words,
        )
        if "R" in block.words and "arc radius" in self.profile.refuse:
            _, first, last = block.words["R"]
            block.problems.append(
                Problem(
                    "WORD-07",
                    first,
                    last,
                    f"arcs with R are not accepted by {self.profile.title}",
                    "write centre words",
                    block.text[first:last],
                    "I, J, K",
                    blocks=False,
                )
            )
        arc = solve_arc(block, case, block.problems)
        if arc is None:
            for axis, letter in enumerate("XYZ"):
                if letter in block.words:
                    state[POS + axis] = NAN
            return
        if math.isnan(arc.sweep_rad):
            first, last = block.words.get(
                "I", block.words.get("J", block.words.get("R", (0.0, 0, len(block.text))))
            )[1:]
            block.problems.append(
                Problem(
                    "ARC-11",
                    first,
                    last,
                    "the arc begins at a position the program never set: its circle cannot be checked",
                    "move to a known X, Y and Z before the arc",
                    block.text.strip()[:40],
                    "a known start",
                    blocks=False,
                )
            )
        kind = ARC_CW if motion == 20 else ARC_CCW
        if shifted:
            arc.centre = [NAN] * 3
            if math.isnan(sum(target)) or math.isnan(float(sum(state[POS : POS + 3]))):
                arc.length_mm = NAN
        self.output.row(
            kind, target, block.line, centre=arc.centre, sweep_rad=arc.sweep_rad, length_mm=arc.length_mm
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
