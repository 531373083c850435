"""Impossible input is refused with a text that names the argument; floats give floats, arrays give arrays."""

from __future__ import annotations

import inspect
import math
from collections.abc import Callable
from importlib import import_module
from typing import Any

import numpy as np
import pytest

from millcalc.mechanics.linear_edge import EdgeCoefficients, check_arc
from millcalc.mechanics.lobes import ChatterCut
from millcalc.mechanics.modes import VibrationMode

MODULES = (
    "kinematics", "engagement", "chip", "kienzle", "linear_edge", "deflection", "stability", "spindle", "motion",
    "entries", "drilling", "holddown", "modes", "forces",
)  # fmt: skip
USUAL = {  # a value that every function accepts for an argument of that name
    "cutting_speed_m_min": 200.0, "diameter_mm": 6.0, "speed_rpm": 18_000.0, "feed_per_tooth_mm": 0.03, "flutes": 2,
    "feed_mm_min": 600.0, "axial_depth_mm": 1.0, "radial_width_mm": 2.0, "depth_mm": 1.0, "tip_diameter_mm": 0.2,
    "included_angle_deg": 60.0, "corner_radius_mm": 1.0, "ball_radius_mm": 0.5, "path_radius_mm": 10.0,
    "cutter_radius_mm": 3.0, "chip_mm": 0.03, "entry_rad": 0.5, "exit_rad": 2.0, "lead_angle_deg": 45.0,
    "edge_radius_um": 5.0, "ratio": 0.3, "runout_mm": 0.01, "kc11_n_mm2": 800.0, "mc": 0.25, "rake_deg": 10.0,
    "reference_rake_deg": 0.0, "specific_force_n_mm2": 1500.0, "power_w": 300.0, "efficiency": 0.8,
    "engagement_rad": 1.0, "unit_power_j_mm3": 0.9, "removal_rate_mm3_min": 3000.0, "divisor": 120_000.0,
    "coefficients": EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8), "flute_length_mm": 12.0, "shank_mm": 6.0,
    "stickout_mm": 25.0, "force_n": 50.0, "stress_n_mm2": 600.0, "stiffness_n_um": 1.0, "stated_drop_mm": 120.0,
    "drop_mm": 100.0, "base": 0.25, "rotary": 0.5, "bending": 0.25, "compliance_um_n": 0.5, "across_force_n": 30.0,
    "rest_compliance_um_n": 1.0, "damping_ratio": 0.03, "teeth_in_cut": 0.5, "rpm_points": [6000.0, 24_000.0],
    "power_points_w": [200.0, 800.0], "length_mm": 10.0, "acceleration_mm_s2": 200.0, "turn_deg": 90.0,
    "speed_step_mm_min": 300.0, "tolerance_mm": 0.05, "along_x": 1.0, "along_y": 1.0, "along_z": 0.5, "limit_x": 3000.0,
    "limit_y": 3000.0, "limit_z": 1000.0, "stepover_mm": 0.5, "scallop_mm": 0.01, "tilt_mm_per_m": 1.0,
    "angle_deg": 3.0, "hole_diameter_mm": 10.0, "pitch_mm": 0.6, "edge_feed_mm_min": 500.0, "boss_diameter_mm": 12.0,
    "share": 0.3, "feed_per_rev_mm": 0.1, "lips": 2, "point_angle_deg": 118.0, "work_factor": 7000.0,
    "lateral_force_n": 60.0, "lift_force_n": 20.0, "friction": 0.3, "safety": 2.5, "specific_gravity": 0.5,
    "thread_length_mm": 20.0, "clamp_force_n": 500.0, "pressure_difference_kpa": 60.0, "area_mm2": 10_000.0,
    "shear_strength_n_mm2": 8.0, "force_per_tab_n": 25.0, "gap_mm": 3.0, "thickness_mm": 3.0, "width_mm": 5.0,
    "span_mm": 150.0, "youngs_n_mm2": 70_000.0, "constant_m_min": 229.0, "exponent": 0.25, "life_min": 30.0,
    "speed_ratio": 0.5, "specific_energy_n_mm2": 1000.0, "heat_capacity_j_mm3_k": 3e-3, "diffusivity_mm2_s": 50.0,
    "climb": True, "tooth_hz": 300.0, "mode_hz": 50.0, "density_kg_m3": 14_500.0, "tangential_n": 20.0,
    "speed_m_min": 200.0, "normal_n": 500.0, "pressure_n_mm2": 0.06, "side_hold_n": 300.0, "lift_hold_n": 200.0,
    "moment_n_mm": 900.0, "turning_hold_n_mm": 5000.0,
}  # fmt: skip
NOT_ELEMENTWISE = {  # have tests of their own
    "edge_from_kienzle", "turn_loads", "turn_of", "nearest_dial", "best_speeds_rpm", "peck_count", "fastener_loads_n",
    "check_arc",
    "series_compliance_um_n", "width_ratio", "is_extrapolated", "unit_power_feed_factor",
}  # fmt: skip
SIGNED = {"rake_deg", "reference_rake_deg", "force_n", "across_force_n", "along_x", "along_y", "along_z"}


