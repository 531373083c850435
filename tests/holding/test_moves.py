"""The smallest move, against closed forms; tolerance 0.1 mm of rounding where a place is rounded, else 0.02 mm."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.holding.moves import axis_moves, smallest_move, travel_mm


def beside_line(places):
    """Room beside a wall at x = 10 that keeps 5 mm, to its left and right."""
    return np.abs(places[:, 0] - 10.0) - 5.0


def outside_disc(places):
    """Room outside a disc of radius 8 about (3, -2)."""
    return np.hypot(places[:, 0] - 3.0, places[:, 1] + 2.0) - 8.0


def test_wall() -> None:
    """At x = 11 the near side of the wall's band ends at 15: 4 mm along +X, 6 mm along -X, never along Y."""
    move = smallest_move(beside_line, (11.0, 7.0))
    assert move is not None
    assert move.dx_mm == pytest.approx(4.0, abs=0.11) and move.dy_mm == pytest.approx(0.0, abs=0.11)
    along = axis_moves(beside_line, (11.0, 7.0))
    assert [(m.dx_mm, m.dy_mm) for m in along] == [(pytest.approx(4.0), 0.0), (pytest.approx(-6.0), 0.0)]
    assert along[0].until_mm == pytest.approx(15.0 + 150.0, abs=0.2)


@pytest.mark.parametrize("seed", range(5))
def test_disc(seed: int) -> None:
    """From inside a disc the smallest move is radial: radius less distance from the middle."""
    rng = np.random.default_rng(seed)
    angle, distance = rng.uniform(0, 6.28), rng.uniform(0.5, 7.5)
    start = (3.0 + distance * np.cos(angle), -2.0 + distance * np.sin(angle))
    move = smallest_move(outside_disc, start)
    assert move is not None
    size = np.hypot(move.dx_mm, move.dy_mm)
    assert 8.0 - distance <= size + 1e-9
    assert size <= 8.0 - distance + 0.2
    assert outside_disc(np.array([move.to_mm]))[0] >= 0.0
    for along in axis_moves(outside_disc, start):
        assert outside_disc(np.array([along.to_mm]))[0] >= 0.0


def test_first_clear_place_is_not_passed_over() -> None:
    """A clear gap 0.3 mm wide between two walls is found, not jumped."""

    def room(places):
        x = places[:, 0]
        return np.maximum(0.15 - np.abs(x - 4.0), np.abs(x) - 10.0)

    found = travel_mm(room, np.array([0.0, 0.0]), np.array([[1.0, 0.0]]), 50.0)
    assert found[0] == pytest.approx(3.85, abs=0.02)


def test_no_way_out() -> None:
    assert smallest_move(lambda places: np.full(len(places), -1.0), (0.0, 0.0), 5.0) is None
    assert axis_moves(lambda places: np.full(len(places), -1.0), (0.0, 0.0), 5.0) == ()


def test_end_of_the_way_on() -> None:
    """A band of room from x = 2 to x = 6.55: from 2, or further, up to 6.5 (rounded inwards)."""

    def room(places):
        return np.minimum(places[:, 0] - 2.0, 6.55 - places[:, 0])

    (move,) = [m for m in axis_moves(room, (0.0, 0.0)) if m.dx_mm > 0]
    assert move.to_mm[0] == pytest.approx(2.0) and move.until_mm == pytest.approx(6.5)
