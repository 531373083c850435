"""Forces over a turn against a plain slice-by-slice twin and the closed means."""

from __future__ import annotations

import math

import numpy as np
import pytest

from millcalc.mechanics.kienzle import cutting_power_w, specific_force_n_mm2
from millcalc.mechanics.linear_edge import EdgeCoefficients, edge_from_kienzle, mean_forces_n
from millcalc.mechanics.turn import TurnForces, turn_forces, turn_peaks

K6082 = EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8)
FIELDS = TurnForces.__dataclass_fields__


def _plain(
    k: EdgeCoefficients,
    diameter: float,
    flutes: int,
    depth: float,
    feed: float,
    entry: float,
    leave: float,
    helix: float,
    runout: float,
    slices: int = 400,
    steps: int = 180,
) -> dict[str, float]:
    """The same forces by summing thin discs, one tooth and one position at a time."""
    lag_per_mm = 2.0 * math.tan(math.radians(helix)) / diameter
    radii = [runout / 2.0 * math.cos(2.0 * math.pi * i / flutes) for i in range(flutes)]
    rows = []
    for step in range(steps):
        x = y = tangential = axial = 0.0
        for tooth in range(flutes):
            for disc in range(slices):
                height = (disc + 0.5) / slices * depth
                phi = 2.0 * math.pi * ((step + 0.5) / steps - tooth / flutes) - lag_per_mm * height
                phi %= 2.0 * math.pi
                if not entry <= phi <= leave:
                    continue
                chip = feed * math.sin(phi)
                if runout and flutes > 1:
                    chip = min(
                        b * feed * math.sin(phi) + radii[tooth] - radii[(tooth - b) % flutes]
                        for b in range(1, flutes + 1)
                    )
                if chip <= 0.0 and runout:
                    continue
                thick = depth / slices
                ft = thick * (k.ktc_n_mm2 * chip + k.kte_n_mm)
                fr = thick * (k.krc_n_mm2 * chip + k.kre_n_mm)
                fa = thick * (k.kac_n_mm2 * chip + k.kae_n_mm) * (-1.0 if helix < 0 else 1.0)
                x += -ft * math.cos(phi) - fr * math.sin(phi)
                y += ft * math.sin(phi) - fr * math.cos(phi)
                tangential += ft
                axial += fa
        rows.append((x, y, tangential, axial))
    table = np.array(rows)
    size = np.hypot(table[:, 0], table[:, 1])
    swing = np.hypot(table[:, 0] - table[:, 0].mean(), table[:, 1] - table[:, 1].mean())
    return {
        "mean_x_n": table[:, 0].mean(),
        "mean_y_n": table[:, 1].mean(),
        "mean_tangential_n": table[:, 2].mean(),
        "peak_tangential_n": table[:, 2].max(),
        "mean_axial_n": table[:, 3].mean(),
        "mean_in_plane_n": size.mean(),
        "peak_in_plane_n": size.max(),
        "swing_n": swing.max(),
    }


CASES = [
    (6.0, 2, 1.0, 0.03, 0.0, math.pi, 30.0, 0.0),
    (6.0, 1, 9.0, 0.03, 2.2, math.pi, 45.0, 0.0),
    (3.175, 2, 6.0, 0.02, 0.0, 1.0, -30.0, 0.0),
    (6.0, 3, 3.0, 0.03, 1.0, math.pi, 35.0, 0.02),
    (6.0, 2, 2.0, 0.02, 0.0, math.pi, 30.0, 0.05),
    (1.0, 2, 4.0, 0.01, 0.0, math.pi, 45.0, 0.005),
]


@pytest.mark.parametrize("case", CASES)
def test_against_the_plain_twin(case: tuple[float, int, float, float, float, float, float, float]) -> None:
    """Discs of 1/400 of the depth leave errors of about a percent at entry and exit."""
    diameter, flutes, depth, feed, entry, leave, helix, runout = case
    plain = _plain(K6082, diameter, flutes, depth, feed, entry, leave, helix, runout)
    found = turn_forces(K6082, diameter, flutes, depth, feed, entry, leave, helix, runout)
    scale = plain["peak_in_plane_n"]
    for name, value in plain.items():
        assert getattr(found, name) == pytest.approx(value, rel=0.01, abs=0.006 * scale), name


