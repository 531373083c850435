"""Bending of the stepped cutter against beams solved by SciPy, stress at both sections, springs in series."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad, solve_ivp

from millcalc.limits.tuning import CARBIDE_YOUNGS_N_MM2, HSS_YOUNGS_N_MM2
from millcalc.mechanics.deflection import (
    cutter_compliance_um_n,
    cutter_influence_um_n,
    machine_compliance_um_n,
    root_stress_n_mm2,
)

CUTTERS = [  # diameter, flute length, shank, stickout [mm]
    (6.0, 25.0, 6.0, 25.0),
    (6.0, 15.0, 6.0, 30.0),
    (2.0, 6.0, 3.175, 18.0),
    (1.0, 3.0, 6.0, 20.0),
    (22.0, 8.0, 8.0, 30.0),
    (6.0, 40.0, 6.0, 25.0),
]


def _bending(diameter: float, flutes: float, shank: float, from_tip: float) -> float:
    size = 0.8 * diameter if from_tip < flutes else shank
    return CARBIDE_YOUNGS_N_MM2 * np.pi * size**4 / 64.0


@pytest.mark.parametrize("cutter", CUTTERS)
@pytest.mark.parametrize("height", [0.0, 1.0, 5.0, 17.0])
def test_unit_load_integral(cutter: tuple[float, float, float, float], height: float) -> None:
    """Tip movement by integrating M(s) s / (E I) numerically over both segments."""
    diameter, flutes, shank, stickout = cutter
    expected = quad(
        lambda s: (s - height) * s / _bending(diameter, flutes, shank, s),
        height,
        stickout,
        points=[p for p in [flutes] if height < p < stickout] or None,
    )[0]
    found = cutter_compliance_um_n(*cutter, CARBIDE_YOUNGS_N_MM2, load_height_mm=height)
    assert found == pytest.approx(1000.0 * expected, rel=1e-8)


@pytest.mark.parametrize("cutter", CUTTERS[:5])
def test_beam_equation(cutter: tuple[float, float, float, float]) -> None:
    """The whole bending line by integrating the curvature M / (E I) from the clamped end with SciPy."""
    diameter, flutes, shank, stickout = cutter
    load, force = 2.0, 10.0

    def bend(x: float, y: np.ndarray) -> list[float]:
        from_tip = stickout - x
        moment = force * max(from_tip - load, 0.0)
        return [y[1], moment / _bending(diameter, flutes, shank, from_tip)]

    step = max(stickout - flutes, 0.0)
    ends = sorted({0.0, step, stickout - load, stickout})
    state, pieces = np.zeros(2), []
    for start, end in pairwise(ends):
        inner = (start + 1e-12, end - 1e-12)
        piece = solve_ivp(bend, inner, state, dense_output=True, rtol=1e-10, atol=1e-14)
        assert piece.success
        pieces.append((start, end, piece.sol))
        state = piece.y[:, -1]

    def line(x: float) -> float:
        return next(float(found(x)[0]) for start, end, found in pieces if start <= x <= end)

    for height in (0.0, 1.0, 4.0, 10.0):
        found = force * cutter_influence_um_n(
            *cutter, CARBIDE_YOUNGS_N_MM2, load_height_mm=load, at_height_mm=height
        )
        assert found == pytest.approx(1000.0 * line(stickout - height), rel=1e-6)


@pytest.mark.parametrize(
    ("cutter", "youngs", "force", "microns", "stress"),
    [
        ((6.0, 25.0, 6.0, 25.0), 600_000.0, 50.0, 16.66, 115.0),
        ((6.0, 25.0, 6.0, 25.0), 200_000.0, 50.0, 50.0, 115.0),
        ((3.175, 15.0, 3.175, 15.0), 600_000.0, 20.0, 18.4, 186.0),
        ((2.0, 10.0, 2.0, 10.0), 600_000.0, 10.0, 17.3, 249.0),
        ((1.0, 6.0, 1.0, 6.0), 600_000.0, 5.0, 29.8, 597.0),
    ],
)
def test_worked_cases(
    cutter: tuple[float, float, float, float], youngs: float, force: float, microns: float, stress: float
) -> None:
    """Even bars worked by hand with F L^3 / (3 E I) and 32 F L / (pi d^3); printed digits."""
    assert force * cutter_compliance_um_n(*cutter, youngs) == pytest.approx(microns, rel=0.004)
    assert root_stress_n_mm2(force, *cutter) == pytest.approx(stress, rel=0.004)


def test_two_stiff_sections() -> None:
    """A thin cutter on a thick shank breaks at the step, a long shank no thicker than its flutes at the collet."""
    at_step = root_stress_n_mm2(10.0, 1.0, 3.0, 6.0, 20.0)
    assert at_step == pytest.approx(32.0 * 10.0 * 3.0 / (np.pi * 0.8**3))
    at_collet = root_stress_n_mm2(10.0, 22.0, 8.0, 8.0, 30.0)
    assert at_collet == pytest.approx(32.0 * 10.0 * 30.0 / (np.pi * 8.0**3))
    held_flutes = root_stress_n_mm2(10.0, 6.0, 40.0, 6.0, 25.0)
    assert held_flutes == pytest.approx(32.0 * 10.0 * 25.0 / (np.pi * 4.8**3))


def test_maxwell_reciprocity() -> None:
    """Load and watched place may change roles."""
    one = cutter_influence_um_n(
        2.0, 6.0, 3.175, 18.0, CARBIDE_YOUNGS_N_MM2, load_height_mm=1.0, at_height_mm=9.0
    )
    two = cutter_influence_um_n(
        2.0, 6.0, 3.175, 18.0, CARBIDE_YOUNGS_N_MM2, load_height_mm=9.0, at_height_mm=1.0
    )
    assert one == pytest.approx(two)


def test_materials() -> None:
    """Carbide is nearly three times as stiff as high-speed steel."""
    ratio = cutter_compliance_um_n(6.0, 20.0, 6.0, 25.0, HSS_YOUNGS_N_MM2) / cutter_compliance_um_n(
        6.0, 20.0, 6.0, 25.0, CARBIDE_YOUNGS_N_MM2
    )
    assert ratio == pytest.approx(590.0 / 210.0)


@pytest.mark.parametrize(
    ("drop", "compliance"), [(120.0, 1.0), (60.0, 0.25 + 0.75 / 4.0), (180.0, 0.25 + 0.75 * 2.25)]
)
def test_drop_by_rotation(drop: float, compliance: float) -> None:
    """A rotary share grows with the square: 0.44 at half the drop, 1.94 at one and a half."""
    assert machine_compliance_um_n(1.0, 120.0, drop, 0.25, 0.75, 0.0) == pytest.approx(compliance)


def test_drop_by_bending() -> None:
    """A bending share grows with the cube: twice the drop, eight times the give."""
    assert machine_compliance_um_n(2.0, 100.0, 200.0, 0.0, 0.0, 1.0) == pytest.approx(4.0)


def test_shares_of_drop() -> None:
    """Shares that do not add up to one are refused."""
    with pytest.raises(ValueError, match="must add up to 1"):
        machine_compliance_um_n(1.0, 120.0, 60.0, 0.5, 0.6, 0.0)


@pytest.mark.parametrize(
    "change", [{"load_height_mm": 30.0}, {"at_height_mm": 26.0}, {"flute_diameter_ratio": 1.2}]
)
def test_heights_above_the_collet(change: dict[str, float]) -> None:
    """A load above the collet face is refused, and so is a flute thicker than the cutter."""
    with pytest.raises(ValueError, match=next(iter(change))):
        cutter_influence_um_n(6.0, 20.0, 6.0, 25.0, CARBIDE_YOUNGS_N_MM2, **change)


def test_a_collet_at_the_end_of_the_flutes_bends_the_flutes_and_no_shank():
    """32 M / (pi d^3) with M = 50 N times 20 mm and d = 0.8 times 8 mm; a thinner shank stands inside the collet."""
    assert root_stress_n_mm2(50.0, 8.0, 20.0, 6.0, 20.0) == pytest.approx(38.856, abs=0.001)
    assert root_stress_n_mm2(50.0, 8.0, 20.0, 6.0, 20.1) == pytest.approx(47.393, abs=0.001)
