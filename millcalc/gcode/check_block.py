"""What is wrong with the words of a block before anything of it is executed."""

from __future__ import annotations

from millcalc.gcode.check_usage import required_words, unused_words
from millcalc.gcode.modal import AXIS_NONMODAL, CYCLES, PROBES, code_name
from millcalc.gcode.profiles import Profile
from millcalc.gcode.request import AXIS_LETTERS, Request, at_code, missing_word, word_span
from millcalc.gcode.words import Block


def check_words(block: Block, request: Request, profile: Profile, *, incremental: bool) -> None:
    """Find combinations of words that are not allowed; problems go to the block.

    block: The block.
    request: Its codes; `moves` is filled in.
    profile: What the controller class accepts.
    incremental: Whether G91 is in force for this block.
    """
    dwell_axis = ""
    if request.nonmodal == 40 and "P" not in block.words:
        dwell_axis = next((letter for letter in profile.dwell if letter in request.axes), "")
    _two_users(block, request, profile)
    _motion(block, request, profile, dwell_axis)
    _machine_coordinates(block, request, incremental)
    block.problems.extend(required_words(block, request, profile))
    block.problems.extend(unused_words(block, request))


def _two_users(block: Block, request: Request, profile: Profile) -> None:
    """Two codes of the line that both want its axis words."""
    nonmodal, explicit = request.nonmodal, request.explicit_motion
    if nonmodal not in AXIS_NONMODAL or not request.axes or explicit in (None, 800):
        return
    if profile.separate_groups and explicit == 0 and nonmodal in (280, 300):
        return
    name = code_name("G", nonmodal or 0)
    fact = f"{code_name('G', explicit)} and {name} both want the axis words of the line"
    action = f"write {name} in a line of its own"
    start, end = word_span(block, AXIS_LETTERS + "IJKR")
    block.problems.append(block.problem("WORD-13", start, end, fact, action, "one user of the axis words"))


def _motion(block: Block, request: Request, profile: Profile, dwell_axis: str) -> None:
    """Whether the block makes a motion; axis words without a motion code, and motion codes without axis words."""
    motion, explicit = request.motion, request.explicit_motion
    taken = (
        request.nonmodal in AXIS_NONMODAL
        or request.groups.get(8) == 431
        or any(code in (680, 510, 511) for code in request.groups.values())
    )
    axes = "" if taken else request.axes.replace(dwell_axis, "")
    arc = motion in (20, 30) and (explicit is not None or any(c in block.words for c in "IJKR"))
    if axes or arc:
        if motion in (-1, 800):
            _no_motion_code(block, motion, axes)
        else:
            request.moves = not taken
    elif explicit in (0, 10) and not profile.bare_motion and not taken:
        action = "write where to move, or leave the word out"
        block.problems.append(missing_word(block, explicit, "an axis word", action))
    elif explicit in CYCLES:
        block.problems.append(missing_word(block, explicit, "an axis word", "write an axis word", "CYCLE-01"))
    elif explicit in PROBES:
        target = "a target (X, Y or Z)"
        block.problems.append(missing_word(block, explicit, target, f"write {target}"))


def _no_motion_code(block: Block, motion: int, axes: str) -> None:
    why = "no motion code came before" if motion == -1 else "G80 has ended the motion code"
    fact = f"axis words {' '.join(axes)} stand in a line, but {why}"
    action = "write G0, G1 or another motion code before them"
    start, end = word_span(block, AXIS_LETTERS + "IJKR")
    block.problems.append(block.problem("WORD-11", start, end, fact, action, "a motion code"))


def _machine_coordinates(block: Block, request: Request, incremental: bool) -> None:
    """G53 needs a straight motion, an axis word, and G90."""
    if request.nonmodal != 530:
        return
    if not (request.moves and request.motion in (0, 10)):
        fact, action = "G53 needs G0 or G1 in force and an axis word", "write G53 G0 Z..."
    elif incremental:
        fact, action = "G53 gives machine coordinates, but G91 is in force", "write G90 before G53"
    else:
        return
    block.problems.append(at_code(block, "WORD-17", 530, fact, action))
