"""Arcs and helices, written out as rows of the motion table."""

from __future__ import annotations

import math

from millcalc.gcode.arc_case import ArcCase
from millcalc.gcode.arc_geometry import PLANE_AXES
from millcalc.gcode.arc_words import solve_arc
from millcalc.gcode.check_reach import arc_too_long
from millcalc.gcode.machine import Machine
from millcalc.gcode.motions import ARC_CCW, ARC_CW
from millcalc.gcode.problems import Problem
from millcalc.gcode.request import at_word
from millcalc.gcode.state import ARC_ABSOLUTE, INCREMENTAL, PLANE, POS, SHIFT, UNIT
from millcalc.gcode.words import Block

NAN = float("nan")


def move_arc(machine: Machine, block: Block, motion: int, target: list[float]) -> None:
    """Carry out an arc or a helix.

    machine: The machine; its state and output are changed.
    block: The block.
    motion: G code times ten, 20 or 30 [-].
    target: Its end, NaN where not known [mm].
    """
    state = machine.state
    start = [float(value) for value in state[POS : POS + 3]]
    end = list(target)
    absolute = bool(state[ARC_ABSOLUTE])
    in_plane = PLANE_AXES[int(state[PLANE]) - 17][:2]
    unknown = any(math.isnan(start[axis] + end[axis]) for axis in in_plane)
    shifted = False
    if unknown and not absolute and not machine.distorted and bool(state[INCREMENTAL]):
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
        end_required=machine.profile.arc_end_required,
        half_arcs=machine.profile.half_arcs_by_radius,
        idle_centre_words=machine.profile.idle_centre_words,
    )
    if "R" in block.words and "arc radius" in machine.profile.refuse:
        _radius_refused(block, machine.profile.title)
    arc = solve_arc(block, case, block.problems)
    if arc is None or arc_too_long(block, arc.length_mm):
        for axis, letter in enumerate("XYZ"):
            if letter in block.words:
                state[POS + axis] = NAN
        return
    if math.isnan(arc.sweep_rad):
        _unknown_start(block)
    kind = ARC_CW if motion == 20 else ARC_CCW
    if shifted:
        arc.centre = [NAN] * 3
        if math.isnan(sum(target)) or math.isnan(float(sum(state[POS : POS + 3]))):
            arc.length_mm = NAN
    machine.output.row(
        kind, target, block.line, centre=arc.centre, sweep_rad=arc.sweep_rad, length_mm=arc.length_mm
    )


def _radius_refused(block: Block, title: str) -> None:
    fact = f"arcs with R are not accepted by {title}"
    block.problems.append(at_word(block, "R", "WORD-07", fact, "write centre words", "I, J, K", blocks=False))


def _unknown_start(block: Block) -> None:
    first, last = block.words.get("I", block.words.get("J", block.words.get("R", (0.0, 0, len(block.text)))))[
        1:
    ]
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
