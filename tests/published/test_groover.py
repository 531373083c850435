"""M. P. Groover, Fundamentals of Modern Manufacturing: worked examples on milling, force, temperature, tool life.

From memory of the book, recomputed; the digits are the book's, the page numbers were not at hand.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.kienzle import cutting_power_w
from millcalc.mechanics.kinematics import approach_mm, feed_mm_min, removal_rate_mm3_min, spindle_speed_rpm
from millcalc.mechanics.life import chip_temperature_rise_k, taylor_life_min


def test_peripheral_milling() -> None:
    """Peripheral milling: 35 m/min, 65 mm, 8 teeth, 0.25 mm, 60 x 5 mm, length 320 mm (from memory)."""
    speed = spindle_speed_rpm(35.0, 65.0)
    feed = feed_mm_min(0.25, 8, speed)
    assert speed == pytest.approx(171.4, abs=0.05)
    assert feed == pytest.approx(342.8, abs=0.05)
    assert approach_mm(5.0, 65.0) == pytest.approx(17.3, abs=0.05)
    assert (320.0 + approach_mm(5.0, 65.0)) / feed == pytest.approx(0.984, abs=5e-4)
    assert removal_rate_mm3_min(5.0, 60.0, feed) == pytest.approx(102_839.0, rel=2e-4)


def test_power_of_orthogonal_cut() -> None:
    """Force example: 1557 N at 100 m/min on 0.5 x 3.0 mm is 2595 W and 1.038 J/mm3 (from memory)."""
    energy = 1557.0 / (0.5 * 3.0)
    assert energy == pytest.approx(1038.0)
    assert cutting_power_w(energy, 0.5, 3.0, 100_000.0) == pytest.approx(2595.0)


def test_cutting_temperature() -> None:
    """Temperature example after Cook: the same cut, rho C 3.0e-3, K 50 mm2/s rises by 353 K (from memory)."""
    assert chip_temperature_rise_k(1038.0, 100.0, 0.5, 3.0e-3, 50.0) == pytest.approx(353.0, abs=1.0)


@pytest.mark.parametrize(("speed", "minutes"), [(160.0, 5.0), (100.0, 41.0)])
def test_tool_life(speed: float, minutes: float) -> None:
    """Tool-life example: n = 0.223, C = 229 fits 5 min at 160 and 41 min at 100 m/min (from memory)."""
    assert taylor_life_min(speed, 229.0, 0.223) == pytest.approx(minutes, rel=0.01)
