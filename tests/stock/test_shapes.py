"""Profiles of the cutters. Kind of number: exact."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from millcalc.stock.cutter_shapes import ball, flat, shape_from_cutter, tapered_ball, vee
from millcalc.stock.shape_kernels import radius_at_mm
from millcalc.stock.shapes import CutterShape
from tests.helpers.inner import from_python

radius_at = from_python(radius_at_mm)
ALL = [
    flat(6.0),
    flat(6.0, 1.0),
    ball(6.0),
    vee(6.0, 60.0),
    vee(6.0, 90.0, 0.5),
    tapered_ball(6.0, 0.8, 15.0),
]


def test_heights_on_paper() -> None:
    assert flat(6.0).height_mm(3.0) == 0
    assert ball(6.0).height_mm(1.5) == pytest.approx(3 - math.sqrt(9 - 2.25))
    assert flat(6.0, 1.0).height_mm(2.5) == pytest.approx(1 - math.sqrt(1 - 0.25))
    assert vee(6.0, 90.0).height_mm(2.0) == pytest.approx(2.0)
    assert vee(6.0, 90.0, 1.0).height_mm(2.0) == pytest.approx(1.5)
    assert vee(6.0, 90.0, 1.0).height_mm(0.4) == 0
    tapered = tapered_ball(6.0, 1.0, 60.0)
    join = math.cos(math.radians(30))
    assert tapered.height_mm(join) == pytest.approx(0.5)
    assert tapered.height_mm(join + 0.3) == pytest.approx(0.5 + 0.3 / math.tan(math.radians(30)))


@pytest.mark.parametrize("shape", ALL)
def test_profile_is_convex_and_rising(shape: CutterShape) -> None:
    """The closed forms of the swept envelope rest on this."""
    radius = np.linspace(0, shape.radius_mm, 400)
    height = np.array([shape.height_mm(float(r)) for r in radius])
    assert (np.diff(height) >= -1e-12).all()
    assert (np.diff(height, 2) >= -1e-9).all()


@pytest.mark.parametrize("shape", ALL)
def test_radius_at_undoes_height(shape: CutterShape) -> None:
    for radius in np.linspace(shape.flat_mm, shape.radius_mm, 17)[1:-1]:
        assert radius_at(shape.row(), shape.height_mm(float(radius))) == pytest.approx(radius, abs=1e-9)
    assert radius_at(shape.row(), 100.0) == pytest.approx(shape.radius_mm)


def row(kind: str, **values: float | None) -> SimpleNamespace:
    given = {
        "name": "test", "kind": kind, "diameter_mm": 6.0, "corner_radius_mm": 0.0, "tip_diameter_mm": 0.0,
        "included_angle_deg": None, "flute_length_mm": 20.0, "shank_mm": 6.0,
    }  # fmt: skip
    return SimpleNamespace(**{**given, **values})


def test_every_kind_of_table_cutter() -> None:
    assert shape_from_cutter(row("flat")).flat_mm == 3.0
    assert shape_from_cutter(row("facing", corner_radius_mm=0.5)).corner_mm == 0.5
    assert shape_from_cutter(row("bull-nose", corner_radius_mm=1.0)).flat_mm == 2.0
    assert shape_from_cutter(row("bull-nose", corner_radius_mm=4.0)).corner_mm == 3.0
    assert (
        shape_from_cutter(row("tapered ball", included_angle_deg=10.0, tip_diameter_mm=1.0)).corner_mm == 0.5
    )
    assert shape_from_cutter(row("ball")).corner_mm == 3.0
    assert shape_from_cutter(row("vee", included_angle_deg=60.0)).cone == pytest.approx(math.sqrt(3))
    engraving = shape_from_cutter(row("engraving", included_angle_deg=30.0, tip_diameter_mm=0.2))
    assert engraving.flat_mm == 0.1 and engraving.cone == pytest.approx(1 / math.tan(math.radians(15)))
    assert shape_from_cutter(row("spot drill", included_angle_deg=90.0)).cone == pytest.approx(1)
    assert shape_from_cutter(row("twist drill")).cone == pytest.approx(1 / math.tan(math.radians(59)))
    tapered = shape_from_cutter(row("tapered ball", included_angle_deg=10.0, corner_radius_mm=0.5))
    assert tapered.corner_mm == 0.5 and tapered.join_mm < 0.5
    # a ball that fills the diameter leaves no room for a cone
    assert (
        shape_from_cutter(row("tapered ball", included_angle_deg=1.0, corner_radius_mm=3.1)).corner_mm == 3.0
    )
    fitted = shape_from_cutter(row("flat"), stickout_mm=25.0, nut_diameter_mm=19.0)
    assert (fitted.stickout_mm, fitted.nut_radius_mm, fitted.flute_length_mm) == (25.0, 9.5, 20.0)


def test_what_cannot_be_a_cutter() -> None:
    with pytest.raises(ValueError, match="needs included_angle_deg"):
        shape_from_cutter(row("vee"))
    with pytest.raises(ValueError, match="above 0, below 180"):
        vee(6.0, 180.0)
    with pytest.raises(ValueError, match="above 0, below 180"):
        tapered_ball(6.0, 0.5, 0.0)
    with pytest.raises(ValueError, match="cutter shape"):
        CutterShape(0.0, 0.0)
    with pytest.raises(ValueError, match="corner"):
        CutterShape(3.0, 1.0, corner_mm=0.5, join_mm=2.9)
    with pytest.raises(ValueError, match="cone begins"):
        CutterShape(3.0, 1.0, join_mm=2.0, cone=1.0)


def test_pointed_cutters_get_finer_cells() -> None:
    assert vee(6.0, 60.0).detail_mm == pytest.approx(2.1)
    assert tapered_ball(6.0, 0.5, 10.0).detail_mm == pytest.approx(2.1)
    assert ball(6.0).detail_mm == 6.0
    # what is flat or rounded at the tip, where that is more than 0.35 of the diameter
    assert CutterShape(3.0, 1.5, join_mm=1.5, cone=1.0).detail_mm == pytest.approx(3.0)
    assert CutterShape(3.0, 1.0, corner_mm=0.5, join_mm=1.4, cone=2.0).detail_mm == pytest.approx(2.8)
