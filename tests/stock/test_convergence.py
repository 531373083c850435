"""Errors shrink with the cells, and how: the figures that the result's error bounds and tuning.py rest on."""

from __future__ import annotations

import math

import numpy as np
import pytest

from millcalc.stock.cutter_shapes import ball, flat
from millcalc.stock.simulate import WIDTH_ERROR_CELLS
from tests.stock.paths import arc_move, cut, run, turned

CELLS = (0.5, 0.25, 0.125, 0.0625)


def rms(values: list[float]) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def test_area_error_falls_faster_than_the_cell() -> None:
    """Relative error of a slot's volume over directions along X, Y and 45 degrees: below 0.2 % at D / 24 already."""
    errors = []
    for cell in CELLS:
        found = []
        for angle in (0.0, math.pi / 4, math.pi / 2):
            for shift in (0.0, 0.07, 0.19):
                path = turned([(30, 40 + shift), (70, 40 + shift)], angle)
                removal = run(cut(path, -1.0), flat(6.0), cell_mm=cell, pieces=False)
                found.append(removal.volume_mm3[2] / (6.0 * 40) - 1)
        errors.append(rms(found))
    assert errors[1] < 0.002
    assert errors[3] < errors[0] / 8
    assert errors[3] < 2e-4


def test_curved_and_rounded_cuts_converge() -> None:
    """An arc with a ball: the error at the finest cells is a fifth of that at the coarsest or less."""
    start, centre = (62.3, 40.1, -1.5), (50.0, 40.1, -1.5)
    half = math.sqrt(2 * 3 * 1.5 - 1.5**2)
    theta = 2 * math.asin(half / 3)
    exact = (
        9 / 2 * (theta - math.sin(theta)) * 12.3 * math.pi
    )  # Pappus: the section's middle runs on the path
    errors = []
    for cell in CELLS:
        found = []
        for shift in (0.0, 0.11, 0.23):
            begin = (start[0] + shift, *start[1:])
            middle = (centre[0] + shift, *centre[1:])
            moves = [{"kind": 0, "to": (*begin[:2], 5)}, {"to": begin}, arc_move(begin, middle, math.pi)]
            found.append(run(moves, ball(6.0), cell_mm=cell, pieces=False).volume_mm3[2] / exact - 1)
        errors.append(rms(found))
    assert errors[1] < 0.005
    assert errors[3] < errors[0] / 5 or errors[3] < 3e-4


@pytest.mark.parametrize("per_diameter", [24, 32])
def test_width_error_is_within_the_stated_bound(per_diameter: int) -> None:
    """Side cuts in random directions measured window by window: all within the bound, under half a cell r.m.s."""
    rng = np.random.default_rng(per_diameter)
    diameter = 6.0
    cell = diameter / per_diameter
    step = 4.04 * cell
    errors: list[float] = []
    for _ in range(30):
        width, angle = float(rng.uniform(0.1, 5.0)), float(rng.uniform(0, 2 * math.pi))
        first = turned([(25, 40), (75, 40)], angle)
        second = turned([(28 + i * step, 40 - width) for i in range(25)], angle)
        removal = run(cut(first, -1.0) + cut(second, -1.0), flat(diameter), cell_mm=cell, pieces=False)
        errors += [float(w) - width for w in removal.radial_width_mm[-22:-2]]
    assert max(map(abs, errors)) <= WIDTH_ERROR_CELLS * cell
    assert rms(errors) < 0.5 * cell
    assert np.mean(errors) < 0.1 * cell


def test_width_error_shrinks_with_the_cells() -> None:
    found = []
    for cell in CELLS[1:]:
        errors = []
        for angle in (0.0, 0.4, 0.9, 1.3, 2.0):
            moves = cut(turned([(20, 40), (80, 40)], angle), -1.0)
            moves += cut(turned([(25, 39.1), (75, 39.1)], angle), -1.0)
            errors.append(float(run(moves, flat(6.0), cell_mm=cell, pieces=False).radial_width_mm[6]) - 0.9)
        found.append(rms(errors))
    assert found[2] < found[1] < found[0] or found[2] < found[0] / 3
