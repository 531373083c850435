"""Y. Altintas, E. Budak, Analytical prediction of stability lobes in milling, CIRP Annals 44/1 (1995) 357.

The equations are from memory; what they claim is checked by other means: the mean directional factors against the
integral of the force model, the limit of one mode against the closed minimum, and the boundary of stability against
the eigenvalues of the delayed equation of motion over one tooth period (semi-discretisation after T. Insperger,
G. Stepan, International Journal for Numerical Methods in Engineering 61 (2004) 117, from memory). Their benchmark
mode is used:
922 Hz, damping 0.011, 0.03993 kg, Kt 600 and Kn 200 N/mm2 (from memory).
"""

from __future__ import annotations

from functools import reduce

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad_vec
from scipy.linalg import expm

from millcalc.mechanics.lobes import (
    ChatterCut,
    conservative_limit_mm,
    directional_matrix,
    limit_at_speed_mm,
)
from millcalc.mechanics.modes import VibrationMode

MASS_KG, FREQUENCY_HZ, DAMPING = 0.03993, 922.0, 0.011
STIFFNESS_N_UM = MASS_KG * (2.0 * np.pi * FREQUENCY_HZ) ** 2 / 1e6
MODE = VibrationMode(FREQUENCY_HZ, DAMPING, STIFFNESS_N_UM)
KT, KR = 600.0, 200.0 / 600.0


def _projection(phi: float) -> NDArray[np.float64]:
    """Force for a movement (dx, dy) of the cutter, over Kt a: one tooth at an angle."""
    chip = np.array([np.sin(phi), np.cos(phi)])
    force = np.array([-np.cos(phi) - KR * np.sin(phi), np.sin(phi) - KR * np.cos(phi)])
    return np.outer(force, chip)


@pytest.mark.parametrize(("entry", "leave"), [(0.0, np.pi), (0.0, 1.0), (2.2, np.pi)])
def test_directional_factors(entry: float, leave: float) -> None:
    """Equation of the mean factors: twice the integral of the projected force over the arc of cut."""
    expected, _ = quad_vec(lambda phi: 2.0 * _projection(phi), entry, leave)
    assert directional_matrix(KR, entry, leave) == pytest.approx(expected, abs=1e-10)


@pytest.mark.parametrize("climb", [True, False])
def test_one_mode_has_the_closed_minimum(climb: bool) -> None:
    """Rigid along the feed: 8 pi k zeta (1 -+ zeta) / (N Kt |a_yy|) by the sign of the factor."""
    entry, leave = (2.0, np.pi) if climb else (0.0, np.pi - 2.0)
    factor = directional_matrix(KR, entry, leave)[1, 1]
    closed = 8.0 * np.pi * 1000.0 * STIFFNESS_N_UM * DAMPING / (3 * KT * abs(factor))
    closed *= (1.0 + DAMPING) if factor < 0 else (1.0 - DAMPING)
    cut = ChatterCut(KT, KR, 3, entry, leave, (), (MODE,))
    assert conservative_limit_mm(cut) == pytest.approx(closed, rel=1e-3)


def _stages(cut: ChatterCut, pushes: NDArray[np.float64], step: float, parts: int) -> NDArray[np.float64]:
    """Small steps of the motion, shape (n, size, size): the state now, and the cutter's places one period back."""
    omega = 2.0 * np.pi * FREQUENCY_HZ
    free = np.array([[float(bool(cut.modes_x))], [float(bool(cut.modes_y))]])
    blocks = np.zeros((len(pushes), 6, 6))
    blocks[:, :2, 2:4] = np.eye(2)
    blocks[:, 2:4, :2] = pushes * free - omega**2 * np.eye(2)
    blocks[:, 2:4, 2:4] = -2.0 * DAMPING * omega * np.eye(2)
    blocks[:, 2:4, 4:] = -pushes * free
    blocks = expm(blocks * step)
    size = 4 + 2 * parts
    stages = np.zeros((len(pushes), size, size))
    stages[:, :4, :4] = blocks[:, :4, :4]
    stages[:, :4, size - 4 : size - 2] = blocks[:, :4, 4:] / 2.0
    stages[:, :4, size - 2 :] = blocks[:, :4, 4:] / 2.0
    stages[:, 4:6, :2] = np.eye(2)
    stages[:, 6:, 4:-2] = np.eye(size - 6)
    return stages


def _growth(cut: ChatterCut, speed_rpm: float, depth_mm: float, averaged: bool, parts: int = 40) -> float:
    """Largest size of an eigenvalue over one tooth period: above 1 the vibration grows."""
    step = 60.0 / (cut.flutes * speed_rpm) / parts
    per_metre = cut.tangential_n_mm2 * depth_mm * 1000.0 / MASS_KG  # acceleration for a movement of one metre
    if averaged:
        mean = directional_matrix(cut.radial_ratio, cut.entry_rad, cut.exit_rad) * cut.flutes / (4.0 * np.pi)
        alone = np.abs(np.linalg.eigvals(_stages(cut, mean[None] * per_metre, step, parts)[0])).max()
        return float(alone**parts)
    gains = np.zeros((parts, 2, 2))
    for part in range(parts):
        for sub in (np.arange(8) + 0.5) / 8.0:
            turn = 2.0 * np.pi / cut.flutes * (part + sub) / parts
            for tooth in range(cut.flutes):
                phi = (turn + 2.0 * np.pi * tooth / cut.flutes) % (2.0 * np.pi)
                if cut.entry_rad <= phi <= cut.exit_rad:
                    gains[part] += _projection(phi) / 8.0
    total = reduce(lambda done, stage: stage @ done, _stages(cut, gains * per_metre, step, parts))
    return float(np.abs(np.linalg.eigvals(total)).max())


@pytest.mark.parametrize("speed", [8500.0, 14_000.0, 27_000.0])
@pytest.mark.parametrize("both", [True, False])
def test_boundary_of_the_averaged_cut(speed: float, both: bool) -> None:
    """The zero-order limit is the boundary of the delayed equation with mean factors, within 4 %."""
    cut = ChatterCut(KT, KR, 2, 0.0, 2.0, (MODE,) if both else (), (MODE,))
    limit = limit_at_speed_mm(cut, speed)
    assert _growth(cut, speed, 0.96 * limit, averaged=True, parts=64) < 1.0
    assert _growth(cut, speed, 1.04 * limit, averaged=True, parts=64) > 1.0


@pytest.mark.parametrize("speed", [8000.0, 11_000.0, 13_500.0])
def test_boundary_of_the_turning_cut(speed: float) -> None:
    """Four teeth in a slot: the factors do not vary over the turn, so the true cutter has the same boundary."""
    cut = ChatterCut(KT, KR, 4, 0.0, np.pi, (MODE,), (MODE,))
    limit = limit_at_speed_mm(cut, speed)
    assert _growth(cut, speed, 0.96 * limit, averaged=False) < 1.0
    assert _growth(cut, speed, 1.04 * limit, averaged=False) > 1.0


def test_below_the_conservative_limit_every_speed_is_steady() -> None:
    """Two teeth, half a slot, factors that vary over the turn: no growth at half of the lowest limit."""
    cut = ChatterCut(KT, KR, 2, 0.0, np.pi / 2.0, (MODE,), (MODE,))
    depth = 0.5 * conservative_limit_mm(cut)
    for speed in (7000.0, 12_345.0, 18_000.0, 26_000.0):
        assert _growth(cut, speed, depth, averaged=False) < 1.0
