"""Pockets over spindle speed: against brute-force eigenvalues in time, and what is promised of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from millcalc.advise.lobes import mode_name, mode_stiffness_n_um, stability, tapped_mode
from millcalc.errors import InputError
from millcalc.limits.build import make_tooling
from millcalc.limits.request import CutRequest
from millcalc.limits.tooling import Tooling
from millcalc.mechanics.stability import ChatterCut, VibrationMode, limit_at_speed_mm
from millcalc.report.lobes_characters import character_plot, stability_lines
from millcalc.report.lobes_plot import plot_top_mm, save_plot
from millcalc.tables import load_cutter, load_machine, load_material

MODE = VibrationMode(900.0, 0.02, 3.4)


def tooling(machine: str = "gantry-800w", cutter: str = "flat-6mm-1f", **changes: float) -> Tooling:
    return make_tooling(load_machine(machine), load_material("al-6082-t6"), load_cutter(cutter), **changes)  # type: ignore[arg-type]


def largest_multiplier(
    mode: VibrationMode, stiff_n_mm: float, depth_mm: float, speed_rpm: float, flutes: int
) -> float:
    """Largest eigenvalue of one tooth period of m x'' + c x' + k x = -K a (x - x(t - T)), brute force.

    Semi-discretisation with a constant directional coefficient (what the zero-order solution averages to).
    """
    period = 60.0 / (flutes * speed_rpm)
    steps = 90
    omega = 2 * np.pi * mode.frequency_hz
    mass = mode.stiffness_n_um * 1000.0 / omega**2  # N s2 / mm
    gain = stiff_n_mm * depth_mm / mass
    system = np.array([[0.0, 1.0], [-(omega**2) - gain, -2 * mode.damping_ratio * omega]])
    step = period / steps
    # exact step of the free system, and of the delayed force held over it
    values, vectors = np.linalg.eig(system)
    inverse = np.linalg.inv(vectors)
    free = (vectors @ np.diag(np.exp(values * step)) @ inverse).real
    held = (vectors @ np.diag((np.exp(values * step) - 1) / values) @ inverse).real @ np.array([0.0, gain])
    size = 2 + steps
    once = np.zeros((size, size))
    once[:2, :2] = free
    once[:2, -1] += 0.5 * held
    once[:2, -2] += 0.5 * held
    once[2, 0] = 1.0
    for row in range(3, size):
        once[row, row - 1] = 1.0
    return float(np.max(np.abs(np.linalg.eigvals(np.linalg.matrix_power(once, steps)))))


@pytest.mark.parametrize("speed", [9500.0, 13500.0, 18000.0])
@pytest.mark.parametrize(("entry", "leave"), [(0.2, np.pi - 0.9), (0.9, np.pi - 0.2)])
def test_limit_depth_is_where_the_delayed_oscillator_begins_to_grow(
    speed: float, entry: float, leave: float
) -> None:
    """Zero-order limit of one direction against the eigenvalues of the delay equation, within 5 %.

    Force across the feed of one tooth, mean over a turn: Kt a (y - y') times the mean of sin cos (closed form).
    """
    cut = ChatterCut(600.0, 0.0, 1, entry, leave, (), (MODE,))
    limit = float(limit_at_speed_mm(cut, speed))
    mean = (np.cos(2 * entry) - np.cos(2 * leave)) / 4 / (2 * np.pi)
    below, above = (
        largest_multiplier(MODE, -600.0 * mean, share * limit, speed, 1) for share in (0.95, 1.05)
    )
    assert below < 1.0 < above


def test_pockets_are_deeper_safe_and_inside_what_spindle_and_material_allow() -> None:
    found = stability(tooling(), CutRequest("slot"), depth_mm=0.5, speed_rpm=13000.0, mode=MODE)
    assert found.tapped and found.pockets
    assert np.all(found.sure_mm <= found.depth_mm * (1 + 1e-6) + 1e-9)
    assert np.all(found.sure_mm >= 0.99 * found.bound_mm)
    band = found.tooling.speed_band_m_min
    assert band is not None
    for pocket in found.pockets:
        assert pocket.gain >= 1.25
        assert pocket.depth_mm == pytest.approx(pocket.gain * found.bound_mm)
        assert found.tooling.lowest_rpm <= pocket.low_rpm <= pocket.best_rpm <= pocket.high_rpm
        assert pocket.high_rpm <= found.tooling.highest_rpm * 1.001
        # a spindle and a frequency off by their errors still stay quiet at the depth that is promised
        for off in (0.97, 1.0, 1.03):
            moved = VibrationMode(MODE.frequency_hz * off, MODE.damping_ratio, MODE.stiffness_n_um)
            edge = found.tooling.edge_sets[1]
            cut = ChatterCut(
                edge.ktc_n_mm2, edge.krc_n_mm2 / edge.ktc_n_mm2, 1, 0.0, np.pi, (moved,), (moved,)
            )
            assert float(limit_at_speed_mm(cut, pocket.best_rpm)) >= 0.97 * pocket.depth_mm
    # the deepest pocket lies where one tooth passes for a whole number of swings, a little below
    best = found.pockets[0]
    swings = MODE.frequency_hz * 60 / best.best_rpm
    assert swings == pytest.approx(round(swings), abs=0.05)


def test_without_a_tap_only_the_bound_is_given() -> None:
    found = stability(tooling(), CutRequest("slot"), depth_mm=0.5, speed_rpm=13000.0)
    assert not found.tapped and not found.pockets and not len(found.speed_rpm)
    assert "not tapped" in found.why_not and found.bound_mm > 0
    assert "measure frequency" in " ".join(stability_lines(found))
    with pytest.raises(InputError):
        save_plot(found, Path("nowhere.png"))


def test_the_tapped_mode_belongs_to_cutter_and_stickout() -> None:
    machine = load_machine("gantry-800w")
    cutter = load_cutter("flat-6mm-1f")
    stiff = mode_stiffness_n_um(machine, "x", cutter, 22.0)
    assert 1 / stiff == pytest.approx(tooling().cutter_um_n + tooling().spindle_um_n, rel=1e-9)
    name = mode_name("x", cutter, 22.0)
    row = machine.modes[0].model_copy(
        update={"name": name, "frequency_hz": 900.0, "damping_ratio": 0.02, "stiffness_n_um": stiff}
    )
    own = machine.model_copy(update={"modes": (*machine.modes, row)})
    material = load_material("al-6082-t6")
    at = make_tooling(own, material, cutter, stickout_mm=22.0)
    assert tapped_mode(at) is row
    assert at.frame_mode_hz == pytest.approx(45.4), "a cutter's mode is not the frame's"
    assert stability(at, CutRequest("slot"), depth_mm=0.4, speed_rpm=13000.0).pockets
    assert tapped_mode(make_tooling(own, material, cutter, stickout_mm=28.0)) is None
    assert tapped_mode(make_tooling(own, material, load_cutter("flat-3mm-1f"))) is None


def test_the_frame_is_a_relative_margin() -> None:
    shallow = stability(tooling(), CutRequest("slot"), depth_mm=0.1, speed_rpm=13000.0).frame
    deep = stability(tooling(), CutRequest("slot"), depth_mm=1.0, speed_rpm=13000.0).frame
    assert shallow.times == pytest.approx(10 * deep.times)
    assert deep.words == "narrow" and shallow.passes == pytest.approx(13000 / 60 / 45.4, rel=0.01)
    lines = " ".join(
        stability_lines(stability(tooling(), CutRequest("slot"), depth_mm=0.5, speed_rpm=13000.0))
    )
    assert "no promise" in lines


@pytest.mark.parametrize("ending", [".png", ".svg"])
def test_plot_is_drawn(tmp_path: Path, ending: str) -> None:
    found = stability(tooling(), CutRequest("slot"), depth_mm=0.5, speed_rpm=13000.0, mode=MODE)
    path = tmp_path / f"pockets{ending}"
    save_plot(found, path)
    start = path.read_bytes()[:200]
    assert start.startswith(b"\x89PNG") if ending == ".png" else b"<?xml" in start
    assert [p.name for p in tmp_path.iterdir()] == [path.name]
    with pytest.raises(InputError):
        save_plot(found, tmp_path / "pockets.bmp")


def test_character_picture_has_its_axes_and_scale() -> None:
    x = np.linspace(0, 10, 50)
    lines = character_plot(x, x, width=40, fancy=False, x_label="x [-]", y_label="y [-]")
    assert lines[0] == "y [-]" and lines[-1].strip() == "x [-]"
    assert "10.00" in lines[1] and lines[1].rstrip().endswith("#")
    assert all(ord(char) < 128 for line in lines for char in line)
    found = stability(tooling(), CutRequest("slot"), depth_mm=0.5, speed_rpm=13000.0, mode=MODE)
    assert plot_top_mm(found) > found.pockets[0].depth_mm
