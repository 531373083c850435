"""Single numbers of the limits at their edges, each worked out by hand."""

from __future__ import annotations

import math

import pytest

from millcalc.advise.grid import depths_to_try_mm
from millcalc.advise.solve import feed_no_slower_mm_min
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.entries import ramp_angle_deg
from millcalc.limits.hole import HoleState
from millcalc.limits.request import CutRequest
from millcalc.limits.spread import RANGE_SIGMAS, _from_range
from millcalc.limits.tooling import core_diameter_mm
from millcalc.tables import load_cutter, load_machine, load_material
from tests.advise.test_advice import tooling


@pytest.mark.parametrize(("cutter", "start", "angle"), [
    ("flat-6mm-1f", None, 3.5), ("flat-6mm-1f", 3.0, 3.0), ("flat-3mm-1f", None, 3.5), ("flat-2mm-1f", 3.0, 2.0),
])  # fmt: skip
def test_ramp_angle(cutter: str, start: float | None, angle: float) -> None:
    """From 2 to 5 degrees: the start, else the middle, and the low end for cutters below 3 mm."""
    material = load_material("al-6082-t6")
    band = material.ramp_angle_deg.model_copy(update={"low": 2.0, "high": 5.0, "start": start})
    made = make_tooling(
        load_machine("gantry-800w"), material.model_copy(update={"ramp_angle_deg": band}), load_cutter(cutter)
    )
    assert ramp_angle_deg(made) == pytest.approx(angle)


@pytest.mark.parametrize(("cutter", "depth_mm", "diameter_mm"), [
    ("ball-6mm-2f", 1.0, 2 * math.sqrt(9 - 4)),
    ("ball-6mm-2f", 9.0, 6.0),
    ("tapered-ball-r0.5", 0.25, 2 * math.sqrt(0.25 - 0.0625)),
    ("tapered-ball-r0.5", 4.5, 1.0 + 2 * 4.0 * math.tan(math.radians(3.0))),
    ("vee-90-6mm", 1.0, 0.2 + 2.0),
    ("flat-6mm-1f", 0.1, 6.0),
])  # fmt: skip
def test_diameter_at_a_depth(cutter: str, depth_mm: float, diameter_mm: float) -> None:
    assert float(tooling(cutter=cutter).effective_diameter_mm(depth_mm)) == pytest.approx(
        diameter_mm, rel=2e-3
    )


@pytest.mark.parametrize(("cutter", "diameter_mm"), [
    ("engraving-20-0.1mm", 0.3175), ("engraving-30-0.2mm", 0.3175), ("tapered-ball-r0.5", 1.0), ("vee-90-6mm", 3.0),
    ("flat-6mm-1f", 6.0),
])  # fmt: skip
def test_diameter_that_the_chip_scales_with(cutter: str, diameter_mm: float) -> None:
    assert tooling(cutter=cutter).chip_diameter_mm == pytest.approx(diameter_mm)


@pytest.mark.parametrize(("cutter", "material", "depth_mm"), [
    ("drill-2mm-hss", "al-6082-t6", 2.0), ("drill-3mm-hss", "al-6082-t6", 3.0), ("drill-4mm-hss", "al-6082-t6", 6.0),
    ("drill-4mm-hss", "oak", 10.0),
])  # fmt: skip
def test_depth_before_a_drill_retracts_first(cutter: str, material: str, depth_mm: float) -> None:
    """One diameter in metal up to 3 mm, one and a half above, two and a half in the rest: common practice."""
    made = tooling(material=material, cutter=cutter)
    state = HoleState(made, CutRequest("drill"), 3000.0, 0.03, 1.0, made.cutter.diameter_mm)
    assert state.chip_room[0] == pytest.approx(depth_mm)


def test_a_cutter_too_slow_for_the_spindle_is_refused() -> None:
    cutter = load_cutter("flat-6mm-1f")
    machine = load_machine("gantry-800w")
    for rpm, refused in ((machine.spindle.min_rpm - 1.0, True), (machine.spindle.min_rpm, False)):
        slow = cutter.model_copy(update={"max_rpm": cutter.max_rpm.model_copy(update={"value": rpm})})
        if refused:
            with pytest.raises(InputError, match="do not fit this cutter in this spindle"):
                make_tooling(machine, load_material("al-6082-t6"), slow)
        else:
            assert make_tooling(machine, load_material("al-6082-t6"), slow).highest_rpm == rpm


