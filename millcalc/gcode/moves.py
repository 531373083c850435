"""Motions of a block: straight moves, arcs, probing; canned cycles are passed on."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from millcalc.gcode import cycles
from millcalc.gcode.arc_geometry import PLANE_AXES
from millcalc.gcode.arc_words import ArcCase, solve_arc
from millcalc.gcode.check_reach import arc_too_long
from millcalc.gcode.modal import (
    CYCLES,
)
from millcalc.gcode.motions import ARC_CCW, ARC_CW, FLAG_MACHINE, LINE, PROBE, RAPID
from millcalc.gcode.problems import Problem
from millcalc.gcode.request import Request
from millcalc.gcode.state import ARC_ABSOLUTE, INCREMENTAL, PLANE, POS, SHIFT, UNIT
from millcalc.gcode.tuning import PROBE_CLEARANCE_MM
from millcalc.gcode.words import Block

if TYPE_CHECKING:
    from millcalc.gcode.execute import Executor

NAN = float("nan")


def programmed_end(machine: Executor, block: Block) -> list[float]:
    """Where the axis words of a block lead.

    machine: The machine, read only.
    block: The block.
    Returns: The end in part coordinates, NaN where not known [mm].
    """
    state, words = machine.state, block.words
    unit = float(state[UNIT])
    incremental = bool(state[INCREMENTAL])
    target = [float(value) for value in state[POS : POS + 3]]
    for axis, letter in enumerate("XYZ"):
        if letter in words:
            value = words[letter][0] * unit
            target[axis] = target[axis] + value if incremental else value + float(state[SHIFT + axis])
    if machine.distorted:
        flat = machine.distorted <= {680, 160}
        for axis in range(2 if flat else 3):
            target[axis] = NAN
    return target


def move(machine: Executor, block: Block, request: Request) -> None:
    """Carry out the motion of a block.

    machine: The machine; its state and output are changed.
    block: The block.
    request: Its codes.
    """
    state, motion, line = machine.state, request.motion, block.line
    if request.nonmodal == 530:
        target = [float(value) for value in state[POS : POS + 3]]
        for axis, letter in enumerate("XYZ"):
            if letter in block.words:
                target[axis] = machine.frames.from_machine(axis, block.words[letter][0] * float(state[UNIT]))
        machine.output.flags |= FLAG_MACHINE
        machine.output.row(RAPID if motion == 0 else LINE, target, line)
        return
    machine.frames.place(state)
    if motion in CYCLES:
        cycles.expand(block, motion, machine)
        return
    target = programmed_end(machine, block)
    if motion in (0, 10):
        machine.output.row(RAPID if motion == 0 else LINE, target, line)
    elif motion in (20, 30):
        _arc(machine, block, motion, target)
    else:
        _probe(machine, block, target)


def _probe(machine: Executor, block: Block, target: list[float]) -> None:
    state = machine.state
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
    machine.output.row(PROBE, target, block.line)
    machine.probed = [NAN if here[k] != target[k] else here[k] for k in range(3)]
    for axis in range(3):
        if here[axis] != target[axis]:
            state[POS + axis] = NAN


def _arc(machine: Executor, block: Block, motion: int, target: list[float]) -> None:
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
        _, first, last = block.words["R"]
        block.problems.append(
            Problem(
                "WORD-07",
                first,
                last,
                f"arcs with R are not accepted by {machine.profile.title}",
                "write centre words",
                block.text[first:last],
                "I, J, K",
                blocks=False,
            )
        )
    arc = solve_arc(block, case, block.problems)
    if arc is None or arc_too_long(block, arc.length_mm):
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
    machine.output.row(
        kind, target, block.line, centre=arc.centre, sweep_rad=arc.sweep_rad, length_mm=arc.length_mm
    )
