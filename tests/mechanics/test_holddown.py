"""Hold-down: worked cases, equilibrium of fastener groups, and beams."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.mechanics.holddown import (
    fastener_loads_n,
    screw_withdrawal_n,
)


def test_panel_factor() -> None:
    """Board material holds a share of solid wood of its density."""
    assert screw_withdrawal_n(0.75, 4.8, 17.0) == pytest.approx(4970.0, abs=5.0)
    assert screw_withdrawal_n(0.75, 4.8, 17.0, 0.3) == pytest.approx(
        0.3 * screw_withdrawal_n(0.75, 4.8, 17.0)
    )
    with pytest.raises(ValueError, match="specific_gravity"):
        screw_withdrawal_n(750.0, 4.8, 17.0)  # a density in kg/m3 by mistake


@pytest.mark.parametrize("seed", range(5))
def test_fasteners_are_in_balance(seed: int) -> None:
    """The loads add up to the force, and to its moment about any point."""
    rng = np.random.default_rng(seed)
    x, y = rng.uniform(0.0, 300.0, 5), rng.uniform(0.0, 200.0, 5)
    force, at = rng.uniform(-80.0, 80.0, 2), rng.uniform(-50.0, 350.0, 2)
    loads = fastener_loads_n(x, y, force[0], force[1], at[0], at[1])
    assert loads.sum(axis=0) == pytest.approx(force)
    moment = (x * loads[:, 1] - y * loads[:, 0]).sum()
    assert moment == pytest.approx(at[0] * force[1] - at[1] * force[0])


def test_one_fastener() -> None:
    """A single fastener holds a force through it, and cannot hold one beside it."""
    one = np.array([10.0])
    assert fastener_loads_n(one, one, 5.0, 0.0, 40.0, 10.0).tolist() == [[5.0, 0.0]]
    with pytest.raises(ValueError, match="cannot resist the turning moment"):
        fastener_loads_n(one, one, 5.0, 0.0, 10.0, 40.0)
    with pytest.raises(ValueError, match="same length"):
        fastener_loads_n(np.array([1.0, 2.0]), one, 5.0, 0.0, 10.0, 40.0)
