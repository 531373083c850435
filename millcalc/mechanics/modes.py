"""A mode of vibration at the cutter's tip, as the chatter formulas take it, and what a slow one follows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from millcalc.mechanics._arrays import Numbers, Result, between, positive, result


@dataclass(frozen=True, slots=True)
class VibrationMode:
    """One mode of vibration at the tip of the cutter.

    frequency_hz: Natural frequency [Hz].
    damping_ratio: Damping as a share of critical damping [-].
    stiffness_n_um: Modal stiffness [N/um].
    """

    frequency_hz: float
    damping_ratio: float
    stiffness_n_um: float

    def __post_init__(self) -> None:
        positive("frequency_hz", self.frequency_hz)
        between("damping_ratio", self.damping_ratio, 0.0, 0.99, open_low=True)
        positive("stiffness_n_um", self.stiffness_n_um)


def frame_attenuation(tooth_hz: Numbers, mode_hz: Numbers) -> Result:
    """Give the share of the alternating force that a frame follows, above its own mode.

    tooth_hz: Tooth-passing frequency [Hz].
    mode_hz: Lowest lateral frame mode [Hz].
    Returns: Share between 0 and 1; 1 at and below 1.41 times the mode, where it would not be attenuated
      [-].
    Raises ValueError: If a frequency is not positive.

    >>> round(frame_attenuation(300.0, 50.0), 4)
    0.0286

    Source: Undamped forced response of one mode, 1 / |r^2 - 1| (closed form).
    """
    ratio = positive("tooth_hz", tooth_hz) / positive("mode_hz", mode_hz)
    return result(np.where(ratio > np.sqrt(2.0), 1.0 / np.maximum(ratio**2 - 1.0, 1.0), 1.0))


def cantilever_hz(
    diameter_mm: Numbers, length_mm: Numbers, youngs_n_mm2: Numbers, density_kg_m3: Numbers
) -> Result:
    """Give the lowest natural frequency of a round bar that is held rigidly at one end.

    diameter_mm, length_mm: Diameter and free length of the bar [mm].
    youngs_n_mm2: Young's modulus [N/mm2].
    density_kg_m3: Density [kg/m3].
    Returns: Frequency [Hz].
    Raises ValueError: If an argument is not positive.

    >>> round(cantilever_hz(4.8, 24.0, 590_000.0, 14_500.0))
    7437

    Source: Euler-Bernoulli beam, first root 1.8751 of cos x cosh x = -1: 1.8751^2 / (2 pi) sqrt(E I / (rho A)) / L^2.
    """
    length = positive("length_mm", length_mm) / 1000.0
    speed_m_s = np.sqrt(
        positive("youngs_n_mm2", youngs_n_mm2) * 1e6 / positive("density_kg_m3", density_kg_m3)
    )
    radius_of_gyration = positive("diameter_mm", diameter_mm) / 4000.0
    return result(1.875104**2 / (2.0 * np.pi) * speed_m_s * radius_of_gyration / length**2)
