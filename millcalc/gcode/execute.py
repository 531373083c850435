"""Carry out one block in the order of execution of NISTIR 6556, table 8."""

from __future__ import annotations

from millcalc.gcode import moves, offsets
from millcalc.gcode.check_block import check_words
from millcalc.gcode.check_counts import check_counts
from millcalc.gcode.check_reach import check_reach, place_too_far
from millcalc.gcode.check_state import check_state
from millcalc.gcode.machine import Machine
from millcalc.gcode.modal import (
    GROUP_COMP,
    GROUP_DISTANCE,
    GROUP_FEED_MODE,
    GROUP_FRAME,
    GROUP_LENGTH,
    GROUP_MOTION,
    M_ORIENT,
    M_OVERRIDE,
    M_SPINDLE,
    M_STOP,
    M_TOOL,
)
from millcalc.gcode.modes import change_modes, feed_mode, saw, set_motion
from millcalc.gcode.motions import (
    FLAG_COMP_LEFT,
    FLAG_COMP_RIGHT,
    FLAG_OPTIONAL,
    FLAG_ROTARY,
)
from millcalc.gcode.output import decoded
from millcalc.gcode.problems import Problem
from millcalc.gcode.request import Request
from millcalc.gcode.sort_codes import sort_codes
from millcalc.gcode.state import (
    COMP,
    COOLANT,
    FEED,
    INCREMENTAL,
    MOTION,
    POS,
    RPM,
    SPINDLE,
    TOOL,
    UNIT,
)
from millcalc.gcode.words import Block

NAN = float("nan")


def run_block(machine: Machine, block: Block) -> Request:
    """Carry out a block; problems go to the log.

    machine: The machine; its state and output are changed.
    block: The block; not a control statement.
    Returns: What the block asked for, for the flow of control.
    """
    state, line = machine.state, block.line
    machine.output.flags = FLAG_OPTIONAL if block.deleted else 0
    for kind, start, end in block.comments:
        machine.output.event(kind, line, text=decoded(block.text[start:end].encode("latin-1")).strip())
    request = sort_codes(block, machine.profile, int(state[MOTION]))
    distance = request.groups.get(GROUP_DISTANCE)
    incremental = distance == 910 if distance is not None else bool(state[INCREMENTAL])
    if not block.broken:
        check_counts(block, request)
        check_reach(block, request, float(state[UNIT]), incremental=incremental)
    if not block.broken:
        check_words(block, request, machine.profile, incremental=incremental)
        check_state(block, request, state, machine.cycle, machine.profile)
    if block.broken:
        _after_broken(machine, block, request)
    else:
        if machine.observer is not None:
            machine.observer(block, request, machine)
        _settings(machine, block)
        machine.output.far_mm = None
        _execute(machine, block, request)
        place_too_far(block, machine.output.far_mm)
    for problem in block.problems:
        machine.log.add(problem, line)
    return request


def _after_broken(machine: Machine, block: Block, request: Request) -> None:
    """Do not move, but keep the modes the line names and forget the axes it names."""
    groups = {key: code for key, code in request.groups.items() if key not in (GROUP_COMP, GROUP_LENGTH)}
    change_modes(machine, groups, block.line)
    if GROUP_MOTION in groups:
        set_motion(machine, groups[GROUP_MOTION])
    feed = block.words.get("F")
    if feed is not None and feed[0] >= 0:
        machine.state[FEED] = feed[0]
    if block.kind:
        return
    if block.unknown_count:
        _lost(machine, block, request)
    for axis, letter in enumerate("XYZ"):
        if letter in block.words or letter in _letters_of(block):
            machine.state[POS + axis] = NAN


def _lost(machine: Machine, block: Block, request: Request) -> None:
    """Forget where the cutter is and which one it is: a count or a number in the block is unknown."""
    machine.state[POS : POS + 3] = NAN
    if "T" in block.words:
        machine.selected = -1
    if M_TOOL in request.m or ("T" in block.words and machine.profile.tool_word_changes):
        _change_tool(machine, block.line)
    if GROUP_COMP in request.groups:
        _compensation(machine, request.groups[GROUP_COMP], block)


