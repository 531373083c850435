"""A tool maker's catalogue 2021-22, page 908: ramp length L = ap / tan(angle).

Address: https://docs.steelcam.org/kyocera/osnovnoj-katalog-kyocera-2021-2022-page908
"""

from __future__ import annotations

import math

import pytest

from millcalc.mechanics.entries import ramp_angle_deg, ramp_length_mm


@pytest.mark.parametrize(("depth", "angle"), [(1.0, 3.0), (0.5, 2.0), (3.0, 15.0)])
def test_ramp_length(depth: float, angle: float) -> None:
    """Page 908: the length in plan, and back to the angle."""
    printed = depth / math.tan(math.radians(angle))
    assert ramp_length_mm(depth, angle) == pytest.approx(printed)
    assert ramp_angle_deg(depth, printed) == pytest.approx(angle)
