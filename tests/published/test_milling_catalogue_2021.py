"""A tool maker's milling catalogue 2021-22, pages 114 (correction factors) and 783 (formulas).

Address of page 114: https://docs.steelcam.org/dormer-pramet/katalog-dormer-pramet-frezerovanie-2021-2022-page115

Printed digits are compared at half a unit of their last place, plus rounding of binary numbers.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.chip import max_chip_mm, thinning_factor

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
