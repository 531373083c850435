"""Canned cycles G73 and G81 to G89, written out as the motions they stand for."""

from __future__ import annotations

import math
from dataclasses import dataclass

from millcalc.gcode.arc_geometry import PLANE_AXES
from millcalc.gcode.machine import Machine
from millcalc.gcode.motions import FLAG_CYCLE
from millcalc.gcode.problems import Problem
from millcalc.gcode.state import INCREMENTAL, PLANE, POS, SHIFT, SPINDLE, UNIT
from millcalc.gcode.sticky import NEEDS_DWELL, PECKING
from millcalc.gcode.tuning import MAX_PECKS, PECK_CLEARANCE_MM
from millcalc.gcode.words import Block

NAN = float("nan")


def expand(block: Block, cycle: int, machine: Machine) -> None:
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
    here = state[POS : POS + 3].tolist()
    if incremental:
        retract = here[t] + values["R"] * unit
        bottom = retract + values[depth_letter] * unit
    else:
        retract = values["R"] * unit + float(state[SHIFT + t])
        bottom = values[depth_letter] * unit + float(state[SHIFT + t])
    if retract < bottom - 1e-9:
        _upside_down(block, depth_letter, bottom - retract)
        for axis, letter in enumerate("XYZ"):
            if letter in words:
                state[POS + axis] = NAN
        return
    count = round(words["L"][0]) if "L" in words else 1
    if cycle in PECKING and retract - bottom > MAX_PECKS * values["Q"] * unit / max(1.0, 0.1 * count):
        _too_many_pecks(block, values["Q"], (retract - bottom) / (values["Q"] * unit))
        cycle = 810
    initial = here[t]
    clear = retract if not sticky.to_initial or not initial > retract else initial
    hole = _Hole(block.line, a, b, t, retract, bottom, clear, machine, values, unit, incremental)
    output.flags |= FLAG_CYCLE
    if not initial >= retract:
        hole.across(retract, rapid=True)
    for _ in range(count):
        place = state[POS : POS + 3].tolist()
        for axis in (a, b):
            letter = "XYZ"[axis]
            if letter in words:
                value = words[letter][0] * unit
                place[axis] = place[axis] + value if incremental else value + float(state[SHIFT + axis])
        if output.full or output.far_mm is not None:
            return
        output.line_to(place, block.line, rapid=True)
        if cycle == 870:
            hole.back_bore()
            continue
        hole.across(retract, rapid=True)
        hole.drill(cycle)


def _upside_down(block: Block, depth: str, below_mm: float) -> None:
    words = block.words
    first, last = (words["R"] if "R" in words else words.get(depth, (0.0, 0, len(block.text))))[1:]
    block.problems.append(
        Problem(
            "CYCLE-03",
            first,
            last,
            f"the retract level R is {below_mm:.3f} mm below the bottom of the hole",
            "R must lie above the depth",
            block.text[first:last],
            f"R above {depth}",
            blocks=False,
        )
    )


def _too_many_pecks(block: Block, peck: float, pecks: float) -> None:
    first, last = block.words["Q"][1:] if "Q" in block.words else (0, len(block.text))
    block.problems.append(
        Problem(
            "CYCLE-07",
            first,
            last,
            f"the peck depth Q{peck:g} asks for {pecks:.0f} pecks; the hole is followed as one feed",
            "correct Q",
            block.text[first:last],
            f"at most {MAX_PECKS} pecks",
            blocks=False,
        )
    )


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
    machine: Machine
    values: dict[str, float]
    unit: float
    incremental: bool

    def across(self, level: float, *, rapid: bool) -> None:
        """Move along the drilling axis to a level."""
        target = self.machine.state[POS : POS + 3].tolist()
        target[self.t] = level
        self.machine.output.line_to(target, self.line, rapid)

    def beside(self, da: float, db: float) -> None:
        """Rapid in the plane by a distance."""
        target = self.machine.state[POS : POS + 3].tolist()
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
