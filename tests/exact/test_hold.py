"""The balance of what holds the work, against integrals by SciPy and a friction patch turned about many centres."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import dblquad

from millcalc.mechanics.holddown import friction_hold_n, hold_use, turning_hold_n_mm, vacuum_pull_n


def test_mean_arm_of_a_square() -> None:
    """SciPy's double integral of the distance from the middle of a square of 80 mm, per area."""
    half = 40.0
    total, _ = dblquad(lambda y, x: np.hypot(x, y), -half, half, -half, half)
    assert turning_hold_n_mm(150.0, 6400.0) == pytest.approx(150.0 * total / 6400.0, rel=1e-6)


@pytest.mark.parametrize("lift", [0.0, 100.0, 400.0, 650.0])
def test_friction_under_vacuum(lift: float) -> None:
    """Coulomb: what is left sideways under a lift P is mu (N - P); there the share is 1."""
    pull = float(np.asarray(vacuum_pull_n(10_000.0, 0.07)))
    side = 0.3 * (pull - lift)
    share = hold_use(side, lift, 0.0, friction_hold_n(pull, 0.3), pull, 1.0)
    assert share == pytest.approx(1.0)


def test_force_and_moment_together_err_to_the_safe_side() -> None:
    """A square patch of even friction slips about some centre; wherever that is, the share is then at least 1."""
    line = (np.arange(80) + 0.5) / 80 * 100.0 - 50.0
    x, y = (one.ravel() for one in np.meshgrid(line, line))
    hold = 200.0
    each = hold / x.size
    for away in np.concatenate([np.linspace(0.0, 120.0, 25), [500.0, 5000.0]]):
        dx, dy = x - away, y
        far = np.maximum(np.hypot(dx, dy), 1e-9)
        fx, fy = -dy / far * each, dx / far * each
        force, moment = float(np.hypot(fx.sum(), fy.sum())), float(abs((x * fy - y * fx).sum()))
        share = hold_use(force, 0.0, moment, hold, 50.0, turning_hold_n_mm(hold, 10_000.0))
        assert 0.999 <= share < 1.5, away