def _functions() -> list[tuple[str, Callable[..., Any]]]:
    found = []
    for short in MODULES:
        module = import_module(f"millcalc.mechanics.{short}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ != module.__name__ or name.startswith("_") or name in NOT_ELEMENTWISE:
                continue
            found.append((f"{short}.{name}", function))
    return found


FUNCTIONS = dict(_functions())


def _arguments(function: Callable[..., Any]) -> dict[str, Any]:
    wanted = inspect.signature(function).parameters
    return {n: USUAL[n] for n, p in wanted.items() if p.default is inspect.Parameter.empty}


def _numbers(function: Callable[..., Any]) -> list[str]:
    return [
        n for n, v in _arguments(function).items() if isinstance(v, (int, float)) and not isinstance(v, bool)
    ]


CASES = [(name, argument) for name, function in FUNCTIONS.items() for argument in _numbers(function)]


def _leaves(value: Any) -> list[Any]:
    return list(value) if isinstance(value, tuple) else [value]


def test_all_functions_are_met() -> None:
    """The list above is found by walking the modules; a module that loses its functions would go unseen."""
    assert len(FUNCTIONS) >= 38
    assert len(CASES) > 100


@pytest.mark.parametrize("name", FUNCTIONS)
def test_numbers_in_numbers_out(name: str) -> None:
    """Plain numbers give plain, finite floats."""
    function = FUNCTIONS[name]
    for value in _leaves(function(**_arguments(function))):
        assert type(value) is float
        assert math.isfinite(value)


@pytest.mark.parametrize(("name", "argument"), CASES)
def test_arrays_broadcast(name: str, argument: str) -> None:
    """An array for one argument gives an array of that shape, element for element the single results."""
    function = FUNCTIONS[name]
    arguments = _arguments(function)
    single = _leaves(function(**arguments))
    arguments[argument] = np.full((2, 3), arguments[argument], dtype=float)
    for alone, many in zip(single, _leaves(function(**arguments)), strict=True):
        if np.ndim(many) == 0:  # one of several results that does not depend on this argument
            assert isinstance(function(**arguments), tuple)
            continue
        assert many.shape == (2, 3)
        assert many == pytest.approx(np.full((2, 3), alone))


@pytest.mark.parametrize(("name", "argument"), CASES)
def test_no_number_is_refused(name: str, argument: str) -> None:
    """NaN, infinity and text are refused, and the text names the argument."""
    function = FUNCTIONS[name]
    arguments = _arguments(function)
    for arguments[argument] in (math.nan, math.inf, "six"):
        with pytest.raises(ValueError, match=argument):
            function(**arguments)


@pytest.mark.parametrize(("name", "argument"), [case for case in CASES if case[1] not in SIGNED])
def test_negative_is_refused(name: str, argument: str) -> None:
    """A negative size is refused, and the text names the argument and the number found."""
    function = FUNCTIONS[name]
    arguments = _arguments(function)
    arguments[argument] = -1.0
    with pytest.raises(ValueError, match=argument):
        function(**arguments)


@pytest.mark.parametrize("name", [n for n, f in FUNCTIONS.items() if "flutes" in _numbers(f)])
@pytest.mark.parametrize("bad", [0, 1.5])
def test_flutes_are_whole(name: str, bad: float) -> None:
    """Zero flutes and half a flute are refused."""
    function = FUNCTIONS[name]
    arguments = _arguments(function)
    arguments["flutes"] = bad
    with pytest.raises(ValueError, match="flutes must be a whole number of at least 1"):
        function(**arguments)


@pytest.mark.parametrize(
    "name", [n for n, f in FUNCTIONS.items() if {"radial_width_mm", "diameter_mm"} <= set(_numbers(f))]
)
def test_width_above_diameter(name: str) -> None:
    """ae > D is refused wherever the width is a share of the diameter."""
    function = FUNCTIONS[name]
    if name in ("kienzle.mean_tangential_n",):  # only a product: valid for any width
        return
    arguments = _arguments(function)
    arguments["radial_width_mm"] = 6.5
    with pytest.raises(ValueError, match="radial_width_mm must be at most diameter_mm"):
        function(**arguments)


def test_width_equal_to_diameter_within_rounding() -> None:
    """A slot whose width is the diameter through arithmetic is a slot, not an error."""
    from millcalc.mechanics.engagement import engagement_angle_rad

    assert engagement_angle_rad(0.1 * 3 * 20, 6.0) == pytest.approx(math.pi)


@pytest.mark.parametrize(
    ("values", "text"),
    [
        ((0.0, 1.0, 1.0, 1.0, 1.0, 1.0), "ktc_n_mm2"),
        ((1.0, -1.0, 1.0, 1.0, 1.0, 1.0), "krc_n_mm2"),
        ((1.0, 1.0, math.nan, 1.0, 1.0, 1.0), "kac_n_mm2"),
        ((1.0, 1.0, 1.0, -0.1, 1.0, 1.0), "kte_n_mm"),
    ],
)
def test_coefficients(values: tuple[float, ...], text: str) -> None:
    """Coefficients that no material has are refused."""
    with pytest.raises(ValueError, match=text):
        EdgeCoefficients(*values)


def test_an_arc_of_cut_stays_what_it_is() -> None:
    """Angles inside 0 to pi come back unchanged; rounding beyond either end is cut off."""
    assert [float(angle) for angle in check_arc(0.2, 0.5)] == [0.2, 0.5]
    assert [float(angle) for angle in check_arc(-1e-10, math.pi + 1e-10)] == [0.0, math.pi]


def test_modes_and_cuts() -> None:
    """A mode needs frequency, damping and stiffness; a cut needs an arc and a mode."""
    for bad in ((0.0, 0.02, 1.0), (900.0, 0.0, 1.0), (900.0, 1.5, 1.0), (900.0, 0.02, -1.0)):
        with pytest.raises(ValueError, match="must be"):
            VibrationMode(*bad)
    mode = VibrationMode(900.0, 0.02, 1.0)
    with pytest.raises(ValueError, match="exit_rad must come after"):
        ChatterCut(600.0, 0.3, 2, 1.0, 1.0, (mode,))
    with pytest.raises(ValueError, match="at least one mode"):
        ChatterCut(600.0, 0.3, 2, 0.0, 1.0)
