"""A mode of vibration at the cutter's tip, as the chatter formulas take it."""

from __future__ import annotations

from dataclasses import dataclass

from millcalc.mechanics._arrays import between, positive


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
