"""Limits for a fitted cutter, as the preflight asks for them."""

from __future__ import annotations

import numpy as np
import pytest

from millcalc.advise.advice import advise
from millcalc.advise.judge import depth_uses, limits_for
from millcalc.advise.loads import frame_attenuation, unit_loads
from millcalc.advise.tooling import CutRequest, make_tooling
from millcalc.mechanics.linear_edge import EdgeCoefficients, mean_forces_n
from millcalc.tables import list_names, load_cutter, load_machine, load_material

SET_6082 = EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8)


@pytest.mark.parametrize("machine", list_names("machines"))
def test_advised_depth_lies_below_the_judged_limit(machine: str) -> None:
    tooling = make_tooling(load_machine(machine), load_material("al-6082-t6"), load_cutter("flat-6mm-1f"))
    settings = advise(tooling, CutRequest("slot"), buys=False).settings
    limits = limits_for(tooling, settings.speed_rpm, settings.feed_mm_min)
    assert settings.axial_depth_mm <= limits.depth_max_mm
    assert limits.min_chip_mm <= settings.feed_per_tooth_mm <= limits.chip_high_mm
    assert settings.plunge_feed_mm_min <= limits.plunge_feed_max_mm_min
    assert settings.ramp_angle_deg <= limits.ramp_angle_max_deg
    assert limits.governing


def test_uses_are_arrays_and_linear_in_depth() -> None:
    tooling = make_tooling(
        load_machine("gantry-800w"), load_material("al-6082-t6"), load_cutter("flat-6mm-1f")
    )
    depth = np.array([0.2, 0.4, 0.8])
    uses = depth_uses(tooling, CutRequest("slot", proven=True), 15000.0, 0.03, depth, 6.0)
    for values in uses.values():
        assert values.shape == (3,)
        assert values == pytest.approx(values[0] * depth / depth[0], rel=1e-9)


@pytest.mark.parametrize("degrees", [30.0, 60.0, 90.0, 150.0, 180.0])
@pytest.mark.parametrize("flutes", [1, 2, 3])
def test_unit_loads_mean_equals_the_closed_form(degrees: float, flutes: int) -> None:
    """Exact: the closed form of the mean forces (Budak, Altintas & Armarego 1996) without run-out."""
    angle = np.radians(degrees)
    unit = unit_loads(SET_6082, flutes, 0.03, angle, 0.0)
    fx, fy, _ = mean_forces_n(SET_6082, flutes, 1.0, 0.03, np.pi - angle, np.pi)
    assert float(unit.mean_n_mm) == pytest.approx(float(np.hypot(fx, fy)), rel=2e-3)
    assert float(unit.peak_n_mm) >= float(unit.mean_n_mm)


def test_runout_loads_one_tooth_more() -> None:
    even = unit_loads(SET_6082, 2, 0.03, np.pi, 0.0)
    uneven = unit_loads(SET_6082, 2, 0.03, np.pi, 0.02)
    alone = unit_loads(SET_6082, 1, 0.03, np.pi, 0.02)
    assert float(uneven.peak_n_mm) > float(even.peak_n_mm)
    assert float(alone.peak_n_mm) == pytest.approx(float(unit_loads(SET_6082, 1, 0.03, np.pi, 0.0).peak_n_mm))


def test_frame_attenuation_of_the_reference() -> None:
    """300 Hz on a 50 Hz mode leaves 0.029 of the alternating force (closed form 1 / (36 - 1))."""
    assert float(frame_attenuation(300.0, 50.0)) == pytest.approx(0.0286, abs=5e-4)
    assert float(frame_attenuation(50.0, 50.0)) == 1.0
