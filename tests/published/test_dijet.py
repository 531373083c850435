"""Dijet, catalogue 2018, page F007: formulas in other forms than ours. Equal within rounding of binary numbers."""

from __future__ import annotations

import math

import pytest

from millcalc.mechanics.chip import feed_for_mean_chip_sqrt_mm
from millcalc.mechanics.chip_forms import centred_mean_chip_mm
from millcalc.mechanics.engagement import ball_effective_diameter_mm
from millcalc.mechanics.kienzle import cutting_power_w, specific_force_n_mm2
from millcalc.mechanics.kinematics import removal_rate_mm3_min


@pytest.mark.parametrize(("depth", "diameter"), [(0.1, 6.0), (0.5, 6.0), (1.0, 3.175), (3.0, 6.0)])
def test_ball_diameter(depth: float, diameter: float) -> None:
    """Page F007: Deff = 2 sqrt(R^2 - (R - ap)^2)."""
    radius = diameter / 2.0
    printed = 2.0 * math.sqrt(radius**2 - (radius - depth) ** 2)
    assert ball_effective_diameter_mm(depth, diameter) == pytest.approx(printed)


@pytest.mark.parametrize(("width", "kappa"), [(10.0, 90.0), (16.0, 45.0), (25.0, 75.0)])
def test_centred_mean_chip(width: float, kappa: float) -> None:
    """Page F007: hm = sin(kappa) 180 ae fz / (pi D arcsin(ae/D)), arcsin in degrees."""
    printed = math.sin(math.radians(kappa)) * 180.0 * width * 0.1
    printed /= math.pi * 25.0 * math.degrees(math.asin(width / 25.0))
    assert centred_mean_chip_mm(0.1, width, 25.0, kappa) == pytest.approx(printed)


def test_narrow_cut() -> None:
    """Page F007: for ae/D up to 0.1 the mean chip is fz sqrt(ae/D)."""
    assert feed_for_mean_chip_sqrt_mm(0.1 * math.sqrt(0.1), 1.0, 10.0) == pytest.approx(0.1)


def test_power_and_rate() -> None:
    """Page F007: Q = ap ae vf / 1000 cm3/min, P = ap ae vf kc / (60e6 eta) kW, kc = kc1 hm^-mc."""
    kc = 1500.0 * 0.1**-0.22
    assert specific_force_n_mm2(1500.0, 0.22, 0.1) == pytest.approx(kc)
    assert removal_rate_mm3_min(2.0, 8.0, 500.0) / 1000.0 == pytest.approx(2.0 * 8.0 * 500.0 / 1000.0)
    assert cutting_power_w(kc, 2.0, 8.0, 500.0) / 1000.0 == pytest.approx(2.0 * 8.0 * 500.0 * kc / 60e6)
