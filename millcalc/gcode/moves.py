"""Motions of a block: straight moves, arcs, probing; canned cycles are passed on."""

from __future__ import annotations

import math

from millcalc.gcode.arc_moves import move_arc
from millcalc.gcode.cycles import expand
from millcalc.gcode.machine import Machine
from millcalc.gcode.modal import (
    CYCLES,
)
from millcalc.gcode.motions import FLAG_MACHINE, LINE, PROBE, RAPID
from millcalc.gcode.problems import Problem
from millcalc.gcode.request import Request
from millcalc.gcode.state import INCREMENTAL, POS, SHIFT, UNIT
from millcalc.gcode.tuning import PROBE_CLEARANCE_MM
from millcalc.gcode.words import Block

NAN = float("nan")


def programmed_end(machine: Machine, block: Block) -> list[float]:
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


def move(machine: Machine, block: Block, request: Request) -> None:
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
        expand(block, motion, machine)
        return
    target = programmed_end(machine, block)
    if motion in (0, 10):
        machine.output.row(RAPID if motion == 0 else LINE, target, line)
    elif motion in (20, 30):
        move_arc(machine, block, motion, target)
    else:
        _probe(machine, block, target)


def _probe(machine: Machine, block: Block, target: list[float]) -> None:
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
