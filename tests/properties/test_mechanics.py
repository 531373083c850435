"""Facts of the trade as properties that hold for any cutter, chip and machine in range."""

from __future__ import annotations

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from millcalc.mechanics.chip import max_chip_mm, mean_chip_mm, thinning_factor
from millcalc.mechanics.deflection import (
    cutter_compliance_um_n,
    machine_compliance_um_n,
    root_stress_n_mm2,
    series_compliance_um_n,
)
from millcalc.mechanics.engagement import (
    corner_engagement_rad,
    engagement_angle_rad,
    inside_arc_engagement_rad,
)
from millcalc.mechanics.kienzle import specific_force_n_mm2, tooth_tangential_n
from millcalc.mechanics.linear_edge import EdgeCoefficients, specific_energy_n_mm2
from millcalc.mechanics.motion import reachable_feed_mm_min, trapezoid_time_s
from millcalc.mechanics.runout import runout_chips_mm
from millcalc.mechanics.stability import limit_depth_mm
from millcalc.mechanics.turn import turn_forces

FEW = settings(max_examples=60, deadline=None, database=None)
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
@given(chips, growth, coefficients)
def test_a_thin_chip_costs_more_energy_by_the_edge_model(
    chip: float, more: float, k: EdgeCoefficients
) -> None:
    """The same by the linear-edge model: the edge part does not shrink with the chip."""
    assert specific_energy_n_mm2(k, chip) > specific_energy_n_mm2(k, chip * more)


@FEW
@given(chips, growth, st.floats(100.0, 4000.0), st.floats(0.0, 0.4))
def test_a_thick_chip_loads_the_cutter(chip: float, more: float, kc11: float, mc: float) -> None:
    """Too large a chip loads the cutter: the force rises with the chip, though less than in proportion."""
    thin = tooth_tangential_n(specific_force_n_mm2(kc11, mc, chip), 1.0, chip)
    thick = tooth_tangential_n(specific_force_n_mm2(kc11, mc, chip * more), 1.0, chip * more)
    assert thin < thick <= thin * more * (1.0 + 1e-12)


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
@given(shares, diameters, st.floats(0.05, 500.0), growth)
def test_curves_and_corners_engage_more(share: float, diameter: float, path: float, more: float) -> None:
    """Inside a curve the cutter has more around it than on a straight wall, and more so the tighter the curve."""
    width = share * diameter
    straight = engagement_angle_rad(width, diameter)
    curve = inside_arc_engagement_rad(width, path, diameter / 2.0)
    wider = inside_arc_engagement_rad(width, path * more, diameter / 2.0)
    assert curve >= wider - 1e-6 >= straight - 2e-6
    assert corner_engagement_rad(width, diameter) >= straight


@FEW
@given(chips, st.floats(0.0, 0.3), st.integers(1, 6))
def test_run_out_shares(feed: float, runout: float, flutes: int) -> None:
    """No tooth takes less than nothing or more than the turn; the mean lies between."""
    least, most = runout_chips_mm(feed, runout, flutes)
    assert -1e-12 <= least <= feed * (1 + 1e-9)
    assert feed * (1 - 1e-9) <= most <= flutes * feed * (1 + 1e-9)


@FEW
@given(diameters, st.floats(2.0, 60.0), st.floats(0.2, 1.0), growth)
def test_stickout_bends_and_breaks(diameter: float, stickout: float, flutes: float, more: float) -> None:
    """A longer stickout of the same cutter bends more and is stressed no less."""
    cutter = (diameter, flutes * stickout, diameter)
    assert cutter_compliance_um_n(*cutter, stickout * more) > cutter_compliance_um_n(*cutter, stickout)
    longer = root_stress_n_mm2(10.0, *cutter, stickout * more)
    assert longer >= root_stress_n_mm2(10.0, *cutter, stickout) * (1 - 1e-12)


@FEW
@given(diameters, growth, st.floats(2.0, 60.0))
def test_a_thick_cutter_is_stiff(diameter: float, more: float, stickout: float) -> None:
    """Thickness counts with its fourth power."""
    thin = cutter_compliance_um_n(diameter, stickout, diameter, stickout)
    thick = cutter_compliance_um_n(diameter * more, stickout, diameter * more, stickout)
    assert math.isclose(thin / thick, more**4, rel_tol=1e-9)


