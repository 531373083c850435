"""An arc as a block asks for it: what it starts from, its words, and one way to tell what is wrong with them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from millcalc.gcode.arc_geometry import PLANE_AXES
from millcalc.gcode.problems import Problem
from millcalc.gcode.tuning import ARC_ROUNDING_MM, ARC_ROUNDING_SHARE, ARC_TOLERANCE_IN, ARC_TOLERANCE_MM
from millcalc.gcode.words import Block

AXES = "XYZ"
OFFSETS = "IJK"
Centre = tuple[float, float, float]
"""First and second in-plane coordinate of the centre, and the radius [mm]."""


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

    @property
    def axes(self) -> tuple[int, int, int]:
        """Index of the first and second in-plane axis and of the axis across."""
        return PLANE_AXES[self.plane - 17]

    @property
    def ends(self) -> tuple[float, float, float, float]:
        """In-plane coordinates of start and end [mm]."""
        a, b, _ = self.axes
        return self.start[a], self.start[b], self.end[a], self.end[b]

    @property
    def tolerance_mm(self) -> float:
        """Difference of start and end radius that RS-274/NGC allows [mm]."""
        return ARC_TOLERANCE_MM if self.unit == 1.0 else ARC_TOLERANCE_IN * 25.4

    def shown(self, value_mm: float) -> str:
        """A length in the unit of the program."""
        return f"{value_mm:.4f} mm" if self.unit == 1.0 else f"{value_mm / 25.4:.5f} in"


@dataclass(frozen=True, slots=True)
class ArcBlock:
    """An arc block and its case; problems are appended to the list."""

    block: Block
    case: ArcCase
    problems: list[Problem]

    @property
    def by_radius(self) -> bool:
        """Whether the arc is given by a radius."""
        return "R" in self.block.words

    @property
    def offsets(self) -> list[str]:
        """Letters of the centre words that count."""
        words = self.block.words
        idle = OFFSETS[self.case.axes[2]] if self.case.idle_centre_words and not self.by_radius else ""
        return [c for c in OFFSETS if c in words and not (c == idle and words[c][0] == 0.0)]

    def tell(self, code: str, fact: str, action: str, expected: str, **more: Any) -> None:
        """Note a problem with the words of the arc, or with its radius alone where that is meant."""
        words = self.block.words
        places = [words[letter][1:] for letter in "XYZIJKR" if letter in words]
        if code in ("ARC-06", "ARC-09", "ARC-10") and self.by_radius:
            places = [words["R"][1:]]
        places = places or [(start, end) for _, start, end in self.block.g] or [(-1, -1)]
        first, last = min(start for start, _ in places), max(end for _, end in places)
        self.problems.append(self.block.problem(code, first, last, fact, action, expected, **more))


def rounding_mm(radius_mm: float) -> float:
    """Difference of start and end radius that rounding of the numbers explains.

    radius_mm: Radius of the arc [mm].
    Returns: The difference [mm].
    """
    return max(ARC_ROUNDING_MM, ARC_ROUNDING_SHARE * radius_mm)
