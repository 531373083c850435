"""Arc lengths against SciPy's quadrature, extents against Shapely's outline of a finely divided arc.

The arcs are drawn at random here and written as text; the reader never sees the angles they came from.
Tolerances: the text carries nine decimals; a chord of an outline of `CHORDS` chords lies inside its arc by at
most radius * (1 - cos(half a step)).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import pytest
from scipy.integrate import quad
from shapely import LineString

from millcalc.gcode.arcs import directions, motion_extents
from millcalc.gcode.program import Program
from millcalc.gcode.reader import read_program

CHORDS = 4000
AXES = {17: (0, 1, 2), 18: (2, 0, 1), 19: (1, 2, 0)}
OFFSET = "IJK"


@dataclass(frozen=True)
class Arc:
    """An arc by its own figures; first, second and third axis are those of its plane."""

    plane: int
    centre: tuple[float, float]
    radius: float
    begin: float
    sweep: float
    rise: float

    def point(self, share: float) -> tuple[float, float, float]:
        """Position in X, Y, Z after a share of the sweep."""
        first, second, third = AXES[self.plane]
        angle = self.begin + share * self.sweep
        where = [0.0, 0.0, 0.0]
        where[first] = self.centre[0] + self.radius * math.cos(angle)
        where[second] = self.centre[1] + self.radius * math.sin(angle)
        where[third] = share * self.rise
        return where[0], where[1], where[2]

    def words(self, form: str) -> str:
        first, second, _ = AXES[self.plane]
        end, start = self.point(1.0), self.point(0.0)
        text = f"G{self.plane} {'G3' if self.sweep > 0 else 'G2'} " + " ".join(
            f"{letter}{value:.9f}" for letter, value in zip("XYZ", end, strict=True)
        )
        if form == "radius":
            return text + f" R{self.radius if abs(self.sweep) <= math.pi else -self.radius:.9f}"
        return text + (
            f" {OFFSET[first]}{self.centre[0] - start[first]:.9f}"
            f" {OFFSET[second]}{self.centre[1] - start[second]:.9f}"
        )

    def length(self) -> float:
        """Arc length by quadrature of the speed along the path."""

        def speed(share: float) -> float:
            angle = self.begin + share * self.sweep
            turning = self.radius * self.sweep
            return math.sqrt(
                (turning * math.sin(angle)) ** 2 + (turning * math.cos(angle)) ** 2 + self.rise**2
            )

        return float(quad(speed, 0.0, 1.0)[0])

    def bounds(self) -> tuple[list[float], list[float]]:
        """Box of the finely divided arc: Shapely in two planes."""
        points = np.array([self.point(k / CHORDS) for k in range(CHORDS + 1)])
        low, high = [0.0] * 3, [0.0] * 3
        for a, b in ((0, 1), (1, 2)):
            low[a], low[b], high[a], high[b] = LineString(points[:, [a, b]]).bounds
        return low, high


def draw(seed: int, count: int, form: str) -> list[Arc]:
    rng = np.random.default_rng(seed)
    arcs = []
    for _ in range(count):
        sweep = rng.uniform(0.02, 2 * math.pi - 0.02)
        while form == "radius" and (abs(sweep - math.pi) < 0.3 or sweep > 6.0):
            sweep = rng.uniform(0.05, 6.0)
        arcs.append(
            Arc(
                int(rng.choice([17, 18, 19])),
                (float(rng.uniform(-100, 100)), float(rng.uniform(-100, 100))),
                float(10 ** rng.uniform(-0.5, 2.5)),
                float(rng.uniform(-math.pi, math.pi)),
                float(sweep * rng.choice([-1, 1])),
                float(rng.choice([0.0, rng.uniform(-20, 20)])),
            )
        )
    return arcs


def program_of(arcs: list[Arc], form: str) -> Program:
    lines = ["G21 G90 G17 G94 F100"]
    for arc in arcs:
        lines.append("G0 " + " ".join(f"{a}{v:.9f}" for a, v in zip("XYZ", arc.point(0.0), strict=True)))
        lines.append(arc.words(form))
    program = read_program(("\n".join(lines) + "\nM2\n").encode())
    assert not program.findings, program.findings[:3]
    return program


@pytest.mark.parametrize("form", ["centre", "radius"])
@pytest.mark.parametrize("seed", [1, 2])
def test_random_arcs(seed: int, form: str) -> None:
    arcs = draw(seed, 60, form)
    program = program_of(arcs, form)
    table = program.motions
    rows = np.flatnonzero(table.is_arc)
    assert len(rows) == len(arcs)
    low, high = motion_extents(table)
    for arc, row in zip(arcs, rows, strict=True):
        # nine decimals of the ends move the centre of a radius arc by a few nanometres
        slack = 1e-6 if form == "radius" else 1e-7
        assert table.sweep_rad[row] == pytest.approx(arc.sweep, abs=1e-5 if form == "radius" else 1e-8)
        assert table.length_mm[row] == pytest.approx(arc.length(), rel=1e-7, abs=slack)
        sag = arc.radius * (1 - math.cos(abs(arc.sweep) / CHORDS / 2))
        want_low, want_high = arc.bounds()
        for axis in range(3):
            assert want_low[axis] - sag - slack <= low[row, axis] <= want_low[axis] + slack
            assert want_high[axis] - slack <= high[row, axis] <= want_high[axis] + sag + slack


def test_full_circles_in_each_plane() -> None:
    """Closed form: length 2 pi r, or the hypotenuse with the rise; the box is the circle's square."""
    text = (
        "G21 G90 G94 F100\nG0 X3 Y4 Z5\nG17 G2 X3 Y4 I2 J0\nG18 G3 X3 Z5 I0 K-2\nG19 G2 Y4 Z5 J0 K2\n"
        "G17 G3 X3 Y4 I-2 J0 Z9\nM2\n"
    )
    table = read_program(text.encode()).motions
    assert table.length_mm[1:] == pytest.approx([4 * math.pi] * 3 + [math.hypot(4 * math.pi, 4)])
    low, high = motion_extents(table)
    np.testing.assert_allclose(low[1:], [[3, 2, 5], [1, 4, 1], [3, 2, 5], [-1, 2, 5]], atol=1e-9)
    np.testing.assert_allclose(high[1:], [[7, 6, 5], [5, 4, 5], [3, 6, 9], [3, 6, 9]], atol=1e-9)


