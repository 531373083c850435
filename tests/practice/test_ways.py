"""What advice picks: wide or narrow, a skim for facing, evenly up to the slot, marks of a dial by what they remove."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest

from millcalc.advise.advice import advise
from millcalc.advise.solve import Point, feed_no_slower_mm_min, find
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.tables import list_names, load_cutter, load_machine, load_material

ROUNDING = 0.06  # what rounding to settable steps of depth, width and feed may take away [-]


def tooling(machine: str, material: str, cutter: str = "flat-6mm-1f") -> Tooling:
    return make_tooling(load_machine(machine), load_material(material), load_cutter(cutter))


def side(made: Tooling, width: float | None = None) -> tuple[Point, float]:
    point, fits = find(made, CutRequest("side", radial_width_mm=width))
    return point, point.removal(made) if fits else 0.0


@pytest.mark.parametrize(
    ("machine", "material", "cutter", "narrow"),
    [
        ("gantry-2200w", "al-6061-t6", "flat-6mm-2f", True),
        ("gantry-800w", "al-6061-t6", "flat-2mm-1f", True),
        ("bench-mill-small", "al-7075-t6", "flat-8mm-3f", True),
        ("gantry-800w", "al-6061-t6", "flat-6mm-1f", False),
        ("gantry-1500w", "mdf", "flat-6mm-2f", False),
    ],
)
def test_no_single_width_beats_the_one_that_is_picked(
    machine: str, material: str, cutter: str, narrow: bool
) -> None:
    """Depth and width are searched together: deep and narrow where it removes more, shallow and wide elsewhere."""
    made = tooling(machine, material, cutter)
    diameter = made.cutter.diameter_mm
    point, best = side(made)
    for share in (0.05, 0.1, 0.15, 0.3, 0.4):
        assert side(made, round(share * diameter, 3))[1] <= best * (1 + ROUNDING), share
    assert (point.width_mm <= 0.15 * diameter) is narrow
    assert not narrow or point.depth_mm >= diameter


def test_the_other_way_is_shown_beside_it() -> None:
    wide = advise(tooling("gantry-800w", "al-6061-t6"), CutRequest("side"))
    (told,) = [one for one in wide.notes + wide.reasons if one.startswith("the other way")]
    assert "narrow and deep" in told and re.search(r"removes 0\.\d+ times as much", told)


@pytest.mark.parametrize("material", ["al-6061-t6", "mdf"])
def test_a_side_cut_at_nearly_full_width_is_a_slot(material: str) -> None:
    """Settings run continuously into the slot's as the width grows to the diameter."""
    made = tooling("gantry-800w", material)
    slot = find(made, CutRequest("slot"))[0]
    depths, feeds = [], []
    for width in (3.0, 4.0, 5.0, 5.5, 5.9, 6.0):
        point, _ = side(made, width)
        depths.append(point.depth_mm)
        feeds.append(point.feed_per_tooth_mm * point.speed_rpm)
    assert depths[-1] == pytest.approx(slot.depth_mm, rel=ROUNDING)
    assert feeds[-1] == pytest.approx(slot.feed_per_tooth_mm * slot.speed_rpm, rel=ROUNDING)
    for a, b in pairwise(depths):
        assert b <= a * (1 + ROUNDING) and b >= 0.7 * a, depths


@pytest.mark.parametrize("machine", list_names("machines"))
@pytest.mark.parametrize("material", ["al-6082-t6", "steel-mild", "acrylic-cast", "mdf", "hardwood-dense"])
def test_facing_is_a_skim(machine: str, material: str) -> None:
    """0.2 to 2 mm by material and machine, less where a weak machine cannot; no side cut's depth."""
    made = tooling(machine, material, "flat-6mm-2f")
    point, _ = find(made, CutRequest("face"))
    metal = made.material.is_metal
    assert (0.05 if metal else 0.4) <= point.depth_mm <= (0.5 if metal else 2.0)


@pytest.mark.parametrize("off", [0.995, 1.0, 1.005])
@pytest.mark.parametrize("material", ["al-6061-t6", "acrylic-cast"])
def test_a_mark_of_the_dial_that_is_half_a_per_cent_off_costs_nothing_much(material: str, off: float) -> None:
    """The mark is chosen by what it removes: one just above the wanted speed is taken, not the next one below."""
    machine, cutter, work = (
        load_machine("belt-small-trim-router"),
        load_cutter("flat-6mm-1f"),
        load_material(material),
    )
    band = work.cutting_speed_m_min.carbide_uncoated
    assert band is not None and band.start is not None
    wanted = band.start * 1000.0 / (3.14159 * 6.0)

    def removed(rpm: float) -> float:
        spindle = machine.spindle
        marks = tuple(
            mark.model_copy(update={"rpm": speed})
            for mark, speed in zip(spindle.dial, (wanted / 1.8, rpm), strict=False)
        )
        made = make_tooling(
            machine.model_copy(update={"spindle": spindle.model_copy(update={"dial": marks})}), work, cutter
        )
        point, fits = find(made, CutRequest("slot"))
        assert fits and point.speed_rpm == pytest.approx(rpm)
        return point.removal(made)

    assert removed(off * wanted) == pytest.approx(removed(wanted), rel=ROUNDING)


@pytest.mark.parametrize(
    ("feed", "floor", "units", "rounded"),
    [
        (178.6, 170.1, "mm", 178.0),
        (178.6, 100.0, "mm", 170.0),
        (178.6, 178.3, "mm", 179.0),
        (178.6, 177.0, "in", 177.8),
    ],
)
def test_a_feed_is_rounded_between_rubbing_and_the_greatest_chip(feed, floor, units, rounded) -> None:
    """Down in the usual step, else in the finest one, and up only where nothing else holds the floor."""
    assert feed_no_slower_mm_min(feed, floor, units) == pytest.approx(rounded)


def test_a_small_cutter_in_oak_on_a_slow_mill_has_a_setting() -> None:
    """178 mm/min lies between the smallest and the greatest chip; rounded up to 179 it would pass the greatest."""
    answer = advise(
        tooling("bench-mill-small", "hardwood-dense", "flat-1mm-2f"), CutRequest("side"), buys=False
    )
    assert answer.fits and answer.settings.feed_mm_min == 178.0
