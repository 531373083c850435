"""Facts of the trade as properties that hold for any cutter, chip and machine in range."""

from __future__ import annotations

import math

from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.mechanics.chip import max_chip_mm, mean_chip_mm, thinning_factor
from millcalc.mechanics.deflection import (
    cutter_compliance_um_n,
    root_stress_n_mm2,
)
from millcalc.mechanics.engagement import (
    engagement_angle_rad,
)
from millcalc.mechanics.kienzle import specific_force_n_mm2
from millcalc.mechanics.linear_edge import EdgeCoefficients

FEW = settings(max_examples=60, deadline=None, database=None)
YOUNGS_N_MM2 = 590_000.0  # of carbide
FEWER = settings(max_examples=25, deadline=None, database=None)

diameters = st.floats(0.5, 25.0)
shares = st.floats(0.01, 1.0)
chips = st.floats(1e-3, 0.5)
growth = st.floats(1.01, 5.0)
coefficients = st.builds(
    EdgeCoefficients,
    ktc_n_mm2=st.floats(10.0, 3000.0),
    krc_n_mm2=st.floats(0.0, 800.0),
    kac_n_mm2=st.floats(0.0, 400.0),
    kte_n_mm=st.floats(0.1, 40.0),
    kre_n_mm=st.floats(0.1, 40.0),
    kae_n_mm=st.floats(0.0, 5.0),
)


@FEW
@given(chips, growth, st.floats(100.0, 4000.0), st.floats(0.05, 0.4))
def test_a_thin_chip_costs_more_energy(chip: float, more: float, kc11: float, mc: float) -> None:
    """Too small a chip rubs and heats: the energy for each volume rises as the chip thins (Kienzle)."""
    assert specific_force_n_mm2(kc11, mc, chip) > specific_force_n_mm2(kc11, mc, chip * more)


@FEW
@given(shares, diameters, chips)
def test_chip_bounds(share: float, diameter: float, feed: float) -> None:
    """Mean below largest, largest below the feed; thinning never below 1, and it restores the feed."""
    width = share * diameter
    largest = max_chip_mm(feed, width, diameter)
    assert mean_chip_mm(feed, width, diameter) <= largest * (1 + 1e-12) <= feed * (1 + 1e-9)
    assert thinning_factor(width, diameter) >= 1.0 - 1e-12
    assert math.isclose(largest * thinning_factor(width, diameter), feed, rel_tol=1e-9)


@FEW
@given(shares, growth, diameters, chips)
def test_a_wider_cut_has_a_thicker_chip(share: float, more: float, diameter: float, feed: float) -> None:
    """More width: larger angle, thicker largest chip."""
    wide = min(share * more, 1.0)
    assert engagement_angle_rad(wide * diameter, diameter) >= engagement_angle_rad(share * diameter, diameter)
    assert (
        max_chip_mm(feed, wide * diameter, diameter) >= max_chip_mm(feed, share * diameter, diameter) - 1e-15
    )


@FEW
@given(diameters, st.floats(2.0, 60.0), st.floats(0.2, 1.0), growth)
def test_stickout_bends_and_breaks(diameter: float, stickout: float, flutes: float, more: float) -> None:
    """A longer stickout of the same cutter bends more and is stressed no less."""
    cutter = (diameter, flutes * stickout, diameter)
    assert cutter_compliance_um_n(*cutter, stickout * more, YOUNGS_N_MM2) > cutter_compliance_um_n(
        *cutter, stickout, YOUNGS_N_MM2
    )
    longer = root_stress_n_mm2(10.0, *cutter, stickout * more)
    assert longer >= root_stress_n_mm2(10.0, *cutter, stickout) * (1 - 1e-12)


@FEW
@given(diameters, growth, st.floats(2.0, 60.0))
def test_a_thick_cutter_is_stiff(diameter: float, more: float, stickout: float) -> None:
    """Thickness counts with its fourth power."""
    thin = cutter_compliance_um_n(diameter, stickout, diameter, stickout, YOUNGS_N_MM2)
    thick = cutter_compliance_um_n(diameter * more, stickout, diameter * more, stickout, YOUNGS_N_MM2)
    assert math.isclose(thin / thick, more**4, rel_tol=1e-9)
