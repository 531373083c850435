"""What screws hold and must bear: worked withdrawal values, and the elastic method in every direction.

Source of the withdrawal values: Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-282, chapter 8, ultimate
load 108.25 G^2 D L (from memory); worked here by hand for a density, the board's share and a safety factor.
"""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.holding.forces import most_loaded_n, screw_holds_n
from millcalc.mechanics.holddown import fastener_loads_n
from millcalc.preflight.tuning import HOLD_FRICTION


@pytest.mark.parametrize(
    ("density", "shank", "thread", "safety", "newton"),
    [
        # G = 0.5: 2165 N in solid wood (4 x 20), 0.3 of it in a board, a fifth of that
        (560.0, 4.0, 20.0, 5.0, 2165.0 * 0.3 / 5),
        # G = 0.45: 2687 N (4.826 x 25.4); nothing in hand
        (504.0, 4.826, 25.4, 1.0, 2687.0 * 0.3),
        # G = 0.42: 1528 N; safety 2.5
        (470.4, 4.0, 20.0, 2.5, 1528.0 * 0.3 / 2.5),
    ],
)
def test_worked_withdrawal(density: float, shank: float, thread: float, safety: float, newton: float) -> None:
    assert screw_holds_n(density, shank, thread, safety) == pytest.approx(newton, abs=0.3)


def test_unknown_stays_unknown() -> None:
    assert screw_holds_n(None, 4.0, 10.0, 5.0) is None
    assert screw_holds_n(680.0, 0.0, 10.0, 5.0) is None
    assert screw_holds_n(680.0, 4.0, None, 5.0) is None


@pytest.mark.parametrize("seed", range(6))
def test_no_direction_is_worse(seed: int) -> None:
    """The worst direction of all is at least as bad as each of 360, and one of them comes within 0.1 %."""
    rng = np.random.default_rng(seed)
    screws, places = rng.uniform(0, 200, (4, 2)), rng.uniform(0, 200, (3, 2))
    worst = 0.0
    for angle in np.radians(np.arange(360)):
        for x, y in places:
            loads = fastener_loads_n(screws[:, 0], screws[:, 1], 50 * np.cos(angle), 50 * np.sin(angle), x, y)
            worst = max(worst, float(np.hypot(*loads.T).max()))
    found = most_loaded_n(places, screws, 50.0, 12.0)
    assert found >= worst / HOLD_FRICTION + 3.0 - 1e-6
    assert found == pytest.approx(worst / HOLD_FRICTION + 3.0, rel=1e-3)


def test_one_and_none() -> None:
    """One screw holds the force itself; without screws nothing does."""
    assert most_loaded_n(np.array([[30.0, 0.0]]), np.array([[0.0, 0.0]]), 10.0, 5.0) == pytest.approx(45.0)
    assert np.isinf(most_loaded_n(np.array([[30.0, 0.0]]), np.zeros((0, 2)), 10.0, 5.0))


@pytest.mark.parametrize("screws", [1, 2, 4])
def test_a_force_without_a_place_is_shared_evenly(screws: int) -> None:
    """40 N along the table and 20 N of lift: 40 / friction / n + 20 / n each; 45 N of four at a friction of 0.25."""
    corners = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])[:screws]
    assert HOLD_FRICTION == 0.25
    assert most_loaded_n(np.zeros((0, 2)), corners, 40.0, 20.0) == pytest.approx(180.0 / screws)
