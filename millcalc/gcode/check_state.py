"""What is wrong with a block in the modal state it meets: inverse time, probing, cutter compensation."""

from __future__ import annotations

from millcalc.gcode.check_cycle import check_cycle
from millcalc.gcode.modal import (
    CYCLES,
    GROUP_COMP,
    GROUP_FEED_MODE,
    GROUP_FRAME,
    GROUP_PLANE,
    GROUP_UNITS,
    PROBES,
    code_name,
)
from millcalc.gcode.problems import Problem
from millcalc.gcode.profiles import Profile
from millcalc.gcode.request import Request, word_span
from millcalc.gcode.state import COMP, FEED_MODE, PLANE, State
from millcalc.gcode.sticky import Sticky
from millcalc.gcode.words import Block


def check_state(block: Block, request: Request, state: State, sticky: Sticky, profile: Profile) -> None:
    """Find what the modal state does not allow; problems go to the block.

    block: The block.
    request: Its codes.
    state: The modal state before the block, read only.
    sticky: What earlier cycle lines left.
    profile: How the controller reads.
    """
    check_compensation(block, request, state)
    if request.moves and request.motion in CYCLES:
        check_cycle(block, request, sticky, state, profile)
    if request.moves and request.motion in PROBES:
        check_probe(block, request, state)
    check_feed_word(block, request, state)


def check_feed_word(block: Block, request: Request, state: State) -> None:
    """Report a feed move without F under inverse-time feed; as :func:`check_state`."""
    mode = request.groups.get(GROUP_FEED_MODE, int(state[FEED_MODE]) * 10)
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


def check_probe(block: Block, request: Request, state: State) -> None:
    """Report what a probing move may not have; as :func:`check_state`."""
    words = block.words
    start, end = next(((s, e) for _, s, e in block.g), (0, len(block.text)))

    def refuse(fact: str, action: str) -> None:
        block.problems.append(Problem("WORD-19", start, end, fact, action, block.text[start:end], ""))

    if not any(letter in words for letter in "XYZ"):
        refuse("a probing move has no X, Y or Z", "write the axis to probe along")
    if any(letter in words for letter in "ABC"):
        refuse("a probing move has a rotary word", "leave A, B and C out")
    if request.groups.get(GROUP_FEED_MODE, int(state[FEED_MODE]) * 10) == 930:
        refuse("a probing move stands under inverse-time feed (G93)", "write G94 before it")


def check_compensation(block: Block, request: Request, state: State) -> None:
    """Report what may not stand under cutter compensation; as :func:`check_state`."""
    comp = int(state[COMP])
    groups = request.groups
    wanted = groups.get(GROUP_COMP)
    if wanted in (410, 420):
        plane = groups.get(GROUP_PLANE, int(state[PLANE]) * 10)
        _switched_on(block, wanted, comp, plane)
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
    if groups.get(GROUP_PLANE, 170) != 170:
        forbidden.append("another plane")
    if request.moves and request.motion in CYCLES:
        forbidden.append("a canned cycle")
    if request.moves and request.motion in PROBES:
        forbidden.append("a probing move")
    for what in forbidden:
        fact = f"{what} is not allowed while cutter compensation is on"
        _refuse(block, "COMP-01", fact, "write G40 before it")


def _switched_on(block: Block, code: int, comp: int, plane: int) -> None:
    """What is wrong with a block that switches compensation on."""
    if comp:
        _refuse(
            block,
            "COMP-02",
            f"{code_name('G', code)} stands while compensation is on already",
            "write G40 before it",
        )
    if plane != 170:
        _refuse(
            block,
            "COMP-03",
            "cutter compensation is switched on outside the XY plane",
            "write G17 before it",
        )
    if "D" in block.words:
        value, start, end = block.words["D"]
        if value < 0 or abs(value - round(value)) > 1e-4:
            block.problems.append(
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


def _refuse(block: Block, code: str, fact: str, action: str) -> None:
    start, end = next(((s, e) for _, s, e in block.g), (0, len(block.text)))
    block.problems.append(Problem(code, start, end, fact, action, block.text[start:end], "", blocks=False))
