"""Machinery's Handbook, 31st edition, chapter on machining power, pages 1147, 1152 and 1153.

The handbook's constants are rounded to two or three figures. One row of table 9 as read is left out: at 8.80 mm it
has FT = 5.96 where its neighbours follow D^0.8 (5.70), probably turned digits.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.kienzle import specific_force_n_mm2


@pytest.mark.parametrize(
    ("kp", "kc1", "mc"), [(1.72, 1350.0, 0.21), (1.80, 1350.0, 0.21), (2.02, 1500.0, 0.22)]
)
def test_unit_power_of_steel_against_kienzle(kp: float, kc1: float, mc: float) -> None:
    """Table 1b, p. 1147: Kp of plain carbon steel, 80-100, 100-120 and 140-160 HB, at 0.30 mm a tooth.

    ISCAR's kc1 and mc of the matching steels give the same energy at that chip within 5 %.
    """
    assert specific_force_n_mm2(kc1, mc, 0.30) / 1000.0 == pytest.approx(kp, rel=0.05)


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
