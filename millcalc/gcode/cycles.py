"""Canned cycles G73 and G81 to G89, written out as the motions they stand for."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from millcalc.gcode.arc_geometry import PLANE_AXES
from millcalc.gcode.modal import GROUP_DISTANCE, GROUP_FEED_MODE, GROUP_PLANE, code_name
from millcalc.gcode.motions import FLAG_CYCLE
from millcalc.gcode.problems import Problem
from millcalc.gcode.request import Request
from millcalc.gcode.state import FEED_MODE, INCREMENTAL, PLANE, POS, SHIFT, SPINDLE, UNIT, State
from millcalc.gcode.tuning import INTEGER_TOLERANCE, MAX_PECKS, PECK_CLEARANCE_MM
from millcalc.gcode.words import Block

if TYPE_CHECKING:
    from millcalc.gcode.execute import Executor

NAN = float("nan")
NEEDS_DWELL = (820, 860, 880, 890)
PECKING = (730, 830)


@dataclass
class Sticky:
    """What a cycle keeps for the lines that follow.

    active: Cycle in force, times ten; 0 none.
    values: Sticky numbers as programmed: R, depth, P, Q, I, J, K.
    to_initial: Return to the initial level (G98), else to R (G99).
    initial: Level before the cycle began [mm].
    """

    active: int = 0
    values: dict[str, float] = field(default_factory=dict)
    to_initial: bool = True

    def leave(self) -> None:
        """The cycle ended; R stays, as the report has it sticky."""
        self.active = 0
        kept = self.values.get("R")
        self.values = {} if kept is None else {"R": kept}


def _axes(block: Block, request: Request, state: State) -> tuple[int, int, int]:
    plane = request.groups.get(GROUP_PLANE, int(state[PLANE]) * 10) // 10
    return PLANE_AXES[plane - 17]


def _incremental(request: Request, state: State) -> bool:
    code = request.groups.get(GROUP_DISTANCE)
    return bool(state[INCREMENTAL]) if code is None else code == 910


def check(block: Block, request: Request, sticky: Sticky, state: State, problems: list[Problem]) -> None:
    """Find what is wrong with the words of a cycle block.

    block: The block.
    request: Its codes.
    sticky: What earlier lines left.
    state: The modal state, read only.
    problems: Problems are appended here.
    """
    words, cycle = block.words, request.motion
    name = code_name("G", cycle)
    across = _axes(block, request, state)[2]
    depth = "XYZ"[across]
    same = sticky.active == cycle
    start, end = next(((s, e) for _, s, e in block.g), (0, len(block.text)))

    def problem(
        code: str, fact: str, action: str, expected: str, letter: str = "", blocks: bool = True
    ) -> None:
        first, last = words[letter][1:] if letter in words else (start, end)
        problems.append(
            Problem(code, first, last, fact, action, block.text[first:last], expected, blocks=blocks)
        )

    if not any(letter in words for letter in "XYZ"):
        problem("CYCLE-01", f"{name} has no X, Y or Z word", "write where the hole is", "an axis word")
        return
    if depth not in words and not (same and depth in sticky.values):
        problem(
            "CYCLE-02", f"{name} has no depth: {depth} is missing on its first line", f"write {depth}", depth
        )
    if "R" not in words and "R" not in sticky.values:
        problem("CYCLE-04", f"{name} has no retract level R", "write R above the work", "R")
    if "L" in words:
        count = words["L"][0]
        if not (count >= 1 - INTEGER_TOLERANCE and abs(count - round(count)) <= INTEGER_TOLERANCE):
            problem(
                "CYCLE-05",
                f"the number of repeats L{count:g} is not a whole number from 1 on",
                "write a whole number from 1 on",
                "a whole number from 1 on",
                "L",
            )
        elif count > 1 and not _incremental(request, state):
            problem(
                "CYCLE-12",
                f"{name} with L{count:g} under G90 drills the same hole {count:g} times",
                "write G91 and distances to drill a row of holes, or leave L out",
                "G91, or L1",
                "L",
                blocks=False,
            )
        if count > 100_000:
            problem(
                "CYCLE-05",
                f"the number of repeats L{count:g} is beyond any drilling job",
                "correct L",
                "a smaller number",
                "L",
            )
    if cycle in NEEDS_DWELL:
        dwell = words["P"][0] if "P" in words else sticky.values.get("P") if same else None
        if dwell is None:
            problem("CYCLE-06", f"{name} has no dwell time P", "write P with the dwell in seconds", "P")
        elif dwell < 0:
            problem(
                "CYCLE-06", f"the dwell time P{dwell:g} of {name} is negative", "write zero or more", "P", "P"
            )
    if cycle in PECKING:
        peck = words["Q"][0] if "Q" in words else sticky.values.get("Q") if same else None
        if peck is None:
            problem("CYCLE-07", f"{name} has no peck depth Q", "write Q with the depth of one peck", "Q")
        elif not peck > 0:
            problem(
                "CYCLE-07",
                f"the peck depth Q{peck:g} of {name} is not above zero",
                "write Q above zero",
                "Q above zero",
                "Q",
            )
    if cycle == 870:
        for letter in "IJK":
            if letter not in words and not (same and letter in sticky.values):
                problem("CYCLE-08", f"back boring (G87) has no {letter}", f"write {letter}", letter)
    if any(letter in words for letter in "ABC"):
        problem(
            "CYCLE-09", f"{name} moves a rotary axis", "turn the axis in a line of its own", "X, Y, Z only"
        )
    if request.groups.get(GROUP_FEED_MODE, int(state[FEED_MODE]) * 10) == 930:
        problem("CYCLE-10", f"{name} stands under inverse-time feed (G93)", "write G94 before it", "G94")
    spindle = {3: 1, 4: -1, 5: 0}.get(request.m.get(7, -1), int(state[SPINDLE]))
    if 6 in request.m and 7 not in request.m:
        spindle = 0
    if cycle == 840 and spindle in (0, -1):
        problem(
            "CYCLE-11",
            "tapping (G84) starts with the spindle not turning clockwise",
            "write M3 and S before it",
            "M3",
        )
    if cycle in (860, 870, 880) and spindle == 0:
        problem(
            "CYCLE-11",
            f"{name} stops and restarts the spindle, but it is not turning",
            "write M3 and S before it",
            "M3",
        )


def expand(block: Block, cycle: int, machine: Executor) -> None:
    """Write the motions of a cycle block; the words were checked before.

    block: The block.
    cycle: Cycle code times ten.
    machine: Gives the state and takes the motions.

    Source: NISTIR 6556, sections 3.5.16.1 to 3.5.16.10. G73 and the clearance of a peck: from memory.
    """
    state, words, sticky, output = machine.state, block.words, machine.cycle, machine.output
    a, b, t = PLANE_AXES[int(state[PLANE]) - 17]
    unit = float(state[UNIT])
    incremental = bool(state[INCREMENTAL])
    sticky.active = cycle
    depth_letter = "XYZ"[t]
    for letter in ("R", depth_letter, "P", "Q", "I", "J", "K"):
        if letter in words:
            sticky.values[letter] = words[letter][0]
    values = sticky.values
    here = [float(value) for value in state[POS : POS + 3]]
    if incremental:
        retract = here[t] + values["R"] * unit
        bottom = retract + values[depth_letter] * unit
    else:
        retract = values["R"] * unit + float(state[SHIFT + t])
        bottom = values[depth_letter] * unit + float(state[SHIFT + t])
    if retract < bottom - 1e-9:
        first, last = (
            words["R"][1:] if "R" in words else words.get(depth_letter, (0.0, 0, len(block.text)))[1:]
        )
        block.problems.append(
            Problem(
                "CYCLE-03",
                first,
                last,
                f"the retract level R is {bottom - retract:.3f} mm below the bottom of the hole",
                "R must lie above the depth",
                block.text[first:last],
                f"R above {depth_letter}",
                blocks=False,
            )
        )
        for axis, letter in enumerate("XYZ"):
            if letter in words:
                state[POS + axis] = NAN
        return
    if cycle in PECKING and retract - bottom > MAX_PECKS * values["Q"] * unit:
        first, last = words["Q"][1:] if "Q" in words else (0, len(block.text))
        block.problems.append(
            Problem(
                "CYCLE-07",
                first,
                last,
                f"the peck depth Q{values['Q']:g} asks for {(retract - bottom) / (values['Q'] * unit):.0f} pecks; "
                "the hole is followed as one feed",
                "correct Q",
                block.text[first:last],
                f"at most {MAX_PECKS} pecks",
                blocks=False,
            )
        )
        cycle = 810
    initial = here[t]
    clear = retract if not sticky.to_initial or not initial > retract else initial
    hole = _Hole(block.line, a, b, t, retract, bottom, clear, machine, values, unit, incremental)
    output.flags |= FLAG_CYCLE
    if not initial >= retract:
        hole.across(retract, rapid=True)
    for _ in range(round(words["L"][0]) if "L" in words else 1):
        place = [float(value) for value in state[POS : POS + 3]]
        for axis in (a, b):
            letter = "XYZ"[axis]
            if letter in words:
                value = words[letter][0] * unit
                place[axis] = place[axis] + value if incremental else value + float(state[SHIFT + axis])
        if output.full:
            return
        output.line_to(place, block.line, rapid=True)
        if cycle == 870:
            hole.back_bore()
            continue
        hole.across(retract, rapid=True)
        hole.drill(cycle)


@dataclass(slots=True)
class _Hole:
    """One hole: where it lies and how to move along its axis."""

    line: int
    a: int
    b: int
    t: int
    retract: float
    bottom: float
    clear: float
    machine: Executor
    values: dict[str, float]
    unit: float
    incremental: bool

    def across(self, level: float, *, rapid: bool) -> None:
        """Move along the drilling axis to a level."""
        target = [float(value) for value in self.machine.state[POS : POS + 3]]
        target[self.t] = level
        self.machine.output.line_to(target, self.line, rapid)

    def beside(self, da: float, db: float) -> None:
        """Rapid in the plane by a distance."""
        target = [float(value) for value in self.machine.state[POS : POS + 3]]
        target[self.a] += da
        target[self.b] += db
        self.machine.output.line_to(target, self.line, True)

    def spindle(self, direction: float) -> None:
        """Turn the spindle another way, as the cycle does by itself."""
        self.machine.state[SPINDLE] = direction

    def drill(self, cycle: int) -> None:
        """From the retract level down and up again."""
        output, values, state = self.machine.output, self.values, self.machine.state
        if cycle in PECKING:
            self._peck(values["Q"] * self.unit, chip_break=cycle == 730)
            self.across(self.clear, rapid=True)
            return
        self.across(self.bottom, rapid=False)
        if cycle in NEEDS_DWELL and values["P"] > 0:
            output.dwell(self.line, values["P"] * self.machine.profile.dwell.get("P", 1.0))
        turning = float(state[SPINDLE])
        if cycle == 840:
            self.spindle(-1.0)
            self.across(self.clear, rapid=False)
            self.spindle(1.0)
        elif cycle in (850, 890):
            self.across(self.clear, rapid=False)
        elif cycle == 860:
            self.spindle(0.0)
            self.across(self.clear, rapid=True)
            self.spindle(turning)
        elif cycle == 880:
            self.spindle(0.0)
            output.event("stop", self.line, 0.0, "G88: the tool is drawn out by hand")
            state[POS + self.t] = self.clear
            self.spindle(turning)
        else:
            self.across(self.clear, rapid=True)

    def _peck(self, step: float, *, chip_break: bool) -> None:
        level = self.retract
        if math.isnan(step) or math.isnan(self.retract - self.bottom):
            self.across(self.bottom, rapid=False)
            return
        number = 0
        while level - self.bottom > 1e-9 and not self.machine.output.full:
            number += 1
            level = max(self.retract - number * step, self.bottom)
            self.across(level, rapid=False)
            if level - self.bottom <= 1e-9:
                break
            if chip_break:
                self.across(min(level + PECK_CLEARANCE_MM, self.retract), rapid=True)
            else:
                self.across(self.clear, rapid=True)
                self.across(min(level + PECK_CLEARANCE_MM, self.retract), rapid=True)

    def back_bore(self) -> None:
        """G87: down beside the hole, up through it, and back."""
        values, state = self.values, self.machine.state
        letters = "IJK"
        da, db = values[letters[self.a]] * self.unit, values[letters[self.b]] * self.unit
        rise = values[letters[self.t]] * self.unit
        top = self.bottom + rise if self.incremental else rise + float(state[SHIFT + self.t])
        turning = float(state[SPINDLE])
        self.across(self.retract, rapid=True)
        self.beside(da, db)
        self.spindle(0.0)
        self.across(self.bottom, rapid=True)
        self.beside(-da, -db)
        self.spindle(turning)
        self.across(top, rapid=False)
        self.across(self.bottom, rapid=False)
        self.spindle(0.0)
        self.beside(da, db)
        self.across(self.clear, rapid=True)
        self.beside(-da, -db)
        self.spindle(turning)
