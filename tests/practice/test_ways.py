"""What advice picks: wide or narrow, a skim for facing, evenly up to the slot, marks of a dial by what they remove,
and by which steps a first cut becomes a proven one."""

from __future__ import annotations

import os
import re
from itertools import pairwise

import pytest

from millcalc.advise.advice import advise
from millcalc.advise.solve import Point, find
from millcalc.advise.ways import next_steps
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.mechanics.kinematics import feed_mm_min
from millcalc.tables import list_names, load_cutter, load_machine, load_material

ALL = bool(os.environ.get("MILLCALC_ALL"))
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


def test_a_small_cutter_in_oak_on_a_slow_mill_has_a_setting() -> None:
    """1 mm at 5000 rev/min: a feed stands between the smallest chip, 0.008 mm in wood, and where the band starts."""
    made = tooling("bench-mill-small", "hardwood-dense", "flat-1mm-2f")
    assert made.smallest_chip_mm == 0.008
    answer = advise(made, CutRequest("side", radial_width_mm=0.4), buys=False)
    assert answer.fits and 0.008 < answer.settings.feed_per_tooth_mm < 1.1 * made.chip_band_mm("side")[1]


@pytest.mark.parametrize(
    ("cutter", "cut", "depth"),
    [("flat-6mm-1f", "slot", 0.9), ("flat-2mm-1f", "slot", 0.3), ("flat-2mm-1f", "side", 3.0),
     ("flat-1mm-2f", "slot", 0.15), ("flat-6mm-1f", "face", 0.5)],
)  # fmt: skip
def test_a_limit_that_lies_on_a_step_is_used_whole(cutter: str, cut: str, depth: float) -> None:
    """0.15 diameters of a 2 mm cutter are 0.3 mm: advice that stops at 0.25 mm gives away a sixth of the removal."""
    point, fits = find(tooling("gantry-800w", "al-6061-t6", cutter), CutRequest(cut))  # type: ignore[arg-type]
    assert fits and point.depth_mm == pytest.approx(depth)


@pytest.mark.parametrize(
    ("material", "first", "proven"),
    [("hardwood-dense", 3.0, 6.0), ("acrylic-cast", 3.0, 6.0), ("mdf", 6.0, 6.0), ("hdpe", 6.0, 6.0)],
)
def test_the_first_slot_is_where_practice_begins(material: str, first: float, proven: float) -> None:
    """Half a diameter in dense wood and hard plastics, a whole one in panels and soft plastics; common practice."""
    made = tooling("gantry-2200w", material)
    assert find(made, CutRequest("slot"))[0].depth_mm == pytest.approx(first)
    assert find(made, CutRequest("slot", proven=True))[0].depth_mm == pytest.approx(proven)


EVERYDAY = (
    ("gantry-800w", "al-6082-t6", "flat-6mm-1f", "slot"),
    ("gantry-1500w", "al-6061-t6", "flat-6mm-2f", "slot"),
    ("screw-gantry-trim-router", "al-6061-t6", "flat-1-8in-1f", "slot"),
    ("gantry-800w", "al-6082-t6", "flat-6mm-1f", "side"),
    ("gantry-2200w", "al-7075-t6", "flat-6mm-2f", "side"),
    ("gantry-800w", "brass-free-machining", "flat-3mm-2f", "slot"),
    ("gantry-800w", "acrylic-cast", "flat-1-8in-1f", "slot"),
    ("gantry-800w", "hardwood-dense", "flat-6mm-2f", "slot"),
    ("gantry-800w", "g10-fr4", "flat-1mm-2f", "slot"),
    ("bench-mill-small", "steel-mild", "flat-6mm-4f", "side"),
)