def _settings(machine: Machine, block: Block) -> None:
    for index, value in block.settings:
        if isinstance(index, str):
            machine.parameters.set_name(index, value)
            continue
        if 5161 <= index <= 5390:
            machine.log.add(
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
        machine.parameters.numbered[index] = value


def _execute(machine: Machine, block: Block, request: Request) -> None:
    """In the order of the report: feed, speed, tool, spindle, coolant, dwell, modes, offsets, motion, stop."""
    groups, line = request.groups, block.line
    mode = groups.pop(GROUP_FEED_MODE, None)
    for code in groups.values():
        saw(machine, code)
    if mode is not None:
        feed_mode(machine, mode, line)
    dwells = request.nonmodal == 40
    _feed_and_speed(machine, block, request, dwells)
    _tool_and_switches(machine, block, request)
    if dwells:
        letter = next(letter for letter in machine.profile.dwell if letter in block.words)
        machine.output.dwell(line, block.words[letter][0] * machine.profile.dwell[letter])
    change_modes(machine, groups, line)
    _what_numbers_mean(machine, block, request)
    if GROUP_MOTION in groups:
        set_motion(machine, groups[GROUP_MOTION])
    if request.moves:
        moves.move(machine, block, request)
    if M_STOP in request.m:
        _stop(machine, request.m[M_STOP], line)


def _feed_and_speed(machine: Machine, block: Block, request: Request, dwells: bool) -> None:
    state, words, line, moving = machine.state, block.words, block.line, request.moves
    event = machine.output.event
    if "F" in words:
        value = words["F"][0]
        if not moving and value != float(state[FEED]):
            event("feed", line, value * float(state[UNIT]))
        state[FEED] = value
    if "S" in words and not (dwells and "S" in machine.profile.dwell):
        value = words["S"][0]
        if not moving and value != float(state[RPM]):
            event("speed", line, value)
        state[RPM] = value


def _tool_and_switches(machine: Machine, block: Block, request: Request) -> None:
    state, words, line = machine.state, block.words, block.line
    event = machine.output.event
    if "T" in words:
        machine.selected = round(words["T"][0])
        event("tool select", line, float(machine.selected))
        if machine.profile.tool_word_changes and M_TOOL not in request.m:
            _change_tool(machine, line)
    if M_TOOL in request.m:
        _change_tool(machine, line)
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


def _what_numbers_mean(machine: Machine, block: Block, request: Request) -> None:
    """Compensation, offsets, frames and rotary words."""
    state, groups, words, line = machine.state, request.groups, block.words, block.line
    event = machine.output.event
    if GROUP_COMP in groups:
        _compensation(machine, groups[GROUP_COMP], block)
    if GROUP_LENGTH in groups:
        offsets.length_offset(machine, groups[GROUP_LENGTH], block)
    if GROUP_FRAME in groups:
        machine.frames.system = groups[GROUP_FRAME]
        machine.frames.apply(state)
        event("frame", line, groups[GROUP_FRAME] / 10)
    offsets.distortion(machine, groups, block)
    for letter in "ABC":
        if letter in words:
            _rotary(machine, block, letter)
            break
    if request.nonmodal is not None and request.nonmodal not in (40, 530, 90):
        offsets.nonmodal(machine, request.nonmodal, block)


def _change_tool(machine: Machine, line: int) -> None:
    state = machine.state
    state[TOOL] = machine.selected
    state[SPINDLE] = 0.0
    machine.output.event("tool change", line, float(machine.selected))


def _compensation(machine: Machine, code: int, block: Block) -> None:
    flag = {400: 0, 410: FLAG_COMP_LEFT, 420: FLAG_COMP_RIGHT}[code]
    number = int(machine.state[TOOL])
    if "D" in block.words:
        number = -1 if block.unknown_count else round(block.words["D"][0])
    diameter = machine.options.tool_diameters_mm.get(number)
    machine.comp_radii.append((machine.output.count, NAN if diameter is None else 0.5 * diameter))
    if flag != machine.state[COMP]:
        text = f"D{number}" if "D" in block.words and number >= 0 else ""
        machine.output.event("compensation", block.line, code / 10, text)
    machine.state[COMP] = flag


def _rotary(machine: Machine, block: Block, letter: str) -> None:
    value, start, end = block.words[letter]
    machine.output.flags |= FLAG_ROTARY
    machine.log.add(
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


def _stop(machine: Machine, code: int, line: int) -> None:
    event = machine.output.event
    if code in (0, 60):
        event("stop", line, float(code))
    elif code == 1:
        event("optional stop", line, 1.0)
    else:
        event("end", line, float(code))
        machine.ended = True


def _letters_of(block: Block) -> str:
    """Axis letters that stand in a broken line, outside its comments."""
    text = block.text
    for _, start, end in block.comments:
        text = text[:start] + " " * (end - start) + text[end:]
    return "".join(letter for letter in "XYZ" if letter in text.upper())
