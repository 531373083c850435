"""Numbers as a person sets them, at their edges: what is rounded, which way, and what is given back for it."""

from __future__ import annotations

import pytest

from millcalc.advise.advice import advise
from millcalc.advise.grid import widths_to_try_mm
from millcalc.advise.solve import feed_no_slower_mm_min, find
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.tables import load_cutter, load_machine, load_material
from tests.advise.test_advice import tooling


def test_a_feed_that_must_not_get_slower_goes_up_by_a_tenth_of_an_inch() -> None:
    """178.6 mm/min is 7.03 in/min; 178.3 mm/min is the floor: 7.1 in/min = 180.34 mm/min (25.4 mm, exact)."""
    assert feed_no_slower_mm_min(178.6, 178.3, "in") == pytest.approx(7.1 * 25.4)


def test_a_finishing_pass_leaves_the_allowance_of_the_material_but_half_a_cutter_at_most() -> None:
    finish = CutRequest("side", finish=True)
    assert widths_to_try_mm(tooling(material="oak", cutter="flat-1mm-2f"), finish) == pytest.approx([0.3])


def test_a_cut_that_removes_next_to_nothing_has_its_setting() -> None:
    """A hundredth deep and a twentieth wide: 0.4 mm3/min at 800 mm/min."""
    made = tooling(cutter="flat-1mm-2f")
    point, fits = find(made, CutRequest("side", axial_depth_mm=0.01, radial_width_mm=0.05))
    assert fits and point.removal(made) == pytest.approx(0.4)


def test_a_feed_rounded_up_gives_a_step_of_depth_back() -> None:
    """On the small mill in foam the feed cannot be rounded down; 2 thousandths of an inch less deep holds."""
    made = tooling("bench-mill-small", "pu-foam-650", "vee-90-1-2in")
    point, fits = find(made, CutRequest("side"), "in")
    assert fits and point.use <= 1.0 and point.depth_mm == pytest.approx(0.25 * 25.4)


@pytest.mark.parametrize(("units", "feed_in_or_mm", "depth_mm"), [("mm", 34.0, 3.3), ("in", 1.35, 3.302)])
def test_a_feed_that_had_to_rise_gives_its_step_of_depth_back(
    units: str, feed_in_or_mm: float, depth_mm: float
) -> None:
    """A V-bit in G10: 3.35 mm hold at a feed between two that are set; at the next one up 3.3 mm do."""
    made = tooling("screw-desktop-300w", "g10-fr4", "vee-60-1-2in", drop_mm=88.03)
    answer = advise(made, CutRequest("slot", segment_mm=100.0), units=units, buys=False)  # type: ignore[arg-type]
    s, scale = answer.settings, 25.4 if units == "in" else 1.0
    assert answer.fits and s.feed_mm_min == pytest.approx(scale * feed_in_or_mm)
    assert s.axial_depth_mm == pytest.approx(depth_mm)


@pytest.mark.parametrize(("flutes_mm", "depth_in"), [(0.762, 0.030), (0.8127, 0.030), (0.5079, 0.0195)])
def test_flutes_just_short_of_a_step_are_not_passed_by_it(flutes_mm: float, depth_in: float) -> None:
    """0.032 in is 0.8128 mm, 0.020 in is 0.508 mm: a step back where the flutes end a ten-thousandth before."""
    cutter = load_cutter("flat-6mm-1f").model_copy(update={"flute_length_mm": flutes_mm})
    made = make_tooling(load_machine("gantry-800w"), load_material("al-6082-t6"), cutter)
    point, fits = find(made, CutRequest("slot"), "in")
    assert fits and point.depth_mm == pytest.approx(depth_in * 25.4)


@pytest.mark.parametrize(("floor", "feed"), [(174.9, 175.0), (175.0, 175.0), (175.1, 180.0), (178.6, 180.0)])
def test_a_feed_just_at_its_floor_is_kept(floor: float, feed: float) -> None:
    """178.6 mm/min is set as 175; a floor above that wants 180, the next that a person sets."""
    assert feed_no_slower_mm_min(178.6, floor, "mm") == pytest.approx(feed)


@pytest.mark.parametrize(("drop_mm", "depth_mm"), [(75.15, 0.5), (76.65, 0.5), (77.4, 0.5), (80.0, 0.47)])
def test_depth_left_over_by_a_width_and_feed_rounded_down_is_used(drop_mm: float, depth_mm: float) -> None:
    """A facing pass of a V-bit, 4.2 mm wide at 600 mm/min: a drop 2 % longer bends 98 % of what it may at 0.5 mm."""
    made = tooling("belt-small-trim-router", "al-6061-t6", "vee-60-6mm", drop_mm=drop_mm)
    s = advise(made, CutRequest("face", segment_mm=100.0), buys=False).settings
    assert (s.axial_depth_mm, s.radial_width_mm, s.feed_mm_min) == (depth_mm, 4.2, 600.0)


@pytest.mark.parametrize(("drop_mm", "depth_mm"), [(91.63, 0.35), (93.46, 0.34), (97.1, 0.32)])
def test_a_shallow_cut_under_a_point_is_not_rounded_by_a_fifth(drop_mm: float, depth_mm: float) -> None:
    """A V-bit of 90 degrees takes off the square of its depth: 0.3 instead of 0.34 mm would be a fifth less."""
    made = tooling("screw-desktop-300w", "al-cast-plate", "vee-90-1-2in", drop_mm=drop_mm)
    asked = CutRequest("side", segment_mm=100.0, radial_width_mm=3.175)
    answer = advise(made, asked, buys=False)
    assert (answer.settings.axial_depth_mm, answer.settings.feed_mm_min) == (depth_mm, 360.0)
    assert answer.removal_cm3_min == pytest.approx(depth_mm**2 * 360.0 / 1000.0, rel=1e-3)
