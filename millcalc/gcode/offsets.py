"""Codes that change what the numbers mean: length offsets, work offsets, shifts, rotations, home."""

from __future__ import annotations

from millcalc.gcode.machine import Machine
from millcalc.gcode.modal import (
    FRAME_CODES,
    GROUP_MIRROR,
    GROUP_POLAR,
    GROUP_ROTATION,
    GROUP_SCALING,
    code_name,
)
from millcalc.gcode.motions import FLAG_HOME, RAPID
from millcalc.gcode.moves import programmed_end
from millcalc.gcode.problems import Problem
from millcalc.gcode.state import POS, UNIT
from millcalc.gcode.words import Block

NAN = float("nan")
DISTORTING = {680: "rotates", 510: "scales", 511: "mirrors", 160: "reads as polar coordinates"}
DISTORTING_ENDS = {690: 680, 500: 510, 501: 511, 150: 160}


def length_offset(machine: Machine, code: int, block: Block) -> None:
    """Carry out G43, G43.1 or G49: with a known length the reading of Z changes.

    machine: The machine; its state and output are changed.
    code: G code times ten [-].
    block: The block.
    """
    words, unit = block.words, float(machine.state[UNIT])
    length: float | None = None
    text = ""
    if code == 490:
        length = 0.0
    elif code == 430 and "H" in words:
        number = round(words["H"][0])
        text = f"H{number}"
        length = 0.0 if number == 0 else machine.options.tool_lengths_mm.get(number)
    elif code == 431 and "Z" in words:
        length = words["Z"][0] * unit
        text = f"Z{words['Z'][0]:g}"
    if length is not None and (
        code == 430 and block.words.get("H", (0,))[0] in machine.options.tool_lengths_mm
    ):
        machine.state[POS + 2] += machine.length_mm - length
        machine.length_mm = length
    elif code == 490 and machine.length_mm:
        machine.state[POS + 2] += machine.length_mm
        machine.length_mm = 0.0
    machine.output.event("length offset", block.line, code / 10, text)


def distortion(machine: Machine, groups: dict[int, int], block: Block) -> None:
    """Take note of rotation, scaling, mirroring and polar coordinates, and of their end.

    machine: The machine; its state and output are changed.
    groups: G code times ten of each modal group in the block.
    block: The block.
    """
    for group in (GROUP_ROTATION, GROUP_SCALING, GROUP_MIRROR, GROUP_POLAR):
        code = groups.get(group)
        if code in DISTORTING_ENDS:
            machine.distorted.discard(DISTORTING_ENDS[code])
        elif code is not None:
            _distort(machine, code, code, block)


def _distort(machine: Machine, kind: int, code: int, block: Block) -> None:
    """From here on the coordinates are not followed."""
    machine.distorted.add(kind)
    start, end = next(((s, e) for each, s, e in block.g if each == code), (0, len(block.text)))
    name = code_name("G", code)
    machine.log.add(
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


def nonmodal(machine: Machine, code: int, block: Block) -> None:
    """Carry out a code of group 0: offsets, shifts, home.

    machine: The machine; its state and output are changed.
    code: G code times ten [-].
    block: The block.
    """
    state, frames, words = machine.state, machine.frames, block.words
    unit = float(state[UNIT])
    axes = [(axis, words[letter][0] * unit) for axis, letter in enumerate("XYZ") if letter in words]
    event, line = machine.output.event, block.line
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
            _distort(machine, 680, 100, block)
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
        _go_home(machine, code, block)
        return
    frames.apply(state)


def _go_home(machine: Machine, code: int, block: Block) -> None:
    state, frames, words = machine.state, machine.frames, block.words
    target = programmed_end(machine, block)
    named = [letter in words for letter in "XYZ"]
    if any(named):
        machine.frames.place(state)
        machine.output.row(RAPID, programmed_end(machine, block), block.line)
        target = [float(value) for value in state[POS : POS + 3]]
    stored = frames.home_part[code]
    goes = named if machine.profile.home_axes == "named" and any(named) else [True] * 3
    for axis in range(3):
        if goes[axis]:
            target[axis] = (
                stored[axis] if stored is not None else frames.from_machine(axis, frames.home[code][axis])
            )
    machine.output.flags |= FLAG_HOME
    machine.output.row(RAPID, target, block.line)
    machine.output.flags &= ~FLAG_HOME
