"""Dormer Pramet, milling catalogue 2021-22, pages 114 (correction factors) and 783 (formulas).

Printed digits are compared at half a unit of their last place, plus rounding of binary numbers.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.chip import max_chip_mm, thinning_factor
from millcalc.mechanics.kienzle import cutting_power_w, drive_power_w
from millcalc.mechanics.surface import scallop_mm, stepover_for_scallop_mm
from millcalc.mechanics.unit_power import approximate_power_w

LAST_PLACE = 0.005 + 1e-3  # the factor of 25 %, 1.1547, is printed cut to 1.15, not rounded up


@pytest.mark.parametrize(
    ("share", "factor"),
    [
        (0.05, 2.29),
        (0.10, 1.67),
        (0.15, 1.40),
        (0.20, 1.25),
        (0.25, 1.15),
        (0.30, 1.09),
        (0.40, 1.02),
        (0.50, 1.00),
        (1.00, 1.00),
    ],
)
def test_factor_on_feed_over_radial_share(share: float, factor: float) -> None:
    """Page 114, shoulder milling with solid carbide: factor on fz over ae/D."""
    assert thinning_factor(share * 10.0, 10.0) == pytest.approx(factor, abs=LAST_PLACE)
    assert max_chip_mm(0.1 * factor, share * 10.0, 10.0) == pytest.approx(0.1, rel=0.006)


@pytest.mark.parametrize(
    ("diameter", "stepover"), [(2.0, 0.36), (3.0, 0.44), (4.0, 0.50), (6.0, 0.62), (8.0, 0.71), (10.0, 0.80)]
)
def test_stepover_of_ball_cutters(diameter: float, stepover: float) -> None:
    """Page 114, copy milling: stepover for a theoretical roughness of 16 um."""
    assert stepover_for_scallop_mm(0.016, diameter) == pytest.approx(stepover, abs=0.006)
    assert 1000.0 * scallop_mm(stepover, diameter) == pytest.approx(16.0, abs=0.5)


def test_machine_power_in_aluminium() -> None:
    """Page 783: Pc = ap ae vf / x with x = 120 000 for aluminium gives 0.167 kW for 2 x 10 mm at 1000 mm/min."""
    assert approximate_power_w(2.0, 10.0, 1000.0, 120_000.0) == pytest.approx(167.0, abs=0.5)


@pytest.mark.parametrize(("divisor", "kc"), [(24_000.0, 2500.0), (30_000.0, 2000.0), (120_000.0, 500.0)])
def test_divisors_are_specific_forces_with_losses(divisor: float, kc: float) -> None:
    """Page 783: the rule with x, and the formula with kc, give one power for kc = 60e6 / x."""
    assert approximate_power_w(1.0, 5.0, 600.0, divisor) == pytest.approx(
        cutting_power_w(kc, 1.0, 5.0, 600.0)
    )


def test_efficiency() -> None:
    """Page 783: the efficiency is usually 0.75, and divides the power."""
    assert drive_power_w(cutting_power_w(2000.0, 2.0, 10.0, 600.0), 0.75) == pytest.approx(533.3, abs=0.05)