def test_tiny_and_huge_arcs() -> None:
    """A chord of 0.01 mm on a radius of 0.01 mm, and of 10 mm on a radius of 100 m: r times the angle."""
    text = (
        "G21 G90 G17 G94 F100\nG0 X0 Y0 Z0\nG2 X0.01 Y0.01 I0.01 J0\nG0 X0 Y0\n"
        "G3 X10 Y0 I5 J99999.999875\nM2\n"
    )
    table = read_program(text.encode()).motions
    assert table.length_mm[1] == pytest.approx(0.01 * math.pi / 2)
    assert table.length_mm[3] == pytest.approx(2 * 1e5 * math.asin(5 / 1e5), rel=1e-9)


@pytest.mark.parametrize("turns", [2, 3, 7])
def test_several_turns_by_several_blocks(turns: int) -> None:
    """A helix of n turns by n blocks: the length is n times the hypotenuse of circumference and pitch."""
    lines = ["G21 G90 G17 G94 F100", "G0 X5 Y0 Z0"]
    lines += [f"G3 X5 Y0 I-5 J0 Z{-1.5 * (k + 1)}" for k in range(turns)]
    table = read_program(("\n".join(lines) + "\nM2\n").encode()).motions
    assert table.length_mm[1:].sum() == pytest.approx(turns * math.hypot(10 * math.pi, 1.5))


@pytest.mark.parametrize(
    ("arc", "first", "last"),
    [("G17 G3 X-5 I-5 J0", (0, 1, 0), (0, -1, 0)), ("G18 G3 X-5 I-5 K0", (0, 0, -1), (0, 0, 1)),
     ("G18 G2 X-5 I-5 K0", (0, 0, 1), (0, 0, -1)), ("G19 G3 Z10 J0 K5", (0, 1, 0), (0, -1, 0))],
)  # fmt: skip
def test_tangents_of_half_a_turn(arc: str, first: tuple[int, ...], last: tuple[int, ...]) -> None:
    """RS274/NGC 3.5.3: G3 turns counter-clockwise seen from the positive end of Z, Y or X; from X5 Y0 Z0."""
    table = read_program(f"G21 G90 G94 F100\nG0 X5 Y0 Z0\n{arc}\nM2\n".encode()).motions
    begins, ends = directions(table)
    assert (begins[-1], ends[-1]) == (pytest.approx(first, abs=1e-9), pytest.approx(last, abs=1e-9))