@pytest.mark.parametrize(("machine", "material", "cutter", "cut"), EVERYDAY[:: 1 if ALL else 4])
def test_every_step_to_the_proven_cut_is_within_what_the_last_one_showed(
    machine: str, material: str, cutter: str, cut: str
) -> None:
    """First and proven cut are 2.3 to 6 times apart in removal; no step asks for more than 1.3 times the last one.

    Depths go up at the first feed, then the feed at the depth where the way ends, then feed and speed together.
    """
    made = tooling(machine, material, cutter)
    request = CutRequest(cut)  # type: ignore[arg-type]
    point, _ = find(made, request)
    told = next_steps(made, request, point, "mm")
    assert told
    feed = float(feed_mm_min(point.feed_per_tooth_mm, made.cutter.flutes, point.speed_rpm))
    rounding = 1.05  # of what a person sets
    for text, unit, start in ((told[0], "mm", point.depth_mm), (told[-1], "mm/min", feed)):
        values = [float(one) for one in re.findall(rf"([\d.]+) {unit}(?!/| deep)", text)]
        if unit == "mm/min" and not values:
            continue  # the way ends with the depth
        assert all(b <= 1.3 * rounding * a for a, b in pairwise([start, *values])), (start, values)
        assert values == sorted(values)
    last = find(
        made, CutRequest(cut, proven=True, radial_width_mm=None if cut == "slot" else point.width_mm)
    )[0]  # type: ignore[arg-type]
    if len(told) > 1:
        assert f"{last.depth_mm:g} mm deep" in told[-1]


def test_the_way_to_the_proven_slot_is_named_step_by_step() -> None:
    """From 0.9 mm at 390 mm/min, each number at most 1.3 times the last one; the chip grows first, then the speed."""
    made, request = tooling("gantry-800w", "al-6061-t6"), CutRequest("slot")
    assert next_steps(made, request, find(made, request)[0], "mm") == (
        "next, at the same feed, each after the one before went well: 1.15 mm, 1.45 mm, 1.9 mm",
        "then, 1.4 mm deep, more feed: 470 mm/min, 560 mm/min, 700 mm/min; then with that chip 840 mm/min at "
        "16100 rpm, 1040 mm/min at 19600 rpm, 1280 mm/min at 24000 rpm",
    )


def test_speeds_to_a_proven_cut_are_named_where_the_dial_has_no_marks() -> None:
    """A job may say that the speed is dialled while the machine's table lists no marks: the steps are free ones."""
    made = make_tooling(
        load_machine("gantry-800w"),
        load_material("al-6061-t6"),
        load_cutter("flat-6mm-1f"),
        speed_set_by="dial",
    )
    assert made.uses_dial and not made.machine.spindle.dial
    request = CutRequest("slot")
    told = next_steps(made, request, find(made, request)[0], "mm")[-1]
    assert told.endswith(
        "; then with that chip 840 mm/min at 16100 rpm, 1040 mm/min at 19600 rpm, 1280 mm/min at 24000 rpm"
    )


def test_a_cutter_too_fast_for_a_material_is_refused_with_the_size_that_would_do() -> None:
    """8 mm at the trim router's slowest 10,000 rev/min is 251 m/min, over FR4's 200: 6.35 mm would hold."""
    answer = advise(
        tooling("screw-gantry-trim-router", "g10-fr4", "flat-8mm-2f"), CutRequest("slot"), buys=False
    )
    assert not answer.fits
    assert any("no slower than 10000 rpm: a cutter of 6.35 mm or less" in note for note in answer.notes)


@pytest.mark.parametrize("material", ["acrylic-cast", "hdpe", "mdf", "hardwood-dense", "al-6061-t6"])
@pytest.mark.parametrize("drill", ["drill-0.8mm-carbide", "drill-1mm-hss"])
def test_a_small_drill_has_a_feed_at_which_its_lips_cut(material: str, drill: str) -> None:
    """In plastic 0.033 mm a turn, where the lower half of the band ends at 0.025 and each lip would only rub."""
    made = tooling("gantry-800w", material, drill)
    answer = advise(made, CutRequest("drill"), buys=False)
    assert answer.fits
    assert answer.settings.feed_per_tooth_mm >= made.smallest_chip_mm
    assert answer.settings.feed_mm_min / answer.settings.speed_rpm <= 0.05 * made.cutter.diameter_mm


def test_a_drill_that_cannot_be_pushed_is_refused_with_a_way_out() -> None:
    """6 mm in aluminium on the desktop machine: Z cannot push a chip of 0.005 mm a lip, below which it rubs."""
    made = tooling("screw-desktop-300w", "al-6061-t6", "drill-6mm-hss")
    answer = advise(made, CutRequest("drill"), buys=False)
    assert not answer.fits
    assert (
        "over its limits (axis push, spindle power, spindle torque). Drill a smaller hole first, or mill the hole: "
        "millcalc settings --cut helix --bore 6 mm with an end mill of 4 mm or so"
    ) in answer.notes[0]