@pytest.mark.parametrize("helix", [-45.0, -30.0, 0.0, 10.0, 30.0, 60.0])
@pytest.mark.parametrize("flutes", [1, 2, 3, 4])
@pytest.mark.parametrize(("entry", "leave"), [(0.0, math.pi), (0.0, 0.7), (2.2, math.pi), (1.0, 2.0)])
def test_means_are_the_closed_ones(helix: float, flutes: int, entry: float, leave: float) -> None:
    """The means do not depend on the helix, and equal the closed form (trapezoid error below 1e-4)."""
    turn = turn_forces(K6082, 6.0, flutes, 2.5, 0.03, entry, leave, helix)
    x, y, z = mean_forces_n(K6082, flutes, 2.5, 0.03, entry, leave)
    scale = abs(x) + abs(y)
    assert turn.mean_x_n == pytest.approx(x, abs=2e-4 * scale)
    assert turn.mean_y_n == pytest.approx(y, abs=2e-4 * scale)
    assert turn.mean_axial_n == pytest.approx(math.copysign(1.0, helix) * z, rel=2e-4)


def test_straight_tooth_peaks() -> None:
    """One straight tooth in a slot: the peak is the tooth straight ahead; a climb cut peaks on entry."""
    slot = turn_forces(K6082, 6.0, 1, 1.0, 0.03, 0.0, math.pi, 0.0)
    assert slot.peak_tangential_n == pytest.approx(631.0 * 0.03 + 13.0)
    assert slot.peak_radial_n == pytest.approx(99.0 * 0.03 + 10.0)
    assert slot.peak_axial_n == pytest.approx(273.0 * 0.03 + 2.8)
    assert slot.peak_in_plane_n == pytest.approx(math.hypot(31.93, 12.97))
    assert slot.peak_torque_nm == pytest.approx(0.001 * 3.0 * 31.93)
    entry = 2.5
    climb = turn_forces(K6082, 6.0, 1, 1.0, 0.03, entry, math.pi, 0.0)
    assert climb.peak_tangential_n == pytest.approx(631.0 * 0.03 * math.sin(entry) + 13.0)


def test_four_straight_teeth_in_a_slot_push_evenly_on_cutting_alone() -> None:
    """Two teeth a quarter apart: the cutting part is constant, so the swing comes from the edge part only."""
    cutting = EdgeCoefficients(631.0, 99.0, 273.0, 0.0, 0.0, 0.0)
    turn = turn_forces(cutting, 6.0, 4, 1.0, 0.03, 0.0, math.pi, 0.0)
    assert turn.swing_n < 1e-3 * turn.peak_in_plane_n
    assert turn_forces(cutting, 6.0, 1, 1.0, 0.03, 0.0, math.pi, 0.0).swing_n > 10.0


def test_teeth_that_change_over_are_not_counted_twice() -> None:
    """Two straight teeth in a slot: as one enters the other leaves, so a light feed has one tooth's edge force."""
    turn = turn_forces(K6082, 6.0, 2, 1.0, 0.001, 0.0, math.pi, 0.0)
    assert turn.peak_tangential_n == pytest.approx(0.631 + 13.0)


def test_helix_over_a_whole_pitch_is_steady() -> None:
    """A depth of one helix pitch of the teeth leaves no swing at all."""
    pitch = math.pi * 6.0 / (2 * math.tan(math.radians(30.0)))
    turn = turn_forces(K6082, 6.0, 2, pitch, 0.03, 0.0, math.pi, 30.0)
    assert turn.swing_n < 2e-3 * turn.peak_in_plane_n
    assert turn.peak_in_plane_n == pytest.approx(math.hypot(turn.mean_x_n, turn.mean_y_n), rel=2e-3)


def test_power_force_times_speed_is_kienzle_power() -> None:
    """For a constant specific force both models give one power."""
    flat = edge_from_kienzle(
        900.0, 0.0, radial_ratio=0.3, axial_ratio=0.2, chip_low_mm=0.01, chip_high_mm=0.05
    )
    assert flat.ktc_n_mm2 == pytest.approx(900.0)
    assert flat.kte_n_mm == pytest.approx(0.0, abs=1e-9)
    turn = turn_forces(flat, 6.0, 2, 1.5, 0.03, 0.0, math.pi, 30.0)
    metres_per_second = math.pi * 6.0 * 18_000.0 / 60_000.0
    power = cutting_power_w(specific_force_n_mm2(900.0, 0.0, 0.02), 1.5, 6.0, 0.03 * 2 * 18_000.0)
    assert turn.mean_power_force_n * metres_per_second == pytest.approx(power, rel=1e-4)
    assert turn.mean_torque_nm * 2.0 * math.pi * 18_000.0 / 60.0 == pytest.approx(power, rel=1e-4)


