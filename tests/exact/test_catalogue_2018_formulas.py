"""A tool maker's catalogue 2018, page F007: formulas in other forms than ours. Equal within rounding of binary numbers.

Address: https://docs.steelcam.org/dijet/obshij-katalog-dijet-2018-page551
"""

from __future__ import annotations

import math

import pytest

from millcalc.mechanics.engagement import ball_effective_diameter_mm


@pytest.mark.parametrize(("depth", "diameter"), [(0.1, 6.0), (0.5, 6.0), (1.0, 3.175), (3.0, 6.0)])
def test_ball_diameter(depth: float, diameter: float) -> None:
    """Page F007: Deff = 2 sqrt(R^2 - (R - ap)^2)."""
    radius = diameter / 2.0
    printed = 2.0 * math.sqrt(radius**2 - (radius - depth) ** 2)
    assert ball_effective_diameter_mm(depth, diameter) == pytest.approx(printed)