def test_a_drill_feed_is_not_rounded_down_to_where_its_lips_rub() -> None:
    """6 mm in aluminium on the 800 W gantry: F72 holds every limit, where F66 rubs and F73 asks too much power.

    0.012 mm a turn is far below the 0.015 diameters of materials/drilling.yaml, and the note says so.
    """
    made = tooling("gantry-800w", "al-6061-t6", "drill-6mm-hss")
    answer = advise(made, CutRequest("drill"), buys=False)
    assert answer.fits and answer.settings.feed_mm_min == 72.0
    assert (
        "0.012 mm a turn is all that this machine drives, less than the usual 0.09 mm and more"
        in answer.notes[0]
    )
    for feed, holds in ((66.0, False), (67.0, True), (72.0, True), (73.0, False)):
        asked = CutRequest("drill", feed_mm_min=feed)
        assert advise(made, asked, buys=False).fits is holds
    strong = advise(
        tooling("bench-mill-small", "al-6061-t6", "drill-6mm-hss"), CutRequest("drill"), buys=False
    )
    assert not any("a turn is all" in note for note in strong.notes)


@pytest.mark.parametrize(
    ("machine", "material", "drill", "said"),
    [  # wood 120 m/min with carbide, 70 with HSS; steel 90 and 30; plastic 70 and 60 (materials/drilling.yaml)
        (
            "belt-small-trim-router",
            "softwood",
            "drill-3mm-hss",
            "the drill wants 7430 rpm at most. Use a carbide drill of that size (12700 rpm at most), a drill press, or "
            "mill the hole: millcalc settings --cut helix --bore 3 mm with an end mill of 2 mm or so",
        ),
        (
            "gantry-1500w",
            "softwood",
            "drill-6mm-hss",
            "the drill wants 3710 rpm at most. Use a carbide drill of that size (6370 rpm at most), a drill press, or "
            "mill the hole: millcalc settings --cut helix --bore 6 mm with an end mill of 4 mm or so",
        ),
        (
            "gantry-1500w",
            "steel-mild",
            "drill-6mm-hss",
            "the drill wants 1590 rpm at most. Use a drill press, or mill the hole",
        ),
        (
            "belt-small-trim-router",
            "polycarbonate",
            "drill-3mm-carbide",
            "the drill wants 7430 rpm at most. Use a drill press, or mill the hole",
        ),
    ],
)
def test_a_drill_for_slower_spindles_is_refused_with_what_would_do(
    machine: str, material: str, drill: str, said: str
) -> None:
    """Carbide where this spindle turns slowly enough for it, and end mills of sizes that are sold, not 1.95 mm."""
    answer = advise(tooling(machine, material, drill), CutRequest("drill"), buys=False)
    assert not answer.fits and said in answer.notes[0]


def test_a_drill_that_the_spindle_would_overspeed_is_refused_with_another_way_to_the_hole() -> None:
    """6 mm of HSS is allowed 8000 rev/min, and the trim router's slowest is 10,000; an end mill gets no drill press."""
    for cutter, ways in (("drill-6mm-hss", True), ("flat-8mm-4f-hss", False)):
        with pytest.raises(InputError, match="lowest speed, 10000 rev/min") as refused:
            tooling("belt-small-trim-router", "softwood", cutter)
        assert ("use a drill press, or mill the hole on a helix" in refused.value.action) is ways


@pytest.mark.parametrize(
    ("drop_mm", "feed_mm_min", "feed_in_min", "alike"),
    [(104.3, 115.0, 4.4, 0.04), (90.0, 210.0, 8.3, 0.13)],  # 0.45 mm wide is 0.016 in: a tenth less
)
def test_a_side_cut_of_a_v_bit_holds_in_inches_as_in_millimetres(
    drop_mm: float, feed_mm_min: float, feed_in_min: float, alike: float
) -> None:
    """A width rounded down to thousandths thins the chip: the feed follows, by the chip that the limits see."""
    made = tooling("belt-small-trim-router", "carbon-fibre", "vee-30-6mm").with_changes(drop_mm=drop_mm)
    request = CutRequest("side", segment_mm=100)
    metric, inch = (advise(made, request, units=units, buys=False) for units in ("mm", "in"))
    assert metric.fits and inch.fits
    assert metric.settings.feed_mm_min == feed_mm_min
    assert inch.settings.feed_mm_min == pytest.approx(25.4 * feed_in_min)
    assert inch.removal_cm3_min == pytest.approx(metric.removal_cm3_min, rel=alike)
