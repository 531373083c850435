"""Volumes of rounded and pointed cutters against quadrature that knows nothing of cells.

The lower envelope of a swept cutter is found by brute force over the path (no closed form), and summed by the midpoint
rule; intersections of solids by scipy.integrate.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import integrate

from millcalc.stock.cutter_shapes import ball, flat, tapered_ball, vee
from millcalc.stock.shapes import CutterShape
from tests.stock.paths import Box, run

SHAPES = {
    "ball": ball(5.0),
    "bull-nose": flat(6.0, 1.2),
    "vee": vee(6.0, 70.0, 0.3),
    "sharp vee": vee(5.0, 90.0),
    "tapered ball": tapered_ball(6.0, 0.8, 20.0),
    "drill": vee(4.0, 118.0),
    "flat": flat(4.0),
}


def height_over_tip(shape: CutterShape, radius: NDArray[np.float64]) -> NDArray[np.float64]:
    """The profile once more, written down from the drawing of each part."""
    out = np.zeros_like(radius)
    if shape.corner_mm > 0:
        over = np.clip(radius - shape.flat_mm, 0, shape.join_mm - shape.flat_mm)
        out += shape.corner_mm - np.sqrt(shape.corner_mm**2 - over**2)
    if shape.cone > 0:
        out += shape.cone * np.clip(radius - shape.join_mm, 0, None)
    return np.where(radius <= shape.radius_mm, out, np.inf)


def removed_by_line(
    shape: CutterShape, start: NDArray[np.float64], end: NDArray[np.float64], stock: Box, n: int = 140
) -> float:
    """Volume a straight move takes from an uncut stock [mm3]."""
    reach = shape.radius_mm
    low, high = np.minimum(start, end)[:2] - reach, np.maximum(start, end)[:2] + reach
    x = low[0] + (np.arange(n) + 0.5) / n * (high[0] - low[0])
    y = low[1] + (np.arange(n) + 0.5) / n * (high[1] - low[1])
    grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
    lowest = np.full(len(grid), np.inf)
    for share in np.linspace(0, 1, 201):
        tip = start + share * (end - start)
        lowest = np.minimum(lowest, tip[2] + height_over_tip(shape, np.hypot(*(grid - tip[:2]).T)))
    inside = (grid[:, 0] > stock.x_min) & (grid[:, 0] < stock.x_max)
    inside &= (grid[:, 1] > stock.y_min) & (grid[:, 1] < stock.y_max)
    depth = np.clip(-lowest, 0, -stock.z_min) * inside
    return float(depth.sum() * (x[1] - x[0]) * (y[1] - y[0]))


@pytest.mark.parametrize("name", SHAPES)
def test_sloping_moves(name: str) -> None:
    """Four random 3D moves for each cutter, up and down, steep and shallow, within 1 %."""
    rng = np.random.default_rng(sum(map(ord, name)))
    shape, stock = SHAPES[name], Box(30.0, 25.0)
    for _ in range(4):
        start = np.array([*rng.uniform((4, 4), (26, 21)), -rng.uniform(0.3, 3.5)])
        end = np.array([*rng.uniform((4, 4), (26, 21)), -rng.uniform(0.3, 3.5)])
        moves = [{"kind": 0, "to": (*start[:2], 5.0)}, {"to": tuple(start)}, {"to": tuple(end)}]
        removal = run(moves, shape, stock, cell_mm=shape.radius_mm / 30, pieces=False)
        exact = removed_by_line(shape, start, end, stock)
        assert removal.volume_mm3.sum() == pytest.approx(exact, rel=0.01)


def test_ball_grooves_that_cross() -> None:
    """Two grooves at right angles overlap in a solid whose volume scipy integrates."""
    radius, depth, half_length = 3.0, 1.4, 15.0
    moves = [
        {"kind": 0, "to": (35, 40, 5)}, {"to": (35, 40, -depth)}, {"to": (65, 40, -depth)},
        {"kind": 0, "to": (65, 40, 5)}, {"kind": 0, "to": (50, 25, 5)},
        {"to": (50, 25, -depth)}, {"to": (50, 55, -depth)},
    ]  # fmt: skip
    removal = run(moves, ball(2 * radius), pieces=False)
    half = math.sqrt(2 * radius * depth - depth**2)
    low = radius - depth

    def deep(offset: float) -> float:
        return math.sqrt(radius**2 - offset**2) - low

    common, _ = integrate.dblquad(lambda y, x: min(deep(x), deep(y)), -half, half, -half, half)
    groove, _ = integrate.quad(deep, -half, half)
    cap = math.pi * depth**2 * (3 * radius - depth) / 3
    assert removal.volume_mm3[:3].sum() == pytest.approx(groove * 2 * half_length + cap, rel=0.01)
    assert removal.volume_mm3[5:].sum() == pytest.approx(groove * 2 * half_length + cap - common, rel=0.01)


def test_ball_plunge_over_the_edge_of_the_stock() -> None:
    """A spherical cap cut by the plane of the stock's edge."""
    radius, depth, inside = 4.0, 2.0, 0.7
    removal = run(
        [{"kind": 0, "to": (inside, 40, 5)}, {"to": (inside, 40, -depth)}],
        ball(2 * radius),
        cell_mm=0.1,
        pieces=False,
    )

    def chord(x: float) -> float:  # area of the cap's section at a distance x from its axis
        disc = radius**2 - x**2
        low = radius - depth
        if disc <= low**2:
            return 0.0
        half = math.sqrt(disc - low**2)
        return disc * math.asin(half / math.sqrt(disc)) - half * low

    exact, _ = integrate.quad(chord, -inside, math.sqrt(2 * radius * depth - depth**2))
    assert removal.volume_mm3[1] == pytest.approx(exact, rel=0.01)
