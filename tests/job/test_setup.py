"""A job placed in part coordinates. Expected numbers: exact, by adding and subtracting."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from millcalc.errors import InputError, ManyErrors
from millcalc.job import build_setup, load_job, parse_job
from millcalc.job.setup import Box
from millcalc.job.tuning import MARGIN_GUESSED_MM, MARGIN_MEASURED_MM
from millcalc.tables.models import DrawerCutter, Shop

STOCK = "stock: {size_x: 160, size_y: 110, thickness: 6}\n"


@pytest.mark.parametrize(
    ("zero", "plan"),
    [
        ("front-left", (0, 160, 0, 110)),
        ("front-right", (-160, 0, 0, 110)),
        ("back-left", (0, 160, -110, 0)),
        ("back-right", (-160, 0, -110, 0)),
        ("centre", (-80, 80, -55, 55)),
    ],
)
def test_the_stock_lies_where_zero_says(zero: str, plan: tuple[float, ...]) -> None:
    setup = build_setup(parse_job(STOCK + f"zero: {{xy: {zero}, z: stock top}}"))
    assert setup.stock == Box(*plan, z_min=-6.0, z_max=0.0)


def test_offsets_move_the_stock_the_other_way() -> None:
    text = STOCK + "zero: {xy: front-left, z: bed top, offset_x: 5, offset_y: -3, offset_z: 1}"
    setup = build_setup(parse_job(text))
    assert setup.stock == Box(-5.0, 155.0, 3.0, 113.0, z_min=-1.0, z_max=5.0)
    assert (setup.stock_top_mm, setup.stock_bottom_mm) == (5.0, -1.0)


@pytest.mark.parametrize(
    ("text", "top", "bottom"),
    [
        ("zero: {z: stock top}", 0.0, None),
        ("zero: {z: bed top}", None, 0.0),
        ("stock: {thickness: 6}\nzero: {xy: centre}", None, None),
        ("stock: {thickness: 6}\nzero: {z: bed top}", 6.0, 0.0),
    ],
)
def test_heights_are_known_as_far_as_they_can_be(text: str, top: float | None, bottom: float | None) -> None:
    setup = build_setup(parse_job(text))
    assert (setup.stock_top_mm, setup.stock_bottom_mm) == (top, bottom)
    assert setup.stock is None


def test_an_empty_job_knows_nothing() -> None:
    setup = build_setup(parse_job("title: nothing"))
    assert setup.machine is setup.material is setup.stock is setup.screws is setup.clamps is None
    assert setup.cutters == {}
    assert setup.incomplete == ()


def test_a_standard_screw_becomes_head_and_shank() -> None:
    text = STOCK + "zero: {xy: front-left, z: stock top}\n"
    text += "screws: [{x: 8, y: 9, size: M4 pan, depth_in_bed: 10, placed: measured}]"
    (screw,) = build_setup(parse_job(text)).screws or ()
    assert (screw.x_mm, screw.y_mm) == (8.0, 9.0)
    assert (screw.head_radius_mm, screw.shank_radius_mm) == (4.0, 2.0)
    assert (screw.z_top_mm, screw.z_head_bottom_mm, screw.z_bottom_mm) == (3.1, 0.0, -16.0)
    assert screw.margin_mm == MARGIN_MEASURED_MM
    assert screw.name == "screw 1"


def test_a_sunk_head_ends_at_the_stock_top_and_tapers_below_it() -> None:
    text = STOCK + "zero: {xy: front-left, z: stock top}\n"
    text += "screws: [{x: 8, y: 9, size: wood 4.0, head_height: 0}]"
    (screw,) = build_setup(parse_job(text)).screws or ()
    assert screw.z_top_mm == 0.0
    assert screw.z_head_bottom_mm == -(4.0 - 2.0)  # a cone of 90 degrees from head to shank
    assert screw.z_bottom_mm == -math.inf  # its length is unknown
    assert screw.margin_mm == MARGIN_GUESSED_MM > MARGIN_MEASURED_MM


def test_own_numbers_replace_the_standard_ones() -> None:
    text = "zero: {z: stock top}\nscrews: [{x: 0, y: 0, size: M4 pan, head_diameter: 12, head_height: 4}]"
    (screw,) = build_setup(parse_job(text)).screws or ()
    assert (screw.head_radius_mm, screw.z_top_mm, screw.shank_radius_mm) == (6.0, 4.0, 2.0)


def test_what_is_unknown_of_a_screw_or_clamp_is_listed() -> None:
    text = "screws: [{x: 0, y: 0}, {x: 9, y: 9, head_diameter: 8, shank_diameter: 4}]\n"
    text += "clamps: [{x_min: 0, x_max: 1, y_min: 0, y_max: 1}]\ncutters: {3: flat-6mm-1f}"
    setup = build_setup(parse_job(text))
    assert setup.incomplete == (
        "screws[1].head_diameter_mm",
        "screws[1].shank_diameter_mm",
        "screws[1].head_height_mm",
        "screws[2].head_height_mm",
        "clamps[1].height_mm",
        "cutters.3.stickout_mm",
    )
    assert setup.screws is not None
    assert math.isnan(setup.screws[1].z_top_mm)  # without zero no height is known; the place still is
    assert setup.screws[1].head_radius_mm == 4.0


def test_clamps_become_boxes() -> None:
    text = STOCK + "zero: {xy: centre, z: bed top}\n"
    text += "clamps: [{x_min: -90, x_max: -70, y_min: -10, y_max: 10, height: 20}]"
    ((clamp, box),) = build_setup(parse_job(text)).clamps or ()
    assert clamp.height_mm == 20.0
    assert box == Box(-90.0, -70.0, -10.0, 10.0, z_min=-math.inf, z_max=26.0)


def test_measured_cutter_values_replace_the_table_row() -> None:
    text = (
        "cutters: {1: {cutter: ball-6mm-2f, stickout: 25, diameter: 5.9, flutes: 1, centre_cutting: false}}"
    )
    fitted = build_setup(parse_job(text)).cutters[1]
    assert fitted.cutter.diameter_mm == 5.9
    assert fitted.cutter.corner_radius_mm == pytest.approx(2.95)  # still a ball
    assert fitted.cutter.flutes == 1
    assert not fitted.cutter.centre_cutting
    assert fitted.stickout_mm == 25.0


def test_the_shop_supplies_machine_and_measured_cutter() -> None:
    owned = DrawerCutter(cutter="flat-6mm-1f", diameter_mm=5.97)
    shop = Shop(machine="gantry-1500w", cutters=(owned, "flat-3mm-1f"))
    setup = build_setup(parse_job("cutters: {1: flat-6mm-1f}"), shop=shop)
    assert setup.machine is not None and setup.machine.name == "gantry-1500w"
    assert setup.cutters[1].cutter.diameter_mm == 5.97
    own = build_setup(parse_job("cutters: {1: {cutter: flat-6mm-1f, diameter: 5.95}}"), shop=shop)
    assert own.cutters[1].cutter.diameter_mm == 5.95


def test_unknown_names_are_told_with_their_lines_and_the_closest_names(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text(
        "title: a\nmachine: gantry-80w\nmaterial: al-6082\ncutters:\n  T1:\n    cutter: flat-6mm-1x\n",
        encoding="utf-8",
    )
    with pytest.raises(ManyErrors) as caught:
        build_setup(load_job(path), path)
    lines = {(error.field or "").split(".")[0]: error.line for error in caught.value.errors}
    assert lines.items() >= {("machine", 2), ("cutters", 6)}
    assert "gantry-800w" in str(caught.value)
    assert "flat-6mm-1f" in str(caught.value)


@pytest.mark.parametrize(
    "entry", ["{cutter: flat-6mm-1f, stickout: 50}", "{cutter: flat-6mm-1f, flute_length: 51}"]
)
def test_a_cutter_that_cannot_be_is_refused(entry: str) -> None:
    with pytest.raises(InputError, match="50 mm"):
        build_setup(parse_job(f"cutters: {{1: {entry}}}"))
