"""Techno CNC / Industrial Technical Services, text on vacuum hold-down for routers (read as a stored page).

A vacuum is rounded to 15 psi, the pressure of the air, by the source.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.holddown import friction_hold_n, vacuum_force_n

PSI_KPA, POUND_N, INCH_MM = 6.894757, 4.4482216, 25.4


def test_six_inch_square() -> None:
    """Text: a part of 6 x 6 inches under full vacuum of 15 psi is held down with 540 lb."""
    force = vacuum_force_n(15.0 * PSI_KPA, (6.0 * INCH_MM) ** 2)
    assert force / POUND_N == pytest.approx(540.0, abs=0.05)


def test_friction_holds_sideways() -> None:
    """Text: friction, not suction, resists a side load; so it is always below the force down for mu < 1."""
    force = vacuum_force_n(15.0 * PSI_KPA, (6.0 * INCH_MM) ** 2)
    assert friction_hold_n(force, 0.3, 1.0) == pytest.approx(0.3 * force)
