"""From the words of a G2 or G3 block to centre and sweep, or to the problem with them."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from millcalc.gcode.arc_geometry import LONG_ARC_CHORD, PLANE_AXES, arc_sweep_rad, is_near_half, radius_centre
from millcalc.gcode.problems import Problem
from millcalc.gcode.tuning import (
    ARC_EQUAL_MM,
    ARC_HALF_ROUNDING_MM,
    ARC_ROUNDING_MM,
    ARC_ROUNDING_SHARE,
    ARC_TOLERANCE_IN,
    ARC_TOLERANCE_MM,
)
from millcalc.gcode.words import Block

Report = Callable[..., None]
AXES = "XYZ"
OFFSETS = "IJK"


@dataclass(slots=True)
class ArcCase:
    """What an arc starts from.

    start, end: Ends in part coordinates [mm].
    shift: Part coordinate minus programmed number [mm].
    unit: Millimetres per programmed unit.
    plane: 17, 18 or 19.
    turn: 1 counter-clockwise, -1 clockwise.
    absolute: Centre words are coordinates (G90.1).
    end_required: The profile wants an end coordinate in the plane.
    half_arcs: Half circles by radius are reported only where rounding matters.
    idle_centre_words: A zero centre word outside the plane is ignored.
    """

    start: list[float]
    end: list[float]
    shift: list[float]
    unit: float
    plane: int
    turn: int
    absolute: bool
    end_required: bool
    half_arcs: bool = True
    idle_centre_words: bool = True


@dataclass(slots=True)
class Arc:
    """A solved arc: centre in part coordinates [mm], signed sweep [rad], length along it [mm]."""

    centre: list[float]
    sweep_rad: float
    length_mm: float


def _span(block: Block, letters: str) -> tuple[int, int]:
    places = [block.words[letter][1:] for letter in letters if letter in block.words]
    if not places:
        places = [(start, end) for _, start, end in block.g] or [(-1, -1)]
    return min(start for start, _ in places), max(end for _, end in places)


def _shown(value_mm: float, unit: float) -> str:
    return f"{value_mm:.4f} mm" if unit == 1.0 else f"{value_mm / 25.4:.5f} in"


def solve_arc(block: Block, case: ArcCase, problems: list[Problem]) -> Arc | None:
    """Find the centre and sweep of an arc.

    block: The block with its words.
    case: Where the arc starts and ends and how its words are meant.
    problems: Problems are appended here.
    Returns: None when there is no such arc; a problem then says why.  A start that is not known gives NaN.

    Source: NISTIR 6556, section 3.5.3.
    """
    a, b, across = PLANE_AXES[case.plane - 17]
    words = block.words
    in_plane = AXES[a] + AXES[b]
    named = any(letter in words for letter in in_plane)
    idle = OFFSETS[across] if case.idle_centre_words and "R" not in words else ""
    offsets = [
        letter for letter in OFFSETS if letter in words and not (letter == idle and words[letter][0] == 0.0)
    ]
    start, end = _span(block, "XYZIJKR")
    plane_name = {17: "XY (G17)", 18: "XZ (G18)", 19: "YZ (G19)"}[case.plane]

    def problem(code: str, fact: str, action: str, expected: str, blocks: bool = True, **more: Any) -> None:
        first, last = start, end
        if code in ("ARC-06", "ARC-09", "ARC-10") and "R" in words:
            first, last = words["R"][1:]
        problems.append(
            Problem(code, first, last, fact, action, block.text[first:last], expected, blocks=blocks, **more)
        )

    if "R" in words and offsets:
        problem(
            "ARC-07",
            f"the arc has a radius R and centre words {' '.join(offsets)}",
            "keep either R or the centre words",
            "R or centre words, not both",
        )
        return None
    if OFFSETS[across] in offsets:
        problem(
            "ARC-08",
            f"centre word {OFFSETS[across]} does not lie in the plane {plane_name} of the arc",
            f"use {OFFSETS[a]} and {OFFSETS[b]}, or choose the right plane before the arc",
            f"{OFFSETS[a]} and {OFFSETS[b]}",
        )
        return None
    if not offsets and "R" not in words:
        problem(
            "ARC-02",
            f"the arc has neither a centre ({OFFSETS[a]}, {OFFSETS[b]}) nor a radius R",
            "write the centre words on every arc line; write G1 first if a straight move was meant",
            f"{OFFSETS[a]} {OFFSETS[b]}, or R",
        )
        return None
    if not named and ("R" in words or case.end_required):
        problem(
            "ARC-01",
            f"the arc names no end coordinate in the plane {plane_name}",
            f"write the end point with {AXES[a]} and {AXES[b]}",
            f"{AXES[a]} or {AXES[b]}",
        )
        return None
    sa, sb, ea, eb = case.start[a], case.start[b], case.end[a], case.end[b]
    if "R" in words:
        centre = _by_radius(case, words["R"][0] * case.unit, (sa, sb, ea, eb), problem)
    else:
        centre = _by_centre(block, case, (a, b), problem)
    if centre is None:
        return None
    ca, cb, radius = centre
    sweep = arc_sweep_rad(sa, sb, ea, eb, ca, cb, case.turn)
    if "P" in words:
        turns = round(words["P"][0])
        if turns >= 1 and abs(words["P"][0] - turns) < 1e-4:
            sweep += case.turn * 2.0 * math.pi * (turns - 1)
        else:
            problem(
                "WORD-08",
                f"the number of turns P{words['P'][0]:g} is not a whole number from 1 on",
                "write a whole number of turns",
                "a whole number",
            )
            return None
    climb = case.end[across] - case.start[across]
    point = [0.0, 0.0, 0.0]
    point[a], point[b], point[across] = ca, cb, case.start[across]
    return Arc(point, sweep, math.sqrt((radius * sweep) ** 2 + climb * climb))


def _by_radius(
    case: ArcCase, size: float, ends: tuple[float, float, float, float], problem: Report
) -> tuple[float, float, float] | None:
    report = problem
    sa, sb, ea, eb = ends
    if abs(size) == 0.0:
        report("ARC-09", "the radius of the arc is zero", "write the radius", "R above zero")
        return None
    if abs(ea - sa) < ARC_EQUAL_MM and abs(eb - sb) < ARC_EQUAL_MM:
        report(
            "ARC-05",
            "the arc ends where it starts and is given by a radius: its centre could lie anywhere",
            "write a full circle with its centre (I, J) instead of R",
            "an end point away from the start",
        )
        return None
    ca, cb, excess = radius_centre(sa, sb, ea, eb, size, case.turn)
    chord = math.hypot(ea - sa, eb - sb)
    if excess > (ARC_TOLERANCE_MM if case.unit == 1.0 else ARC_TOLERANCE_IN * 25.4):
        report(
            "ARC-06",
            f"radius {_shown(abs(size), case.unit)} is too small: the end point is {_shown(chord, case.unit)} away",
            f"the radius must be at least {_shown(chord / 2, case.unit)}; or correct the end point",
            f"R of at least {_shown(chord / 2, case.unit)}",
            measured=abs(size),
            limit=chord / 2,
            unit="mm",
        )
        return None
    height = math.sqrt(max(size * size - 0.25 * chord * chord, 0.0))
    flat = height < 0.5 * chord * ARC_HALF_ROUNDING_MM / 0.01
    badly = excess < -1e-6 and (flat or (size < 0.0 and chord < LONG_ARC_CHORD * -size))
    if badly or (not case.half_arcs and is_near_half(arc_sweep_rad(sa, sb, ea, eb, ca, cb, case.turn))):
        report(
            "ARC-10",
            "the arc is nearly a half or a full circle and is given by a radius: a rounding of 0.0005 mm "
            "moves its centre far more",
            "write the arc with its centre (I, J)",
            "centre words",
            blocks=False,
        )
    return ca, cb, abs(size)


def _by_centre(
    block: Block, case: ArcCase, axes: tuple[int, int], problem: Report
) -> tuple[float, float, float] | None:
    report = problem
    a, b = axes
    words = block.words
    values = [words[letter][0] * case.unit if letter in words else 0.0 for letter in (OFFSETS[a], OFFSETS[b])]
    sa, sb, ea, eb = case.start[a], case.start[b], case.end[a], case.end[b]
    if case.absolute and not (OFFSETS[a] in words and OFFSETS[b] in words):
        report(
            "ARC-02",
            f"with absolute arc centres (G90.1) both {OFFSETS[a]} and {OFFSETS[b]} must be given",
            f"write {OFFSETS[a]} and {OFFSETS[b]}",
            f"{OFFSETS[a]} and {OFFSETS[b]}",
        )
        return None
    relative = (sa + values[0], sb + values[1])
    fixed = (values[0] + case.shift[a], values[1] + case.shift[b])
    ca, cb = fixed if case.absolute else relative
    radius = math.sqrt((sa - ca) ** 2 + (sb - cb) ** 2)
    other = math.sqrt((ea - ca) ** 2 + (eb - cb) ** 2)
    if radius == 0.0 or other == 0.0:
        report(
            "ARC-09",
            "the radius of the arc is zero: its centre lies on its start or end",
            "correct the centre words",
            "a centre away from the ends",
        )
        return None
    gap = abs(other - radius)
    if not case.absolute and math.isnan(gap) and not math.isnan(ea - sa):
        return ca, cb, math.hypot(*values)
    limit = ARC_TOLERANCE_MM if case.unit == 1.0 else ARC_TOLERANCE_IN * 25.4
    if not gap > limit + 1e-9:
        return ca, cb, radius
    rounding = max(ARC_ROUNDING_MM, ARC_ROUNDING_SHARE * radius)
    fact = (
        f"the start is {_shown(radius, case.unit)} from the centre, the end {_shown(other, case.unit)}: "
        f"they differ by {_shown(gap, case.unit)}"
    )
    if gap <= rounding:
        report(
            "ARC-04",
            f"{fact}, more than the {_shown(limit, case.unit)} of RS-274/NGC; rounding of the numbers explains it",
            "let the program be written with one more decimal",
            f"a difference of at most {_shown(limit, case.unit)}",
            blocks=False,
            measured=gap,
            limit=limit,
            unit="mm",
        )
        return ca, cb, radius
    oa, ob = relative if case.absolute else fixed
    first, second = math.hypot(sa - oa, sb - ob), math.hypot(ea - oa, eb - ob)
    action = "correct the end point or the centre words"
    expected = f"a difference of at most {_shown(rounding, case.unit)}"
    other_way = first > 0 and abs(first - second) <= max(ARC_ROUNDING_MM, ARC_ROUNDING_SHARE * first)
    if other_way:
        expected = "centres written the other way"  # one cause: told once, whatever the radius
        if case.absolute:
            fact += "; read as a distance from the start point the centre fits, and so it is judged"
            action = (
                "the program writes centres as distances from the start (G91.1): set that, or write it so"
            )
        else:
            fact += "; read as coordinates the centre fits, and so it is judged"
            action = "the program writes centres as coordinates (G90.1): have it written with distances from the start"
    report(
        "ARC-03",
        fact,
        action,
        expected,
        measured=gap,
        limit=rounding,
        unit="mm",
    )
    return (oa, ob, first) if other_way else None  # carried out as it fits: nothing else follows from it