@FEW
@given(
    st.floats(0.1, 20.0),
    st.floats(40.0, 200.0),
    st.floats(0.3, 0.99),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1.0),
)
def test_a_raised_bed_stiffens(stiffness: float, drop: float, less: float, a: float, b: float) -> None:
    """A smaller drop never gives more; and no chain of springs is stiffer than its softest."""
    base, rotary = a, (1.0 - a) * b
    shares_of_drop = (base, rotary, 1.0 - base - rotary)
    high = machine_compliance_um_n(stiffness, drop, drop * less, *shares_of_drop)
    low = machine_compliance_um_n(stiffness, drop, drop, *shares_of_drop)
    assert high <= low * (1 + 1e-12)
    assert series_compliance_um_n(high, low, 0.1) >= max(high, low, 0.1)


@FEWER
@given(
    coefficients,
    shares,
    st.integers(1, 4),
    st.floats(0.1, 10.0),
    st.floats(-50.0, 50.0),
    growth,
    st.booleans(),
)
def test_depth_and_feed_load_the_cutter(
    k: EdgeCoefficients, share: float, flutes: int, depth: float, helix: float, more: float, climb: bool
) -> None:
    """More feed never lowers mean or peak tangential force; the mean grows with the depth in proportion."""
    angle = engagement_angle_rad(share * 6.0, 6.0)
    entry, leave = (math.pi - angle, math.pi) if climb else (0.0, angle)
    base = turn_forces(k, 6.0, flutes, depth, 0.02, entry, leave, helix)
    fed = turn_forces(k, 6.0, flutes, depth, 0.02 * more, entry, leave, helix)
    deep = turn_forces(k, 6.0, flutes, depth * more, 0.02, entry, leave, helix)
    assert fed.mean_tangential_n >= base.mean_tangential_n
    assert fed.peak_tangential_n >= base.peak_tangential_n * (1 - 1e-9)
    assert math.isclose(deep.mean_tangential_n, more * base.mean_tangential_n, rel_tol=1e-9)
    assert base.peak_tangential_n >= base.mean_tangential_n * (1 - 1e-3)
    assert base.peak_in_plane_n >= math.hypot(base.mean_x_n, base.mean_y_n) * (1 - 1e-3)


@FEWER
@given(coefficients, st.integers(2, 4), st.floats(0.001, 0.2), st.floats(0.1, 6.0))
def test_run_out_never_eases_the_worst_tooth(
    k: EdgeCoefficients, flutes: int, runout: float, depth: float
) -> None:
    """A straight cutter in a slot whose teeth stand apart: the hardest tooth is loaded no less.

    Two, three or four teeth: with three or four the second tooth in the cut may lose more than the first
    gains, so the single tooth's chip is compared, not the sum.
    """
    _, most = runout_chips_mm(0.02, runout, flutes)
    assert most >= 0.02 * (1 - 1e-9)
    if flutes == 2:
        even = turn_forces(k, 6.0, 2, depth, 0.02, 0.0, math.pi, 0.0)
        uneven = turn_forces(k, 6.0, 2, depth, 0.02, 0.0, math.pi, 0.0, runout_mm=runout)
        assert uneven.peak_tangential_n >= even.peak_tangential_n * (1 - 1e-9)


@FEW
@given(st.floats(0.1, 5.0), growth, st.floats(0.005, 0.2), st.floats(20.0, 3000.0))
def test_stiffness_and_material_set_the_chatter_depth(
    stiffness: float, more: float, damping: float, ks: float
) -> None:
    """Depth before chatter goes with stiffness and against the cutting coefficient, in proportion."""
    base = limit_depth_mm(ks, stiffness, damping, 0.5)
    assert math.isclose(limit_depth_mm(ks, stiffness * more, damping, 0.5), base * more, rel_tol=1e-9)
    assert math.isclose(limit_depth_mm(ks * more, stiffness, damping, 0.5), base / more, rel_tol=1e-9)
    assert limit_depth_mm(ks, stiffness, min(damping * more, 0.9), 0.5) > base


@FEW
@given(st.floats(0.01, 500.0), st.floats(60.0, 6000.0), st.floats(50.0, 3000.0))
def test_short_moves_do_not_reach_the_feed(length: float, feed: float, acceleration: float) -> None:
    """A move takes at least length over feed, and exactly the two ramps when it cannot reach the feed."""
    time = trapezoid_time_s(length, feed, acceleration)
    assert time >= 60.0 * length / feed * (1 - 1e-12)
    if reachable_feed_mm_min(length, acceleration) <= feed:
        assert math.isclose(time, 2.0 * math.sqrt(length / acceleration), rel_tol=1e-9)
    half = trapezoid_time_s(np.array([length / 2.0]), feed, acceleration)[0]
    assert 2.0 * half >= time * (1 - 1e-12)
