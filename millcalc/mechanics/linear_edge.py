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
    Result,
    finite,
    not_negative,
    positive,
    result,
    whole,
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


def tooth_forces_n(
    coefficients: EdgeCoefficients, axial_depth_mm: Numbers, chip_mm: Numbers
) -> tuple[Result, Result, Result]:
    """Give tangential, radial and axial force on a straight tooth at a chip thickness.

    coefficients: Coefficients of the material.
    axial_depth_mm: Axial depth a [mm].
    chip_mm: Chip thickness h [mm].
    Returns: Tangential, radial and axial force on the tooth [N].
    Raises ValueError: If an argument is not finite or negative.

    >>> set_6082 = EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8)
    >>> [round(force, 1) for force in tooth_forces_n(set_6082, 1.0, 0.03)]
    [31.9, 13.0, 11.0]

    Source: E. Budak, Y. Altintas, E. J. A. Armarego, Journal of Engineering for Industry 118 (1996) 216
      (from memory).
    """
    depth = not_negative("axial_depth_mm", axial_depth_mm)
    chip = not_negative("chip_mm", chip_mm)
    c = coefficients
    return (
        result(depth * (c.ktc_n_mm2 * chip + c.kte_n_mm)),
        result(depth * (c.krc_n_mm2 * chip + c.kre_n_mm)),
        result(depth * (c.kac_n_mm2 * chip + c.kae_n_mm)),
    )


def specific_energy_n_mm2(coefficients: EdgeCoefficients, chip_mm: Numbers) -> Result:
    """Give the specific energy at a chip thickness: Ktc + Kte / h.

    coefficients: Coefficients of the material.
    chip_mm: Mean chip thickness h [mm].
    Returns: Energy for each volume removed, numerically in mJ/mm3 [N/mm2].
    Raises ValueError: If the thickness is not finite or not positive.

    Note: Rises without bound as the chip thins: energy goes into rubbing and heat.

    >>> round(specific_energy_n_mm2(EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8), 0.05))
    891

    Source: E. Budak, Y. Altintas, E. J. A. Armarego, Journal of Engineering for Industry 118 (1996) 216
      (from memory).
    """
    return result(coefficients.ktc_n_mm2 + coefficients.kte_n_mm / positive("chip_mm", chip_mm))


def mean_forces_n(
    coefficients: EdgeCoefficients,
    flutes: Numbers,
    axial_depth_mm: Numbers,
    feed_per_tooth_mm: Numbers,
    entry_rad: Numbers,
    exit_rad: Numbers,
) -> tuple[Result, Result, Result]:
    """Give the forces averaged over one turn, in closed form.

    coefficients: Coefficients of the material.
    flutes: Number of teeth N [-].
    axial_depth_mm: Axial depth a [mm].
    feed_per_tooth_mm: Feed per tooth c [mm].
    entry_rad, exit_rad: Entry and exit angle, 0 to pi [rad].
    Returns: Mean force on the cutter along the feed, across it, and along the axis [N].
    Raises ValueError: If an argument is not finite or out of range, or exit comes before entry.

    Note: The means do not depend on the helix. No run-out.

    >>> set_6082 = EdgeCoefficients(631.0, 99.0, 273.0, 13.0, 10.0, 2.8)
    >>> [round(force, 2) for force in mean_forces_n(set_6082, 2, 1.0, 0.03, 0.0, np.pi)]
    [-7.85, 17.74, 8.01]

    Source: E. Budak, Y. Altintas, E. J. A. Armarego, Journal of Engineering for Industry 118 (1996) 216; Y.
      Altintas, Manufacturing Automation, 2nd ed., Cambridge 2012, chapter 2 (from memory, re-derived
      numerically).
    """
    entry, leave = check_arc(entry_rad, exit_rad)
    depth = whole("flutes", flutes) * not_negative("axial_depth_mm", axial_depth_mm)
    cut = depth * not_negative("feed_per_tooth_mm", feed_per_tooth_mm) / (8.0 * np.pi)
    edge = depth / (2.0 * np.pi)
    cos2 = np.cos(2.0 * leave) - np.cos(2.0 * entry)
    lin2 = (2.0 * leave - np.sin(2.0 * leave)) - (2.0 * entry - np.sin(2.0 * entry))
    cos1 = np.cos(leave) - np.cos(entry)
    sin1 = np.sin(leave) - np.sin(entry)
    k = coefficients
    x = cut * (k.ktc_n_mm2 * cos2 - k.krc_n_mm2 * lin2) + edge * (-k.kte_n_mm * sin1 + k.kre_n_mm * cos1)
    y = cut * (k.ktc_n_mm2 * lin2 + k.krc_n_mm2 * cos2) - edge * (k.kte_n_mm * cos1 + k.kre_n_mm * sin1)
    z = -4.0 * cut * k.kac_n_mm2 * cos1 + edge * k.kae_n_mm * (leave - entry)
    return result(x), result(y), result(z)


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
