"""S. Kalpakjian, S. Schmid, Manufacturing Engineering and Technology: worked examples on slab milling, tool life.

From memory of the book, recomputed; the digits are the book's, the page numbers were not at hand.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.kienzle import torque_nm
from millcalc.mechanics.kinematics import approach_mm, feed_mm_min, removal_rate_mm3_min
from millcalc.mechanics.life import life_ratio
from millcalc.mechanics.unit_power import unit_power_w


def test_slab_milling() -> None:
    """Example 24.1: mild steel, 0.25 mm a tooth, 3 deep, 100 wide, 50 mm cutter, 20 teeth, 100 rev/min."""
    feed = feed_mm_min(0.25, 20, 100.0)
    rate = removal_rate_mm3_min(3.0, 100.0, feed)
    assert feed == pytest.approx(500.0)
    assert rate == pytest.approx(150_000.0)
    assert unit_power_w(3.0, rate) == pytest.approx(7500.0)
    assert torque_nm(7500.0, 100.0) == pytest.approx(716.0, abs=0.5)


def test_slab_milling_time() -> None:
    """Example 24.1: 37.5 s for 300 mm. The book's approach sqrt(D d) = 12.2 is 3 % longer than ours."""
    approach = approach_mm(3.0, 50.0)
    assert approach == pytest.approx(12.2, rel=0.035)
    assert 60.0 * (300.0 + approach) / 500.0 == pytest.approx(37.5, abs=0.1)


def test_half_the_speed() -> None:
    """Tool-life example: n = 0.5, speed reduced by 50 %, life increases by 300 %."""
    assert 100.0 * (life_ratio(0.5, 0.5) - 1.0) == pytest.approx(300.0)
