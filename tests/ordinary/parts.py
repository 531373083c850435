"""What ordinary programs make, as neutral steps in mm: zero at the front left corner, on top of the stock."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True)
class Tool:
    """Fit a cutter: number, words for a comment, speed [rev/min], side and plunge feed [mm/min]."""

    number: int
    words: str
    rpm: int
    feed: float
    plunge: float


@dataclass(frozen=True)
class At:
    """Travel above this place."""

    x: float
    y: float


@dataclass(frozen=True)
class Down:
    """Go straight down at feed to a height."""

    z: float


@dataclass(frozen=True)
class Cut:
    """Cut straight to a place; `z` None keeps the height."""

    x: float
    y: float
    z: float | None = None


@dataclass(frozen=True)
class Arc:
    """Cut round a centre to a place, clockwise (2) or counter-clockwise (3)."""

    x: float
    y: float
    cx: float
    cy: float
    turn: int
    z: float | None = None


@dataclass(frozen=True)
class Up:
    """Retract to the travel height."""


@dataclass(frozen=True)
class Holes:
    """Drill holes to a depth."""

    places: tuple[tuple[float, float], ...]
    z: float
    peck: float = 0.0


Step = Tool | At | Down | Cut | Arc | Up | Holes
END_6 = Tool(1, "flat end 6 mm", 12000, 900, 300)
END_3 = Tool(1, "flat end 3 mm", 18000, 700, 200)
VEE = Tool(2, "vee 60 degrees", 16000, 600, 240)
DRILL = Tool(3, "drill 3 mm", 6000, 120, 120)
BALL = Tool(4, "ball 6 mm", 15000, 1200, 333.3)

STROKES = {
    "W": [[(0, 10), (2, 0), (4, 7), (6, 0), (8, 10)]],
    "I": [[(4, 0), (4, 10)], [(2, 0), (6, 0)], [(2, 10), (6, 10)]],
    "N": [[(0, 0), (0, 10), (7, 0), (7, 10)]],
    "D": [[(0, 0), (0, 10), (4, 10), (7, 7), (7, 3), (4, 0), (0, 0)]],
}


def letters() -> list[Step]:
    """A word engraved with straight strokes."""
    steps: list[Step] = [VEE]
    for k, letter in enumerate("WIND"):
        for stroke in STROKES[letter]:
            (x, y), *rest = [(12 + 11 * k + a, 20 + b) for a, b in stroke]
            steps += [At(x, y), Down(-0.4), *(Cut(a, b) for a, b in rest), Up()]
    return steps


def pocket() -> list[Step]:
    """A rectangular pocket in three levels, each entered on a plunge, cleared in a zigzag and walked round."""
    steps: list[Step] = [END_6, At(20, 20)]
    for z in (-0.8, -1.6, -2.4):
        steps.append(Down(z))
        x = 20.0
        for k in range(8):
            x = 60.0 if x == 20.0 else 20.0
            steps.append(Cut(x, 20 + 4 * k))
            if k < 7:
                steps.append(Cut(x, 24 + 4 * k))
        steps += [Cut(60, 48), Cut(60, 20), Cut(20, 20), Cut(20, 48), Up(), At(20, 20)]
    return [*steps[:-1]]


def rounded(z_levels: tuple[float, ...] = (-1.0, -2.0, -3.0)) -> list[Step]:
    """An outline with round corners in levels."""
    steps: list[Step] = [END_6, At(25, 15)]
    for z in z_levels:
        steps += [
            Down(z), Cut(75, 15), Arc(85, 25, 75, 25, 3), Cut(85, 55), Arc(75, 65, 75, 55, 3), Cut(25, 65),
            Arc(15, 55, 25, 55, 3), Cut(15, 25), Arc(25, 15, 25, 25, 3),
        ]  # fmt: skip
    return [*steps, Up()]


def tabs() -> list[Step]:
    """An outline cut through in levels, the lowest ones with four tabs."""
    steps: list[Step] = [END_6, At(15, 15)]
    corners = [(15.0, 15.0), (85.0, 15.0), (85.0, 65.0), (15.0, 65.0), (15.0, 15.0)]
    for z in (-2.0, -4.0, -6.2):
        steps.append(Down(z))
        for (xa, ya), (xb, yb) in pairwise(corners):
            if z < -4:
                length = math.hypot(xb - xa, yb - ya)
                ux, uy = (xb - xa) / length, (yb - ya) / length
                for along, height in ((length / 2 - 4, z), (length / 2 - 3, -4.5), (length / 2 + 3, -4.5),
                                      (length / 2 + 4, z)):  # fmt: skip
                    steps.append(Cut(xa + ux * along, ya + uy * along, height))
            steps.append(Cut(xb, yb))
    return [*steps, Up()]


def holes() -> list[Step]:
    """A grid of drilled holes."""
    places = tuple((20.0 + 15 * i, 20.0 + 20 * j) for j in range(3) for i in range(5))
    return [DRILL, Holes(places, -5.0)]


def deep_holes() -> list[Step]:
    """Holes drilled with a retract each 2 mm."""
    return [DRILL, Holes(((20, 20), (80, 20), (80, 60), (20, 60)), -6.0, 2.0)]


def helix() -> list[Step]:
    """Two holes on a helix, finished with a level circle."""
    steps: list[Step] = [END_6]
    for x in (35.0, 65.0):
        steps += [At(x, 40), Down(0.0)]
        steps += [Arc(x, 40, x - 3, 40, 3, -0.5 * k) for k in range(1, 9)]
        steps += [Arc(x, 40, x - 3, 40, 3), Cut(x - 3, 40), Up()]
    return steps


def waves() -> list[Step]:
    """A shallow surface finished in rows with a ball cutter."""
    steps: list[Step] = [BALL]
    for row in range(9):
        y = 20.0 + 1.5 * row
        xs = [20 + 2.0 * k for k in range(26)]
        if row % 2:
            xs.reverse()

        def height(x: float, y: float = y) -> float:
            return -1.2 + 0.8 * math.sin(x / 9) * math.cos(y / 7)

        if row == 0:
            steps += [At(xs[0], y), Down(height(xs[0]))]
        steps += [Cut(x, y, height(x)) for x in xs]
    return [*steps, Up()]


def slots() -> list[Step]:
    """A row of slots, each entered on a ramp."""
    steps: list[Step] = [END_3]
    for k in range(4):
        y = 18.0 + 14 * k
        steps += [At(20, y), Down(0.0)]
        for level in (0.5, 1.0, 1.5):
            steps += [Cut(45, y, -level), Cut(70, y), Cut(20, y)]
        steps.append(Up())
    return steps


def facing() -> list[Step]:
    """The top skimmed in a zigzag that begins beside the stock."""
    steps: list[Step] = [Tool(1, "flat end 6 mm", 12000, 1100, 400), At(-5, 3), Down(-0.3)]
    x = -5.0
    for k in range(16):
        x = 105.0 if x < 0 else -5.0
        steps.append(Cut(x, 3 + 5 * k))
        if k < 15:
            steps.append(Cut(x, 8 + 5 * k))
    return [*steps, Up()]


def rings() -> list[Step]:
    """Three full circles about one middle, each at two depths."""
    steps: list[Step] = [END_3]
    for radius in (8.0, 14.0, 20.0):
        steps.append(At(50 + radius, 40))
        for z in (-0.4, -0.8):
            steps += [Down(z), Arc(50 + radius, 40, 50, 40, 2)]
        steps.append(Up())
    return steps


def two_tools() -> list[Step]:
    """An outline and, with a second cutter, four holes."""
    return [*rounded((-1.0, -2.0)), *deep_holes()]


PARTS: dict[str, Callable[[], list[Step]]] = {
    "letters": letters, "pocket": pocket, "rounded": rounded, "tabs": tabs, "holes": holes, "deep-holes": deep_holes,
    "helix": helix, "waves": waves, "slots": slots, "facing": facing, "rings": rings, "two-tools": two_tools,
}  # fmt: skip