def test_many_at_once_is_one_at_a_time() -> None:
    """The array form gives what the single form gives, for every field."""
    depths = np.array([[0.5], [2.0], [0.5]])
    feeds = np.array([0.01, 0.03, 0.05, 0.0])
    many = turn_peaks(K6082, 6.0, 2, depths, feeds, 1.0, math.pi, 30.0)
    for i in range(3):
        for j in range(4):
            one = turn_forces(K6082, 6.0, 2, depths[i, 0], feeds[j], 1.0, math.pi, 30.0)
            for name in FIELDS:
                assert getattr(many, name)[i, j] == pytest.approx(getattr(one, name), abs=1e-9), name


def test_down_cut_turns_the_axial_force_around() -> None:
    """The same depth, the other helix: the work is pressed down instead of lifted."""
    up = turn_forces(K6082, 6.0, 2, 2.0, 0.03, 0.0, 1.0, 30.0)
    down = turn_forces(K6082, 6.0, 2, 2.0, 0.03, 0.0, 1.0, -30.0)
    assert up.mean_axial_n > 0.0 > down.mean_axial_n
    assert down.peak_axial_n == pytest.approx(-up.peak_axial_n, rel=0.02)


def test_run_out_raises_the_peak_and_keeps_the_feed() -> None:
    """One tooth works harder; the feed force of the cutting part stays as all chips together are the same."""
    even = turn_forces(K6082, 6.0, 2, 1.0, 0.03, 0.0, math.pi, 30.0)
    uneven = turn_forces(K6082, 6.0, 2, 1.0, 0.03, 0.0, math.pi, 30.0, runout_mm=0.02)
    assert uneven.peak_tangential_n > 1.2 * even.peak_tangential_n
    alone = turn_forces(K6082, 6.0, 2, 1.0, 0.03, 0.0, math.pi, 0.0, runout_mm=1.0)
    single = turn_forces(K6082, 6.0, 1, 1.0, 0.06, 0.0, math.pi, 0.0)
    assert alone.peak_tangential_n == pytest.approx(single.peak_tangential_n)
    assert alone.mean_y_n == pytest.approx(single.mean_y_n, rel=1e-3)


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"axial_depth_mm": -1.0}, "axial_depth_mm"),
        ({"feed_per_tooth_mm": math.nan}, "feed_per_tooth_mm"),
        ({"flutes": 0}, "flutes"),
        ({"diameter_mm": 0.0}, "diameter_mm"),
        ({"helix_deg": 89.0}, "helix_deg"),
        ({"entry_rad": 2.0, "exit_rad": 1.0}, "exit_rad must not come before"),
        ({"exit_rad": 4.0}, "0 to pi"),
        ({"runout_mm": -0.01}, "runout_mm"),
        ({"steps": 2}, "steps"),
        ({"axial_depth_mm": np.array([1.0, 2.0])}, "single numbers"),
    ],
)
def test_refused(change: dict[str, object], text: str) -> None:
    """Impossible input names its argument."""
    good = {
        "coefficients": K6082, "diameter_mm": 6.0, "flutes": 2, "axial_depth_mm": 1.0, "feed_per_tooth_mm": 0.03,
        "entry_rad": 0.0, "exit_rad": 1.0, "helix_deg": 30.0,
    }  # fmt: skip
    with pytest.raises(ValueError, match=text):
        turn_forces(**{**good, **change})  # type: ignore[arg-type]


def test_no_depth_no_force() -> None:
    """At depth 0 everything is 0, not NaN."""
    turn = turn_forces(K6082, 6.0, 2, 0.0, 0.03, 0.0, 1.0, 30.0)
    assert all(getattr(turn, name) == 0.0 for name in FIELDS)
    empty = turn_forces(K6082, 6.0, 2, 1.0, 0.03, 1.0, 1.0, 30.0)
    assert empty.peak_in_plane_n == pytest.approx(0.0, abs=1e-9)
