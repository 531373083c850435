"""Hold-down: worked cases, equilibrium of fastener groups, and beams."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.mechanics.holddown import (
    clamp_force_n,
    fastener_loads_n,
    plate_flexure_mm,
    screw_withdrawal_n,
    tab_bending_n_mm2,
    tab_section_mm2,
    tape_hold_n,
    vacuum_force_n,
)


def test_clamp() -> None:
    """60 N sideways, 20 N up, friction 0.3, 2.5 in hand: 550 N; two stiff faces need half of the side part."""
    assert clamp_force_n(60.0, 20.0, 0.3, 2.5) == pytest.approx(550.0)
    assert clamp_force_n(60.0, 20.0, 0.3, 2.5, friction_faces=2.0) == pytest.approx(300.0)
    with pytest.raises(ValueError, match="safety"):
        clamp_force_n(60.0, 20.0, 0.3, 0.5)


def test_panel_factor() -> None:
    """Board material holds a share of solid wood of its density."""
    assert screw_withdrawal_n(0.75, 4.8, 17.0) == pytest.approx(4970.0, abs=5.0)
    assert screw_withdrawal_n(0.75, 4.8, 17.0, 0.3) == pytest.approx(
        0.3 * screw_withdrawal_n(0.75, 4.8, 17.0)
    )
    with pytest.raises(ValueError, match="specific_gravity"):
        screw_withdrawal_n(750.0, 4.8, 17.0)  # a density in kg/m3 by mistake


def test_vacuum() -> None:
    """80 kPa on 150 x 150 mm is 1800 N; no vacuum pulls more than the air."""
    assert vacuum_force_n(80.0, 150.0**2) == pytest.approx(1800.0)
    with pytest.raises(ValueError, match="pressure_difference_kpa"):
        vacuum_force_n(200.0, 100.0)


def test_tabs() -> None:
    """100 N in softwood (8 N/mm2) with 4 in hand: 50 mm2, four tabs of 5 x 2.5."""
    assert tab_section_mm2(100.0, 8.0, 4.0) == pytest.approx(4 * 5.0 * 2.5)
    assert tab_section_mm2(100.0, 5.0, 4.0) == pytest.approx(80.0)
    assert tab_bending_n_mm2(25.0, 6.0, 2.5, 5.0) == pytest.approx(6.0 * 25.0 * 6.0 / (2.5 * 25.0))


def test_tape() -> None:
    """1000 mm2 at 0.03 N/mm2 after the margin hold 30 N."""
    assert tape_hold_n(0.15, 1000.0, 5.0) == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("span", "thickness", "lift"),
    [(100.0, 3.0, 0.03), (150.0, 3.0, 0.09), (200.0, 3.0, 0.21), (150.0, 2.0, 0.30)],
)
def test_flexure(span: float, thickness: float, lift: float) -> None:
    """A strip of aluminium 100 wide lifted by 20 N, worked by hand to 0.01 mm; fixed ends give a quarter."""
    found = plate_flexure_mm(20.0, span, 70_000.0, 100.0, thickness)
    assert found == pytest.approx(lift, abs=0.006)
    fixed = plate_flexure_mm(20.0, span, 70_000.0, 100.0, thickness, fixed_ends=True)
    assert fixed == pytest.approx(found / 4.0)


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
