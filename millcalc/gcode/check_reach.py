"""Places and travels that no machine has: refused at their line, before anything walks along them."""

from __future__ import annotations

from millcalc.gcode.modal import CYCLES, G_GROUPS
from millcalc.gcode.problems import Problem
from millcalc.gcode.request import Request, word_span
from millcalc.gcode.tuning import FARTHEST_MM
from millcalc.gcode.words import Block

_INCH, _DWELL = 200, 40
_ACTION = "correct the number: the point or the unit may be wrong"


def check_reach(block: Block, request: Request, unit_mm: float, *, incremental: bool) -> None:
    """Find coordinates, radii and rows of holes over 100 m; a problem goes to the block and stops it.

    block: The block.
    request: Its codes.
    unit_mm: Unit in force before the block [mm].
    incremental: Whether G91 is in force for this block.
    """
    if request.nonmodal == _DWELL:
        return
    units = request.groups.get(G_GROUPS[_INCH])
    scale = unit_mm if units is None else 25.4 if units == _INCH else 1.0
    for letter in "XYZIJKR":
        if letter in block.words:
            value, start, end = block.words[letter]
            if abs(value) * scale > FARTHEST_MM:
                block.problems.append(
                    _far(block, start, end, f"{letter} is {value * scale:g} mm", value * scale)
                )
    if incremental and request.motion in CYCLES and "L" in block.words:
        count, start, end = block.words["L"]
        step = max((abs(block.words[letter][0]) for letter in "XYZ" if letter in block.words), default=0.0)
        reach = count * step * scale
        if reach > FARTHEST_MM:
            block.problems.append(_far(block, start, end, f"L{count:g} repeats go {reach:g} mm far", reach))


def place_too_far(block: Block, place_mm: float | None) -> None:
    """Tell of a place that steps or offsets added up beyond 100 m; a problem goes to the block.

    block: The block.
    place_mm: The coordinate; None where all are near enough [mm].
    """
    if place_mm is None:
        return
    start, end = word_span(block, "XYZ")
    block.problems.append(
        _far(block, start, end, f"steps and offsets add up to a place at {place_mm:g} mm", place_mm)
    )


def arc_too_long(block: Block, length_mm: float) -> bool:
    """Whether an arc, all its turns together, is longer than 100 m; then a problem goes to the block.

    block: The block.
    length_mm: Path length of the arc; NaN is unknown [mm].
    Returns: True when it is.
    """
    if not length_mm > FARTHEST_MM:
        return False
    start, end = word_span(block, "P" if "P" in block.words else "IJKR")
    block.problems.append(_far(block, start, end, f"the arc is {length_mm:g} mm long", length_mm))
    return True


def _far(block: Block, start: int, end: int, fact: str, measured_mm: float) -> Problem:
    return Problem(
        "WORD-22",
        start,
        end,
        f"{fact}, farther than any machine goes",
        _ACTION,
        block.text[start:end],
        f"at most {FARTHEST_MM:.0f} mm",
        measured=abs(measured_mm),
        limit=FARTHEST_MM,
        unit="mm",
    )
