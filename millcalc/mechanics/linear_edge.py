"""Mean forces of the linear-edge model: a cutting part that grows with the chip, and an edge part that does not.

Ft = a (Ktc h + Kte), Fr = a (Krc h + Kre), Fa = a (Kac h + Kae) with h = c sin(phi). The forces given here act
on the cutter. The cutter travels along +x and turns clockwise seen from above; a tooth at angle phi = 0 stands at
+y, to the left of the travel, and at pi/2 straight ahead. Fa is positive where it pulls the cutter out of the
collet and lifts the work, as an up-cut does.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from millcalc.mechanics._arrays import (
    FloatArray,
    Numbers,
    finite,
    not_negative,
    positive,
)
from millcalc.mechanics.kienzle import specific_force_n_mm2


@dataclass(frozen=True, slots=True)
class EdgeCoefficients:
    """Coefficients of the linear-edge force model.

    ktc_n_mm2, krc_n_mm2, kac_n_mm2: Cutting coefficients, tangential, radial, axial [N/mm2].
    kte_n_mm, kre_n_mm, kae_n_mm: Edge coefficients, tangential, radial, axial [N/mm].
    """

    ktc_n_mm2: float
    krc_n_mm2: float
    kac_n_mm2: float
    kte_n_mm: float
    kre_n_mm: float
    kae_n_mm: float

    def __post_init__(self) -> None:
        positive("ktc_n_mm2", self.ktc_n_mm2)
        for name in ("krc_n_mm2", "kte_n_mm", "kre_n_mm"):
            not_negative(name, getattr(self, name))
        finite("kac_n_mm2", self.kac_n_mm2)
        finite("kae_n_mm", self.kae_n_mm)

    def scaled(self, cutting: float = 1.0, edge: float = 1.0) -> EdgeCoefficients:
        """Give the coefficients with the cutting and edge parts multiplied.

        cutting: Factor on the three cutting coefficients, e.g. for a published spread [-].
        edge: Factor on the three edge coefficients, e.g. 2 to 4 for a blunt edge [-].
        Returns: The scaled set.
        Raises ValueError: If a factor is not finite, negative, or `cutting` is zero.
        """
        positive("cutting", cutting)
        not_negative("edge", edge)
        return EdgeCoefficients(
            self.ktc_n_mm2 * cutting,
            self.krc_n_mm2 * cutting,
            self.kac_n_mm2 * cutting,
            self.kte_n_mm * edge,
            self.kre_n_mm * edge,
            self.kae_n_mm * edge,
        )


def check_arc(entry_rad: Numbers, exit_rad: Numbers) -> tuple[FloatArray, FloatArray]:
    """Give entry and exit angle as arrays after checking that they bound an arc of cut.

    entry_rad, exit_rad: Entry and exit angle [rad].
    Returns: The two angles [rad].
    Raises ValueError: If an angle is outside 0 to pi, or exit comes before entry.
    """
    entry = finite("entry_rad", entry_rad)
    leave = finite("exit_rad", exit_rad)
    if np.any(entry < -1e-9) or np.any(leave > np.pi + 1e-9):
        raise ValueError("entry_rad and exit_rad must lie from 0 to pi")
    if np.any(leave < entry):
        raise ValueError("exit_rad must not come before entry_rad")
    return np.asarray(np.clip(entry, 0.0, np.pi)), np.asarray(np.clip(leave, 0.0, np.pi))


_FIT_POINTS = 129  # [-] thicknesses of the straight-line fit, evenly spread over the range


def edge_from_kienzle(
    kc11_n_mm2: float,
    mc: float,
    *,
    cap_mm: float | None = None,
    radial_ratio: float,
    axial_ratio: float,
    chip_low_mm: float,
    chip_high_mm: float,
) -> EdgeCoefficients:
    """Give linear-edge coefficients that follow a Kienzle curve over a range of chips.

    kc11_n_mm2, mc: Kienzle specific force [N/mm2] and exponent [-].
    cap_mm: Chip thickness below which the specific force is held; None for none [mm].
    radial_ratio, axial_ratio: Radial and axial force as shares of the tangential one [-].
    chip_low_mm, chip_high_mm: Range of chips that matter [mm].
    Returns: Least-squares line through kc(h) h over the range; exact for mc = 0.
    Raises ValueError: If an argument is not finite or out of range, or the range of chips is empty.

    Note: A stand-in where no milling coefficients were published; the ratios are the caller's assumption.
      Runs as high as the Kienzle curve does where that is extrapolated.

    >>> fit = edge_from_kienzle(
    ...     800.0, 0.25, radial_ratio=0.4, axial_ratio=0.3, chip_low_mm=0.01, chip_high_mm=0.05
    ... )
    >>> round(fit.ktc_n_mm2), round(fit.kte_n_mm, 1)
    (1465, 12.8)

    Source: Least squares; the curve is Kienzle's, see
      :func:`millcalc.mechanics.kienzle.specific_force_n_mm2`.
    """
    low = float(positive("chip_low_mm", chip_low_mm))
    high = float(positive("chip_high_mm", chip_high_mm))
    if not high > low:
        raise ValueError(f"chip_high_mm must be greater than chip_low_mm ({low:g}), found {high:g}")
    radial = float(not_negative("radial_ratio", radial_ratio))
    axial = float(finite("axial_ratio", axial_ratio))
    chips = np.linspace(low, high, _FIT_POINTS)
    force = chips * np.asarray(specific_force_n_mm2(kc11_n_mm2, mc, chips, cap_mm))
    centred = chips - chips.mean()
    slope = float(np.dot(centred, force) / np.dot(centred, centred))
    offset = max(float(force.mean() - slope * chips.mean()), 0.0)
    return EdgeCoefficients(slope, radial * slope, axial * slope, offset, radial * offset, axial * offset)
