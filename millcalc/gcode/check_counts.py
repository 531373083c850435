"""Words that count or name something, with a value that only the machine knows."""

from __future__ import annotations

import math

from millcalc.gcode.modal import CYCLES, M_CALL
from millcalc.gcode.problems import Problem
from millcalc.gcode.request import Request
from millcalc.gcode.words import Block

NAMES = {
    "T": "number of the tool",
    "H": "number of the length offset",
    "D": "number of the cutter",
    "L": "count",
    "P": "number",
    "Q": "depth of a peck",
}
ARCS = (20, 30)
SETTING, CALL = 100, 98


def check_counts(block: Block, request: Request) -> None:
    """Find numbers of tools, offsets, turns and repeats that depend on what the machine keeps.

    block: The block; a problem goes to it and keeps it from being executed.
    request: Its codes.
    """
    turns = request.motion in ARCS and request.nonmodal is None
    # elsewhere P is a time or a tolerance, and Q a tolerance: quantities, which may be unknown
    counts = {"P": turns or request.nonmodal == SETTING or request.m.get(M_CALL) == CALL}
    counts["Q"] = request.motion in CYCLES
    for letter, name in NAMES.items():
        if letter not in block.words or not counts.get(letter, True):
            continue
        value, start, end = block.words[letter]
        if math.isfinite(value):
            continue
        block.unknown_count = True
        block.problems.append(
            Problem(
                "PARAM-09",
                start,
                end,
                f"the {name} in {block.text[start:end]} is a value that the machine keeps and the program "
                "never sets; this line is not checked",
                f"write the {name} itself",
                block.text[start:end],
                f"{letter} and a number",
            )
        )
        return
