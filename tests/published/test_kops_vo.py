"""L. Kops, D. T. Vo, Determination of the equivalent diameter of an end mill based on its compliance.

CIRP Annals 39/1 (1990), doi 10.1016/S0007-8506(07)61010-5: "De is approximately 80 % of the cutter diameter for
both two- and four-flute end mills". Read in the abstract.
"""

from __future__ import annotations

import pytest

from millcalc.mechanics.deflection import (
    FLUTE_DIAMETER_RATIO,
    cutter_compliance_um_n,
    root_stress_n_mm2,
    second_moment_mm4,
)


def test_default_ratio() -> None:
    """Abstract: De/D = 0.8, the shape factor of an end mill."""
    assert pytest.approx(0.80) == FLUTE_DIAMETER_RATIO


@pytest.mark.parametrize("diameter", [1.0, 3.175, 6.0, 8.0])
def test_compliance_is_that_of_the_equivalent_bar(diameter: float) -> None:
    """Abstract: a solid cylinder of De yields the same deflection: F L^3 / (3 E I)."""
    length, youngs = 4.0 * diameter, 580_000.0
    bar = 1000.0 * length**3 / (3.0 * youngs * second_moment_mm4(0.80 * diameter))
    assert cutter_compliance_um_n(diameter, length, diameter, length, youngs) == pytest.approx(bar)


def test_solid_bar_hides_more_than_half() -> None:
    """Abstract, consequence: taking the full diameter underrates the deflection by 1/0.8^4 = 2.44."""
    flutes = cutter_compliance_um_n(6.0, 25.0, 6.0, 25.0, 580_000.0)
    solid = cutter_compliance_um_n(6.0, 25.0, 6.0, 25.0, 580_000.0, flute_diameter_ratio=1.0)
    assert flutes / solid == pytest.approx(2.44, abs=0.005)


def test_stress_follows_the_cube() -> None:
    """Abstract, consequence: the bending stress of the same bar is 1/0.8^3 = 1.95 times that of a solid one."""
    flutes = root_stress_n_mm2(50.0, 6.0, 25.0, 6.0, 25.0)
    solid = root_stress_n_mm2(50.0, 6.0, 25.0, 6.0, 25.0, flute_diameter_ratio=1.0)
    assert flutes / solid == pytest.approx(1.95, abs=0.005)
