"""Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-282, chapter 8 (fastenings), from memory; and the
allowable load of the same family of formulas as published by The Engineering ToolBox, page d_1815 (read).
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.holddown import screw_withdrawal_n
from millcalc.preflight.tuning import WITHDRAWAL_SAFETY

INCH_MM, POUND_N = 25.4, 4.4482216


@pytest.mark.parametrize(
    ("gravity", "diameter", "length", "newtons"),
    [
        (0.50, 4.0, 20.0, 2165.0),
        (0.45, 4.826, 25.4, 2687.0),
        (0.42, 4.0, 20.0, 1528.0),
        (0.63, 4.0, 20.0, 3437.0),
    ],
)
def test_metric_formula(gravity: float, diameter: float, length: float, newtons: float) -> None:
    """Chapter 8: p = 108.25 G^2 D L, ultimate withdrawal from side grain (rounded to 1 N)."""
    assert screw_withdrawal_n(gravity, diameter, length) == pytest.approx(newtons, abs=0.6)


def test_inch_formula() -> None:
    """Chapter 8: p = 15 700 G^2 D L in pounds and inches describes the same screw (604 lb, a no. 10 in spruce)."""
    pounds = 15_700.0 * 0.45**2 * 0.19 * 1.0
    assert pounds == pytest.approx(604.0, abs=0.5)
    ours = screw_withdrawal_n(0.45, 0.19 * INCH_MM, 1.0 * INCH_MM) / POUND_N
    assert ours == pytest.approx(pounds, rel=2e-4)


def test_allowable_is_above_a_sixth_of_ultimate() -> None:
    """ToolBox d_1815: no. 10 in Canadian spruce (0.45) may carry 109 lb an inch (exact 109.65), 1/5.5 of ours."""
    ultimate = screw_withdrawal_n(0.45, 0.19 * INCH_MM, INCH_MM) / POUND_N
    assert ultimate / 109.65 == pytest.approx(15_700.0 / 2850.0, rel=1e-3)
    assert ultimate / 5.5 == pytest.approx(109.0, rel=0.01)


def test_what_is_counted_on_is_not_above_the_allowable() -> None:
    """ToolBox d_1815: allowable 2850 G^2 D an inch where the ultimate is 15 700 G^2 D; ours within 0.1 %, below."""
    ultimate = screw_withdrawal_n(0.45, 0.19 * INCH_MM, INCH_MM) / POUND_N
    counted = ultimate / WITHDRAWAL_SAFETY
    assert counted <= 2850.0 * 0.45**2 * 0.19 * (1 + 2e-4)
    assert counted == pytest.approx(109.65, rel=1e-3)
