"""From the words of a G2 or G3 block to centre and sweep, or to the problem with them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from millcalc.gcode.arc_case import AXES, OFFSETS, ArcBlock, ArcCase
from millcalc.gcode.arc_centre import centre_by_words
from millcalc.gcode.arc_geometry import arc_sweep_rad
from millcalc.gcode.arc_radius import centre_by_radius
from millcalc.gcode.problems import Problem
from millcalc.gcode.words import Block

PLANE_NAMES = {17: "XY (G17)", 18: "XZ (G18)", 19: "YZ (G19)"}


@dataclass(slots=True)
class Arc:
    """A solved arc: centre in part coordinates [mm], signed sweep [rad], length along it [mm]."""

    centre: list[float]
    sweep_rad: float
    length_mm: float


def solve_arc(block: Block, case: ArcCase, problems: list[Problem]) -> Arc | None:
    """Find the centre and sweep of an arc.

    block: The block with its words.
    case: Where the arc starts and ends and how its words are meant.
    problems: Problems are appended here.
    Returns: None when there is no such arc; a problem then says why.  A start that is not known gives NaN.

    Source: NISTIR 6556, section 3.5.3.
    """
    arc = ArcBlock(block, case, problems)
    if not _words_fit(arc):
        return None
    centre = centre_by_radius(arc) if arc.by_radius else centre_by_words(arc)
    if centre is None:
        return None
    ca, cb, radius = centre
    sweep = arc_sweep_rad(*case.ends, ca, cb, case.turn)
    if "P" in block.words:
        turns = _turns(arc)
        if turns is None:
            return None
        sweep += case.turn * 2.0 * math.pi * (turns - 1)
    a, b, across = case.axes
    climb = case.end[across] - case.start[across]
    point = [0.0, 0.0, 0.0]
    point[a], point[b], point[across] = ca, cb, case.start[across]
    return Arc(point, sweep, math.sqrt((radius * sweep) ** 2 + climb * climb))


def _words_fit(arc: ArcBlock) -> bool:
    """Whether the block has the words of one arc in its plane; the first problem is told."""
    words, offsets, (a, b, across) = arc.block.words, arc.offsets, arc.case.axes
    plane = PLANE_NAMES[arc.case.plane]
    if arc.by_radius and offsets:
        fact = f"the arc has a radius R and centre words {' '.join(offsets)}"
        arc.tell("ARC-07", fact, "keep either R or the centre words", "R or centre words, not both")
    elif OFFSETS[across] in offsets:
        both = f"{OFFSETS[a]} and {OFFSETS[b]}"
        fact = f"centre word {OFFSETS[across]} does not lie in the plane {plane} of the arc"
        arc.tell("ARC-08", fact, f"use {both}, or choose the right plane before the arc", both)
    elif not offsets and not arc.by_radius:
        arc.tell(
            "ARC-02",
            f"the arc has neither a centre ({OFFSETS[a]}, {OFFSETS[b]}) nor a radius R",
            "write the centre words on every arc line; write G1 first if a straight move was meant",
            f"{OFFSETS[a]} {OFFSETS[b]}, or R",
        )
    elif not (AXES[a] in words or AXES[b] in words) and (arc.by_radius or arc.case.end_required):
        fact = f"the arc names no end coordinate in the plane {plane}"
        action = f"write the end point with {AXES[a]} and {AXES[b]}"
        arc.tell("ARC-01", fact, action, f"{AXES[a]} or {AXES[b]}")
    else:
        return True
    return False


def _turns(arc: ArcBlock) -> int | None:
    """Number of turns that the P word gives; None when it gives none."""
    value = arc.block.words["P"][0]
    turns = round(value)
    if turns >= 1 and abs(value - turns) < 1e-4:
        return turns
    fact = f"the number of turns P{value:g} is not a whole number from 1 on"
    arc.tell("WORD-08", fact, "write a whole number of turns", "a whole number")
    return None