def test_steel_and_carbide_have_their_own_speeds() -> None:
    speeds = load_material("al-6082-t6").cutting_speed_m_min
    assert tooling(cutter="flat-6mm-2f-hss").speed_band_m_min == speeds.hss
    assert tooling(cutter="flat-6mm-1f").speed_band_m_min == speeds.carbide_uncoated != speeds.hss


@pytest.mark.parametrize(("made_of", "own", "high"), [
    ("carbide coated", None, 550.0), ("carbide coated", 700.0, 700.0), ("carbide uncoated", 700.0, 550.0),
    ("hss", 700.0, 120.0),
])  # fmt: skip
def test_a_coated_cutter_takes_its_own_band_where_the_table_has_one(made_of, own, high) -> None:
    speeds = load_material("al-6082-t6").cutting_speed_m_min
    bands = {"carbide_uncoated": 550.0, "carbide_coated": own, "hss": 120.0}
    given = {
        name: top and speeds.carbide_uncoated.model_copy(update={"high": top}) for name, top in bands.items()
    }
    band = speeds.model_copy(update=given).band_for(made_of)
    assert band is not None and band.high == high


@pytest.mark.parametrize(("depth_mm", "refused"), [(0.00005, True), (0.0001, False), (None, False)])
def test_a_depth_thinner_than_anything_that_is_cut_is_refused(depth_mm: float | None, refused: bool) -> None:
    if refused:
        with pytest.raises(InputError, match=r"5e-05 mm.*0\.0001 mm or more"):
            CutRequest("slot", axial_depth_mm=depth_mm)
    else:
        assert CutRequest("slot", axial_depth_mm=depth_mm).axial_depth_mm == depth_mm


@pytest.mark.parametrize(("stickout_mm", "deepest_mm"), [(7.0, 5.0), (15.0, 6.0)])
def test_depths_are_tried_down_to_two_millimetres_below_the_collet(stickout_mm, deepest_mm) -> None:
    """Flutes of 12 mm; a side cut in aluminium ends at two diameters, 6 mm."""
    made = tooling(cutter="flat-3mm-1f").with_changes(stickout_mm=stickout_mm)
    assert depths_to_try_mm(made, CutRequest("side"))[-1] == pytest.approx(deepest_mm)


@pytest.mark.parametrize(
    ("feed", "floor", "told"), [(104, 104, 105), (104, 100, 100), (104, 101, 105), (96, 104, 96)]
)
def test_a_feed_is_rounded_down_unless_it_passes_a_floor_that_it_keeps(feed, floor, told) -> None:
    """In steps of 2 mm/min below 100, of 5 above."""
    assert feed_no_slower_mm_min(float(feed), float(floor), "mm") == told


@pytest.mark.parametrize(
    ("low", "high", "spread"), [(1.0, 2.0, math.log(2.0)), (0.0, 2.0, 0.0), (2.0, 2.0, 0.0)]
)
def test_the_spread_of_a_published_range(low: float, high: float, spread: float) -> None:
    assert _from_range(low, high) == pytest.approx(spread / (2 * RANGE_SIGMAS))


def test_a_frame_of_one_newton_a_micrometre_swings_at_fifty_hertz() -> None:
    """Moving mass 10 kg, 10^6 N/m, no mode measured: sqrt(10^5) / (2 pi) = 50.33 Hz."""
    machine = load_machine("gantry-800w")
    soft = machine.stiffness_n_um.model_copy(update={"x": 1.0, "y": 1.0})
    bare = machine.model_copy(update={"stiffness_n_um": soft, "modes": ()})
    made = tooling().with_changes(machine=bare, drop_mm=machine.drop_mm)
    assert made.frame_mode_hz == pytest.approx(50.33, rel=1e-3)


def test_a_tapered_cutter_bends_as_the_mean_of_its_ball_and_its_shank() -> None:
    """A ball of 1 mm and a full diameter of 6 mm: 3.5 mm."""
    cutter = load_cutter("tapered-ball-r0.5").model_copy(update={"diameter_mm": 6.0})
    assert core_diameter_mm(cutter) == pytest.approx(3.5)
