"""Machinery's Handbook, 31st edition, chapter on machining power, pages 1147, 1152 and 1153.

The handbook's constants are rounded to two or three figures. One row of table 9 as read is left out: at 8.80 mm it
has FT = 5.96 where its neighbours follow D^0.8 (5.70), probably turned digits.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.drilling import handbook_drill_load
from millcalc.mechanics.kienzle import specific_force_n_mm2
from millcalc.mechanics.unit_power import unit_power_w


@pytest.mark.parametrize(
    ("kp", "kc1", "mc"), [(1.72, 1350.0, 0.21), (1.80, 1350.0, 0.21), (2.02, 1500.0, 0.22)]
)
def test_unit_power_of_steel_against_kienzle(kp: float, kc1: float, mc: float) -> None:
    """Table 1b, p. 1147: Kp of plain carbon steel, 80-100, 100-120 and 140-160 HB, at 0.30 mm a tooth.

    ISCAR's kc1 and mc of the matching steels give the same energy at that chip within 5 %.
    """
    assert specific_force_n_mm2(kc1, mc, 0.30) / 1000.0 == pytest.approx(kp, rel=0.05)


def test_unit_power_form() -> None:
    """P. 1147: Pc = Kp C Q W with Kp in kW for each cm3/s: 1 cm3/s of 100-120 HB steel takes 1.80 kW."""
    assert unit_power_w(1.80, 60_000.0) == pytest.approx(1800.0)


# Ff over mm/rev, p. 1153 table 8; FT and FM over mm, p. 1153 table 9; A, B, J of c/d, p. 1152 table 7
FEED_FACTORS = {0.05: 0.091, 0.10: 0.158, 0.15: 0.219, 0.20: 0.276, 0.30: 0.382, 1.00: 1.000}
SIZE_FACTORS = {
    2.40: (2.02, 4.84),
    3.20: (2.54, 8.12),
    4.00: (3.03, 12.12),
    4.80: (3.51, 16.84),
    6.40: (4.42, 28.26),
    8.00: (5.28, 42.22),
    11.00: (6.81, 74.90),
    16.00: (9.19, 147.0),
}
STANDARD_POINT = (1.085, 1.355, 0.030)
SPLIT_POINT = (1.000, 1.100, 0.001)


@pytest.mark.parametrize("feed", FEED_FACTORS)
def test_feed_factors(feed: float) -> None:
    """Table 8: torque goes with Ff; read at 4 mm with FM = 12.12, A = 1.085."""
    _, torque = handbook_drill_load(10_000.0, feed, 4.0)
    by_table = 0.000025 * 10_000.0 * FEED_FACTORS[feed] * 12.12 * STANDARD_POINT[0]
    assert torque == pytest.approx(by_table, rel=0.005)


@pytest.mark.parametrize("diameter", SIZE_FACTORS)
def test_size_factors(diameter: float) -> None:
    """Table 9 and equations 4 and 5: thrust and torque at 0.10 mm/rev (Ff = 0.158), plain point."""
    ft, fm = SIZE_FACTORS[diameter]
    a, b, j = STANDARD_POINT
    thrust, torque = handbook_drill_load(7000.0, 0.10, diameter)
    by_table = 0.05 * 7000.0 * 0.158 * ft * b + 0.007 * 7000.0 * diameter**2 * j
    assert thrust == pytest.approx(by_table, rel=0.005)
    assert torque == pytest.approx(0.000025 * 7000.0 * 0.158 * fm * a, rel=0.005)


def test_split_point() -> None:
    """Table 7: c/d = 0.03 for split points takes out nearly all of the chisel edge's thrust."""
    a, b, j = SPLIT_POINT
    thrust, torque = handbook_drill_load(24_000.0, 0.10, 8.00, chisel_ratio=0.03)
    assert thrust == pytest.approx(
        0.05 * 24_000.0 * 0.158 * 5.28 * b + 0.007 * 24_000.0 * 64.0 * j, rel=0.005
    )
    assert torque == pytest.approx(0.000025 * 24_000.0 * 0.158 * 42.22 * a, rel=0.005)


def test_inch_and_metric_equations_agree() -> None:
    """Equations 1, 2 (inch) and 4, 5 (metric) of p. 1152 describe one drill; their constants are rounded."""
    feed_in, drill_in = 0.004, 0.25  # table 8: Ff = 0.012; table 9: FT = 0.330, FM = 0.082
    a, b, j = STANDARD_POINT
    pounds = 2.0 * 24_000.0 * 0.012 * 0.330 * b + 24_000.0 * drill_in**2 * j
    inch_pounds = 24_000.0 * 0.012 * 0.082 * a
    thrust, torque = handbook_drill_load(24_000.0, feed_in * 25.4, drill_in * 25.4)
    assert thrust == pytest.approx(pounds * 4.44822, rel=0.02)
    assert torque == pytest.approx(inch_pounds * 0.1129848, rel=0.02)
